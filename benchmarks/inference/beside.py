"""Grow the net until a library takes too long, then ask both the same on the largest net it finished."""

from __future__ import annotations

import json
import subprocess
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np
from benchmarks.inference import libraries
from benchmarks.inference.net import Net, asked, cases, net_of, prepared_with

from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import Prepared

SIZES = (8, 12, 16, 20, 24, *range(26, 80, 2))
FINDINGS = 10
CASES = 5
FEWEST_CASES = 3
LONG = 5.0
"""Seconds of an answer above which only the fewest cases are asked."""


class Refused(Exception):
    """The library gave up: no time left, too little memory, too many axes, or an error of its own."""


class Library:
    """A library that answers in a process and an environment of its own."""

    def __init__(self, python: Path, name: str) -> None:
        self.process = subprocess.Popen(
            [python, libraries.__file__, name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )

    def __enter__(self) -> Library:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.process.kill()
        self.process.wait()
        for stream in (self.process.stdin, self.process.stdout):
            if stream is not None:
                stream.close()

    def _asked(self, request: Mapping[str, Any]) -> dict[str, Any]:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        try:
            self.process.stdin.write(json.dumps(request) + "\n")
            self.process.stdin.flush()
        except BrokenPipeError:
            raise Refused from None
        line = self.process.stdout.readline()
        if not line:
            raise Refused
        told: dict[str, Any] = json.loads(line)
        return told

    def compile(self, net: Net, limit: float) -> float:
        """Seconds until the net is compiled; with the first answer it may take `limit` seconds."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "net.npz"
            save(net, path)
            return float(self._asked({"net": str(path), "limit": limit})["seconds"])

    def ask(self, evidence: Mapping[str, int]) -> tuple[float, list[float]]:
        """Seconds of one question, and the chance of each fault."""
        told = self._asked({"evidence": evidence})
        return float(told["seconds"]), told["chances"]


def save(net: Net, path: Path) -> None:
    """Write a net as `libraries.read` reads it."""
    told = {"nodes": [[n.name, list(n.parents)] for n in net.nodes], "faults": list(net.faults)}
    tables: dict[str, Any] = {f"t{number}": node.table for number, node in enumerate(net.nodes)}
    np.savez(path, net=np.array(json.dumps(told)), **tables)


@dataclass(frozen=True)
class Size:
    """One net that a library finished: its size, both times for each case, and how far answers lie apart."""

    faults: int
    nodes: int
    entries: int
    compiled: float
    ours: tuple[float, ...]
    theirs: tuple[float, ...]
    apart: tuple[float, ...]


def answer(prepared: Prepared, net: Net, case: Mapping[str, int]) -> tuple[float, list[float]]:
    """Seconds of our own posterior for the same, and the chance of each fault."""
    evidence = [net.said[name][state] for name, state in case.items()]
    began = time.process_time()
    found = diagnose(prepared, evidence, reasons=False)
    took = time.process_time() - began
    chances = {cause.id: cause.probability for cause in found.causes}
    return took, [chances[fault] for fault in net.faults]


def one_size(library: Library, count: int, limit: float, findings: int = FINDINGS) -> Size:
    """Both sides in turn on the net of so many faults.

    Raises
    ------
    Refused : its first answer comes too late, or not at all.
    """
    prepared = prepared_with(count)
    net = net_of(prepared, asked(prepared, findings))
    put = cases(prepared, net, CASES)
    compiled = library.compile(net, limit)
    first, _ = library.ask(put[0])
    if compiled + first > limit:
        raise Refused
    answer(prepared, net, put[0])  # both are warm now
    ours, theirs, apart = [], [], []
    for number, case in enumerate(put if first < LONG else put[:FEWEST_CASES]):
        mine, own = answer(prepared, net, case) if number % 2 else (0.0, [])
        other, exact = library.ask(case)
        if not number % 2:
            mine, own = answer(prepared, net, case)
        ours.append(mine)
        theirs.append(other)
        apart.append(float(np.abs(np.subtract(own, exact)).max()))
    return Size(count, len(net.nodes), net.entries, compiled, tuple(ours), tuple(theirs), tuple(apart))


def grown(python: Path, name: str, limit: float, sizes: Sequence[int] = SIZES) -> list[Size]:
    """Ever larger nets until one takes a library longer than `limit` seconds, or it refuses one."""
    found: list[Size] = []
    for count in sizes:
        with Library(python, name) as library:
            try:
                found.append(one_size(library, count, limit))
            except Refused:
                break
    return found
