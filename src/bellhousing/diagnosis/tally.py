"""Counts from closed jobs: how often each fault was the cause, and what each finding showed then.

A tally holds counts by kind of box and nothing else: no names, no dates, no numbers of jobs.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.errors import InputFileError

FORMAT, VERSION = "bellhousing-tally", 1
LARGEST = 2 * 1024 * 1024
MOST_CARS = 100_000
"""More cars than any tally can honestly hold."""

States = Mapping[str, int]


@dataclass(frozen=True)
class Counts:
    """Counts of one kind of box.

    `cars` closed with their causes confirmed; `faults` how often each was among the causes; `seen` what a
    finding showed where one confirmed fault bears on it, by fault, finding and state; `background` what it
    showed where none does.
    """

    cars: int = 0
    faults: Mapping[str, int] = field(default_factory=dict)
    seen: Mapping[str, Mapping[str, States]] = field(default_factory=dict)
    background: Mapping[str, States] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """As plain data with sorted keys."""
        return {
            "cars": self.cars,
            "faults": dict(sorted(self.faults.items())),
            "seen": {
                fault: {finding: dict(sorted(states.items())) for finding, states in sorted(rows.items())}
                for fault, rows in sorted(self.seen.items())
            },
            "background": {name: dict(sorted(row.items())) for name, row in sorted(self.background.items())},
        }


Tally = Mapping[str, Counts]
"""Counts by kind of box."""


def added(tallies: Iterable[Tally]) -> Tally:
    """Several tallies as one; the order does not matter."""
    total: dict[str, dict[str, Any]] = {}
    for tally in tallies:
        for kind, counts in tally.items():
            total[kind] = _sum(total.get(kind, {}), counts.plain())
    return {kind: _counts(plain) for kind, plain in sorted(total.items())}


def _sum(first: Any, second: Any) -> Any:
    if isinstance(second, Mapping):
        keys = [*first, *(key for key in second if key not in first)]
        return {
            key: _sum(first.get(key, {} if isinstance(second.get(key), Mapping) else 0), second[key])
            if key in second
            else first[key]
            for key in keys
        }
    return first + second


def _counts(plain: Mapping[str, Any]) -> Counts:
    return Counts(plain["cars"], plain["faults"], plain["seen"], plain["background"])


def plain_tally(tally: Tally) -> dict[str, Any]:
    """A tally as plain data, the form that is kept and written to files."""
    kinds = {kind: counts.plain() for kind, counts in sorted(tally.items()) if counts.cars}
    return {"format": FORMAT, "version": VERSION, "kinds": kinds}


def tally_digest(tally: Tally) -> str:
    """A digest of what a tally says; two files that say the same have the same."""
    text = json.dumps(plain_tally(tally), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def read_tally(content: bytes, catalogue: Catalogue, where: str) -> Tally:
    """The tally that a file holds, every count checked against the catalogue and the others.

    Raises
    ------
    InputFileError : no tally, one of another version, an unknown name, a count that cannot be.
    """
    if len(content) > LARGEST:
        raise InputFileError(f"a tally is at most {LARGEST // 1024} kB", where=where)
    try:
        plain = json.loads(content.decode("utf-8"), object_pairs_hook=_once, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise InputFileError(
            f"that is no tally: {_short(error)}", where=where, remedy="export one with `learn --export FILE`"
        ) from None
    return checked_tally(plain, catalogue, where)


def checked_tally(plain: Any, catalogue: Catalogue, where: str) -> Tally:
    """A tally of plain data; raises as `read_tally`."""
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        raise InputFileError("that is no tally of closed jobs", where=where)
    if plain.get("version") != VERSION or isinstance(plain["version"], bool):
        raise InputFileError(
            f"a tally of version {plain.get('version')!r:.40}",
            where=where,
            remedy=f"this program reads version {VERSION}",
        )
    _keys(plain, {"format", "version", "kinds"}, where)
    kinds = _mapping(plain.get("kinds"), "kinds", where)
    for kind in kinds:
        if kind not in FAMILIES:
            raise InputFileError(f"no such kind of box: {kind!r:.60}", where=where)
    return {
        kind: _Check(catalogue.of_family(kind), f"{where}, {kind}").counts(row) for kind, row in kinds.items()
    }


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name stands twice in one object")
    return found


def _refuse_constant(text: str) -> Any:
    raise ValueError(f"{text} is no count")


def _short(error: Exception) -> str:
    return (str(error) or type(error).__name__).splitlines()[0][:120]


def _keys(row: Mapping[str, Any], known: set[str], where: str) -> None:
    foreign = sorted(set(row) - known)
    if foreign:
        raise InputFileError(
            f"a tally has no {foreign[0]!r:.60}", where=where, remedy="counts and nothing else"
        )


def _mapping(row: Any, name: str, where: str) -> dict[str, Any]:
    if not isinstance(row, dict):
        raise InputFileError(f"{name} must be an object", where=where)
    return row


@dataclass(frozen=True)
class _Check:
    """Checks the counts of one kind against its part of the catalogue."""

    catalogue: Catalogue
    where: str

    def counts(self, row: Any) -> Counts:
        """The counts of one kind of box, each checked against the catalogue and the number of cars."""
        row = _mapping(row, "a kind", self.where)
        _keys(row, {"cars", "faults", "seen", "background"}, self.where)
        cars = self._count(row.get("cars"), "cars", MOST_CARS)
        faults = {
            self._fault(fault): self._count(n, fault, cars)
            for fault, n in _mapping(row.get("faults"), "faults", self.where).items()
        }
        seen = {
            self._fault(fault): {
                finding: self._states(finding, states, faults.get(fault, 0))
                for finding, states in _mapping(rows, fault, self.where).items()
            }
            for fault, rows in _mapping(row.get("seen"), "seen", self.where).items()
        }
        background = {
            finding: self._states(finding, states, cars)
            for finding, states in _mapping(row.get("background"), "background", self.where).items()
        }
        return Counts(cars, faults, seen, background)

    def _fault(self, name: str) -> str:
        if name not in self.catalogue.faults:
            raise InputFileError(f"no such fault: {name!r:.60}", where=self.where)
        return name

    def _states(self, name: str, row: Any, most: int) -> States:
        finding = self.catalogue.findings.get(name)
        if finding is None or not finding.states:
            raise InputFileError(f"no such finding with states: {name!r:.60}", where=self.where)
        row = _mapping(row, name, self.where)
        for state in row:
            if state not in finding.states:
                raise InputFileError(f"{name} cannot be {state!r:.60}", where=self.where)
        states = {state: self._count(n, f"{name}, {state}", most) for state, n in row.items()}
        if sum(states.values()) > most:
            raise InputFileError(f"{name} was seen more often than there were cars for it", where=self.where)
        return states

    def _count(self, value: Any, name: str, most: int) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise InputFileError(f"the count of {name[:80]} is no whole number", where=self.where)
        if not 0 <= value <= most:
            raise InputFileError(
                f"the count of {name[:80]} is {value if abs(value) < 10**12 else 'beyond all measure'}",
                where=self.where,
                remedy=f"from 0 to {most}",
            )
        return value
