"""All benchmarks in one command: each in a process of its own, then the table, the curves and the page.

`python -m benchmarks` runs all and writes docs/benchmarks.md; names run only these and keep what the others
found the last time. The virtual cars have a page and a command of their own: `benchmarks.diagnosis`.
"""

from __future__ import annotations

import argparse
import importlib
import os
import platform
import subprocess
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from benchmarks.measured import Found
from benchmarks.own_environment import other_python
from benchmarks.page import Part, kept, read_kept, written

ROOT = Path(__file__).resolve().parents[1]
KEPT = ROOT / "build" / "benchmarks"
PARTS = ("inference", "shift_maps", "drives", "logs", "fits", "pages", "start", "report", "findings")


def machine() -> str:
    """Processor, cores and Python of this machine."""
    named = (
        [
            line.partition(":")[2].strip()
            for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
            if line.startswith("model name")
        ]
        if Path("/proc/cpuinfo").exists()
        else []
    )
    what = named[0] if named else platform.processor() or platform.machine()
    return f"{what}, {os.cpu_count()} cores shared with other work, Python {platform.python_version()}"


def load() -> str:
    """Programs that wait for a core, over the last minute."""
    return f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"


def found_by(name: str) -> Found:
    """Run one benchmark in this process."""
    module = importlib.import_module(f"benchmarks.bench_{name}")
    more = {"highs": str(other_python())} if name == "fits" else {}
    told = module.measured(**more)
    assert isinstance(told, Found)
    return told


def alone(name: str) -> None:
    """Run one benchmark and keep what it found."""
    began = load()
    found = found_by(name)
    kept(Part(name, found, f"{datetime.now(UTC):%Y-%m-%d}", machine(), f"{began} and {load()}"), KEPT)
    for line in found.lines:
        print(f"{line.what} | {line.beside} | {line.goal} | {line.found} | {line.note}", flush=True)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run what was asked for; 1 where a benchmark could not be run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"some of: {', '.join(PARTS)}")
    parser.add_argument("--docs", type=Path, default=ROOT / "docs", help="folder of the page")
    parser.add_argument("--alone", action="store_true", help="in this process, and write no page")
    asked = parser.parse_args(arguments)
    unknown = sorted(set(asked.parts) - set(PARTS))
    if unknown:
        parser.error(f"no benchmark is called {', '.join(unknown)}")
    if asked.alone:
        for name in asked.parts or PARTS:
            alone(name)
        return 0
    failed = 0
    for name in asked.parts or PARTS:
        # One thread each, so that processor time compares like with like.
        threads = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
        command = [sys.executable, "-m", "benchmarks", "--alone", name]
        done = subprocess.run(command, cwd=ROOT, env=os.environ | threads)
        failed += done.returncode != 0
    parts = [read_kept(KEPT / f"{name}.json") for name in PARTS if (KEPT / f"{name}.json").exists()]
    written(parts, asked.docs)
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
