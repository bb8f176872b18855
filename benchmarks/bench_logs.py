"""Time ten hours of a drive at 100 rows a second read to shifts, beside the bare reading of the same file."""

from __future__ import annotations

import argparse
import resource
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import polars as pl
from benchmarks.measured import Found, Line, duration, times

from bellhousing.road.logs.read import read_log
from tests.road.invented_drives import FloatArray, Logger, loop, sampled
from tests.road.reading_logs import gears

RATE = 100.0

Times = list[tuple[float, float]]
"""Of each turn the time by the clock and the time the processor worked [s]."""


def long_log(folder: Path, rows: int) -> Path:
    """The standard loop driven again and again, with six columns as loggers write them."""
    one = sampled(loop(), Logger(rate=RATE))
    columns: list[FloatArray] = [one[name] for name in ("mph", "rpm", "vacuum", "throttle")]
    tails = [",{:.2f},{:.0f},{:.2f},{:.1f},51.50000\n".format(*row) for row in zip(*columns, strict=True)]
    path = folder / "long.csv"
    with path.open("w", encoding="utf-8") as stream:
        stream.write("time,mph,rpm,vac,throttle,lat\n")
        for place in range(rows):
            stream.write(f"{place / RATE:.2f}{tails[place % len(tails)]}")
    return path


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Time by the clock and time the processor worked [s]."""
    began, worked = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - began, time.process_time() - worked


def main() -> None:
    """Print medians of both, taken in turn, and the most memory held."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=3_600_000)
    parser.add_argument("--rounds", type=int, default=5)
    asked = parser.parse_args()
    whole, bare = _pairs(asked.rows, asked.rounds)
    for name, rows in (("bare reading", bare), ("read to shifts", whole)):
        clock, worked = (statistics.median(row[place] for row in rows) for place in (0, 1))
        print(f"{name:<16}{clock:8.2f} s by the clock{worked:8.2f} s of work")
    clock, worked = (_ratio(whole, bare, place) for place in (0, 1))
    print(f"{'ratio of pairs':<16}{clock:8.2f}   by the clock{worked:8.2f}   of work")
    print(f"most memory held: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def _pairs(rows: int, rounds: int) -> tuple[Times, Times]:
    """Both in turn, after a first turn that warms up."""
    with tempfile.TemporaryDirectory() as folder:
        path, ready = long_log(Path(folder), rows), gears()
        turns = [
            (timed(lambda: read_log(path, ready)), timed(lambda: pl.read_csv(path).height))
            for _ in range(rounds + 1)
        ]
    return [turn[0] for turn in turns[1:]], [turn[1] for turn in turns[1:]]


def _ratio(whole: Times, bare: Times, place: int) -> float:
    return statistics.median(one[place] / other[place] for one, other in zip(whole, bare, strict=True))


def measured(*, rows: int = 3_600_000, rounds: int = 5) -> Found:
    """The lines of the common table: the library reads with all cores, so the clock is asked too."""
    whole, bare = _pairs(rows, rounds)
    lines = []
    for place, of in ((1, "of processor time"), (0, "by the clock")):
        ours, theirs = (statistics.median(turn[place] for turn in turns) for turns in (whole, bare))
        ratio = _ratio(whole, bare, place)
        note = f"{duration(ours)} against {duration(theirs)} {of}"
        what = f"a log of {rows:,} rows read to shifts"
        lines.append(Line(what, "the bare reading by Polars", "≤ 2 ×", times(ratio), ratio <= 2.0, note))
    return Found(lines)


if __name__ == "__main__":
    main()
