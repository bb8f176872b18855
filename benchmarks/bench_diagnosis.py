"""Time what a mechanic waits for: preparing a box, then posterior and ranking after each finding."""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import load_catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.next_test import next_tests
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare

PSI = 6894.757
INHG = 3386.389
MPH = 0.44704

LEVEL = [
    Evidence("fluid-level", states=("right",)),
    Evidence("fluid-condition", states=("red",)),
    Evidence("brakes-hold", states=("sound",)),
]
VACUUM = [
    Evidence("manifold-vacuum-idle", value=17.5 * INHG),
    Evidence("modulator-vacuum-idle", value=0.0),
]
ROAD = [
    Evidence("upshift-12-light", value=43.0 * MPH),
    Evidence("shift-feel-12", states=("harsh",)),
    Evidence("line-drive-idle", value=118.0 * PSI),
]
CASES: dict[str, list[Evidence]] = {
    "nothing known": [],
    "one complaint": [Evidence("complaint-kind", states=("odd-shifts",))],
    "level and brakes": LEVEL,
    "level, vacuum": [*LEVEL, *VACUUM],
    "level, vacuum, road": [*LEVEL, *VACUUM, *ROAD],
    "low line, whine": [
        Evidence("line-drive-idle", value=45.0 * PSI),
        Evidence("line-reverse-idle", value=70.0 * PSI),
        Evidence("line-drive-1000", value=62.0 * PSI),
        Evidence("whine-with-revs", states=("whine",)),
    ],
    "two leaks": [
        Evidence("joint-output-seal", states=("wet",)),
        Evidence("joint-governor-cover", states=("wet",)),
        Evidence("rear-drips", states=("both",)),
    ],
}


def once(prepared: Prepared, evidence: Sequence[Evidence]) -> tuple[float, float, float, int]:
    """Seconds of one posterior, one ranking and the processor for both, and how many tests were ranked."""
    worked, began = time.process_time(), time.perf_counter()
    found = diagnose(prepared, evidence)
    between = time.perf_counter()
    ranked = next_tests(prepared, found, evidence).ranked
    ended, worked = time.perf_counter(), time.process_time() - worked
    return between - began, ended - between, worked, len(ranked)


def preparing(box: str, rounds: int) -> tuple[Prepared, float, float]:
    """The box, the median seconds to simulate it and to read it back from its file."""
    described, catalogue = load_box(box), load_catalogue()
    anew: list[float] = []
    kept: list[float] = []
    with tempfile.TemporaryDirectory() as place:
        for number in range(rounds):
            path = Path(place) / f"kept-{number}"
            for times in (anew, kept):
                began = time.perf_counter()
                prepared = prepare(described, CarFacts(), catalogue, cache=path)
                times.append(time.perf_counter() - began)
    return prepared, statistics.median(anew), statistics.median(kept)


def main(arguments: Sequence[str] | None = None) -> int:
    """Print a table of medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--box", default="box-a", help="a shipped box or family, or a file")
    parser.add_argument("--rounds", type=int, default=25, help="rounds over all cases")
    options = parser.parse_args(arguments)
    prepared, anew, kept = preparing(options.box, 3)
    rows = len(prepared.sets.physical_rows)
    physical = len(prepared.sets.physical)
    print(f"{prepared.box.name}: {len(prepared.faults)} faults, {physical} of them physical")
    print(f"{rows:,} rows of physics on {len(prepared.model.cars)} cars, numpy {np.__version__}")
    print(f"prepared in {anew:.2f} s, read back in {kept:.2f} s\n")
    times: dict[str, list[tuple[float, float, float, int]]] = {name: [] for name in CASES}
    for number in range(options.rounds + 1):
        for name, evidence in CASES.items():
            taken = once(prepared, evidence)
            if number:  # the first round only warms up
                times[name].append(taken)
    title = f"milliseconds, median of {options.rounds}"
    print(f"{title:34}posterior  ranking   both  slowest  worked  tests")
    for name, taken_each in times.items():
        posterior, ranking, worked = (1e3 * statistics.median(t[k] for t in taken_each) for k in (0, 1, 2))
        both = [1e3 * (t[0] + t[1]) for t in taken_each]
        middle, worst = statistics.median(both), max(both)
        print(
            f"{name:34}{posterior:9.1f}{ranking:9.1f}{middle:7.1f}{worst:9.1f}{worked:8.1f}"
            f"{taken_each[0][3]:7d}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
