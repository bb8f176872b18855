"""Time the start of the command line beside a bare import of NumPy, each in a process of its own, in turn."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from benchmarks.measured import Found, Line, duration, paired, times

GOAL = 2.0
BARE = (sys.executable, "-c", "import numpy")
PROGRAM = (sys.executable, "-m", "bellhousing")
FINDINGS = """box: A
findings:
  - the level is right
  - 1-2 upshift light throttle 43 mph
  - modulator vacuum at idle 0 inHg
"""


def started(command: Sequence[str]) -> float:
    """Processor time that one command takes from its start to its end [s]."""
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):  # 1: something that was said is only kept as a note
        raise SystemExit(f"{' '.join(command)} left with {process.returncode}")
    return used.ru_utime + used.ru_stime


def beside(name: str, command: Sequence[str], rounds: int, *, goal: bool = True) -> Line:
    """One command beside the import, in turn."""
    for one in (command, BARE):
        started(one)  # the files of both are in the system's memory now
    ours, theirs, ratio = paired(lambda: started(command), lambda: started(BARE), rounds)
    return Line(
        name,
        "python -c 'import numpy'",
        "≤ 2 ×" if goal else "",
        times(ratio),
        ratio <= GOAL if goal else None,
        f"{duration(ours)} against {duration(theirs)} of processor time",
    )


def measured(*, rounds: int = 15, long_rounds: int = 3) -> Found:
    """The start of the command line, and a whole answer without a shop."""
    lines = [
        beside(f"bellhousing {option}", [*PROGRAM, option], rounds) for option in ("--help", "--version")
    ]
    if long_rounds:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "findings.yaml"
            path.write_text(FINDINGS, encoding="utf-8")
            whole = [*PROGRAM, "causes", str(path), "--json"]
            name = "bellhousing causes FILE, the whole answer"
            lines.append(beside(name, whole, long_rounds, goal=False))
    return Found(lines)


def main() -> None:
    """Print the lines of the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    for told in measured(rounds=parser.parse_args().rounds).lines:
        print(f"{told.what}: {told.found} ({told.note})")


if __name__ == "__main__":
    main()
