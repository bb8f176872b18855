"""Time the report of a job to the car's owner, gathered from the records and set as PDF."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from benchmarks.measured import Found, Line, duration, middle, worked

from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.owner_report import owner_report
from bellhousing.tasks.report_pdf import report_pdf
from bellhousing.tasks.shop import Shop

GOAL = 2.0
LEAST = 10_000
"""Bytes that a whole report has at least."""


def report(shop: Shop, job: int, *, estimate: bool) -> None:
    """One report from the records to the finished file in memory."""
    if len(report_pdf(shop, owner_report(shop, job, estimate=estimate))) < LEAST:
        raise SystemExit("this is no whole report")


def measured(*, rounds: int = 5) -> Found:
    """The first report after the start, and those after it, of the invented shop's job in work."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        with open_demo(folder / "shop", cache=folder / "cache") as shop:
            job = max(one.number for one in shop.store.jobs())
            report(shop, job, estimate=False)  # the box is simulated once for all starts to come
        with open_demo(folder / "shop", cache=folder / "cache") as shop:
            first = worked(lambda: report(shop, job, estimate=False))
            reports = [worked(lambda: report(shop, job, estimate=False)) for _ in range(rounds)]
            estimates = [worked(lambda: report(shop, job, estimate=True)) for _ in range(rounds)]
    lines = [
        Line(name, "", "≤ 2 s", duration(seconds), seconds <= GOAL, "processor time")
        for name, seconds in (
            ("the owner's report as PDF, first after the start", first),
            ("the owner's report as PDF, after that", middle(reports)),
            ("the estimate as PDF", middle(estimates)),
        )
    ]
    return Found(lines)


def main() -> None:
    """Print the lines of the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    for told in measured(rounds=parser.parse_args().rounds).lines:
        print(f"{told.what}: {told.found}")


if __name__ == "__main__":
    main()
