"""Compare ways of finding the right work on virtual cars and write the table into the documents."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from benchmarks.diagnosis import store, summary
from benchmarks.diagnosis.names import FAMILIES
from benchmarks.diagnosis.picture import draw
from benchmarks.diagnosis.run import ALL, GRID, STRATEGIES, Chance, Options, Row, run_cars

ROOT = Path(__file__).resolve().parents[2]
SEEDS = (20301, 20302, 20303)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and write."""
    options = _parser().parse_args(arguments)
    text = [
        *_head(),
        f"Run with {options.cars} cars a family, {min(options.cars, options.course_cars)} of them followed "
        f"in time; seeds {', '.join(map(str, options.seeds))}.",
        "",
    ]
    options.out.mkdir(parents=True, exist_ok=True)
    for family in options.family or FAMILIES:
        began = time.perf_counter()
        rows, chances = _run(options, family, 1.0, curve=not options.every_look_only)
        took = time.perf_counter() - began
        store.write_rows(options.out / f"{family}.csv", rows)
        text += _section(family, rows, chances, options)
        if options.doubled:
            doubled, _ = _run(options, family, 2.0, curve=False)
            text += ["### Every look taken, with the false alarms of all separating looks doubled", ""]
            text += [*summary.table(summary.lines(doubled), ALL), ""]
        print(
            f"{family}: {took:.0f} s, {took / options.cars:.1f} s a car",
            file=sys.stderr,
        )
    options.document.parent.mkdir(parents=True, exist_ok=True)
    options.document.write_text("\n".join(text), encoding="utf-8")
    return 0


def _head() -> list[str]:
    about = (Path(__file__).resolve().parent / "about.md").read_text(encoding="utf-8")
    return [about, *(f"- **{name}**: {summary.MEANING[name]}." for name in STRATEGIES), ""]


def _run(
    options: argparse.Namespace, family: str, false_alarms: float, *, curve: bool
) -> tuple[list[Row], list[Chance]]:
    rows: list[Row] = []
    chances: list[Chance] = []
    state = store.state_of_the_code()
    for place, seed in enumerate(options.seeds):
        task = Options(family, seed, options.cache, curve, false_alarms, options.box)
        count, course = (_share(number, place, options) for number in (options.cars, options.course_cars))
        parts = [(task, range(count))]
        if curve and course < count:
            parts = [(task, range(course)), (replace(task, curve=False), range(course, count))]
        for part, numbers in parts:
            for more, told in _kept_or_run(part, numbers, options, state):
                rows += more
                chances += told
    return rows, chances


def _share(cars: int, place: int, options: argparse.Namespace) -> int:
    """Cars of one seed when some are shared among all seeds."""
    seeds = len(options.seeds)
    return int((min(cars, options.cars) + seeds - 1 - place) // seeds)


def _kept_or_run(
    task: Options, numbers: Sequence[int], options: argparse.Namespace, state: str
) -> list[tuple[list[Row], list[Chance]]]:
    path = store.file_of(options.out, task)
    done = store.kept(path, state)
    left = [number for number in numbers if number not in done]
    for number, result in run_cars(task, left, options.processes):
        store.keep(path, state, number, result)
        done[number] = result
        if len(done) % 25 == 0:
            print(f"{path.stem}: {len(done)} cars", file=sys.stderr, flush=True)
    return [done[number] for number in numbers]


def _section(family: str, rows: list[Row], chances: list[Chance], options: argparse.Namespace) -> list[str]:
    found = summary.lines(rows)
    text = [f"## {family}", ""]
    if not options.every_look_only:
        picture = options.document.parent / f"benchmark-{family}.svg"
        picture.parent.mkdir(parents=True, exist_ok=True)
        picture.write_text(draw(found, f"Right work over test minutes, {family}"), encoding="utf-8")
        text += [
            "### Within 90 test minutes",
            "",
            *summary.table(found, GRID[-1]),
            "",
            summary.reached(found),
            "",
        ]
        text += ["### Right work over test minutes", "", f"![Right work over minutes]({picture.name})", ""]
        text += [*summary.curve_table(found), ""]
    text += ["### Every look taken before the gearbox is out", "", *summary.table(found, ALL), ""]
    return [*text, "### Chances", "", *summary.chance_table(chances), ""]


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.diagnosis", description=__doc__)
    parser.add_argument("--cars", type=int, default=4000, help="cars of each family, shared among the seeds")
    parser.add_argument("--course-cars", type=int, default=10**9, help="so many followed in time")
    parser.add_argument("--family", action="append", choices=FAMILIES, help="one family only")
    parser.add_argument("--seeds", type=int, nargs="+", default=list(SEEDS))
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--box", help="another box file than the family's own")
    parser.add_argument("--every-look-only", action="store_true", help="leave the course in time out")
    parser.add_argument("--doubled", action="store_true", help="again with the looks' false alarms doubled")
    parser.add_argument("--cache", type=Path, default=ROOT / "build" / "benchmark")
    parser.add_argument("--out", type=Path, default=ROOT / "build" / "benchmark", help="where decisions go")
    parser.add_argument("--document", type=Path, default=ROOT / "docs" / "benchmark-diagnosis.md")
    return parser


if __name__ == "__main__":
    sys.exit(main())
