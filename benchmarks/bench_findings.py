"""Time of the posterior and of ranking all tests over the number of findings, with the whole catalogue."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial

from benchmarks.measured import Curve, Found, Line, duration, middle, worked

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import load_catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.next_test import next_tests
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare

GOAL = 0.1
SIZES = (0, 5, 10, 20, 40, 80)


def sound_findings(prepared: Prepared, count: int) -> list[Evidence]:
    """So many findings: no vacuum at the modulator, a late shift, everything else as it should be."""
    found = [Evidence("modulator-vacuum-idle", value=0.0), Evidence("upshift-12-light", value=19.2)]
    for name, finding in prepared.catalogue.findings.items():
        if finding.kind == "states" and finding.part not in prepared.box.missing_parts:
            found.append(Evidence(name, states=finding.states[:1]))
    return found[:count]


def both(prepared: Prepared, evidence: Sequence[Evidence]) -> None:
    """The posterior with its reasons, and the ranking of all that is left to look at."""
    next_tests(prepared, diagnose(prepared, evidence), evidence)


def measured(*, sizes: Sequence[int] = SIZES, rounds: int = 7, cars: int = 160) -> Found:
    """What one waits for after a finding, over how many there are already."""
    prepared = prepare(load_box("box-a"), CarFacts(), load_catalogue(), cars=cars)
    seconds: dict[int, list[float]] = {size: [] for size in sizes}
    for number in range(rounds + 1):
        for size in sizes:
            took = worked(partial(both, prepared, sound_findings(prepared, size)))
            if number:  # the first round warms up
                seconds[size].append(took)
    series = [(float(size), middle(taken)) for size, taken in seconds.items()]
    lines = [
        Line(
            f"posterior with reasons and ranking after {int(size)} findings",
            "",
            "≤ 100 ms",
            duration(took),
            took <= GOAL,
            f"{len(prepared.faults)} faults, processor time",
        )
        for size, took in series
        if size in (10.0, 40.0)
    ]
    curve = Curve("Posterior and ranking over findings", "findings", {"posterior and ranking": series})
    return Found(lines, [curve])


def main() -> None:
    """Print the lines of the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    for told in measured(rounds=parser.parse_args().rounds).lines:
        print(f"{told.what}: {told.found} ({told.note})")


if __name__ == "__main__":
    main()
