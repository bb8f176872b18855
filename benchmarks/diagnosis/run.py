"""Runs every way of finding the right work on the same virtual cars and keeps what each decided."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from multiprocessing import get_context
from pathlib import Path

from benchmarks.diagnosis import arithmetic, by_hand, limit, ours
from benchmarks.diagnosis.by_hand import read_order
from benchmarks.diagnosis.cars import VirtualCar, draw_car
from benchmarks.diagnosis.judge import Judge
from benchmarks.diagnosis.names import Names, read_names
from benchmarks.diagnosis.ours import Step

from bellhousing.diagnosis.prepare import Prepared

GRID = (0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0)
ALL = 9999.0
"""Stands for every look taken."""

OURS, LIMIT = "ours", "information limit"
HAND = ("printed order", "most common first")
FIXED, NAIVE, KNOWS = "best fixed order, our arithmetic", "best fixed order, naive Bayes", "clairvoyant"
STOPS = "ours, stopping when sure"
STRATEGIES = (OURS, STOPS, FIXED, NAIVE, *HAND, KNOWS, LIMIT)


@dataclass(frozen=True)
class Options:
    """What is run: seed of the cars, whether the adaptive curve is wanted, false alarms of the looks."""

    family: str
    seed: int
    cache: Path
    curve: bool = True
    false_alarms: float = 1.0
    box: str | None = None


@dataclass(frozen=True)
class Row:
    """One decision on one car."""

    family: str
    seed: int
    car: int
    strategy: str
    minutes: float
    spent: float
    looks: int
    faults: int
    right: bool
    exact: bool
    cured: bool
    needless_removal: bool
    wrong_removal: bool
    price: float
    best_price: float
    named: int
    sure: float
    works: str
    true: str


@dataclass(frozen=True)
class Chance:
    """A chance given to a cause on one car at the end, and whether it was there."""

    family: str
    strategy: str
    minutes: float
    chance: float
    true: bool


@dataclass(frozen=True)
class Bench:
    """Everything that is the same for all cars of a family."""

    options: Options
    names: Names
    prepared: Prepared
    limit: Prepared
    judge: Judge
    order: Sequence[str]


@cache
def bench_of(options: Options) -> Bench:
    """Made ready once in each process."""
    options.cache.mkdir(parents=True, exist_ok=True)
    names = read_names(options.family)
    prepared = ours.prepared_for(options.family, options.cache, options.box)
    own = limit.own_laws(prepared, names, options.cache)
    order = [look for look in read_order("fixed-order")[options.family] if look in names.looks]
    return Bench(options, names, prepared, own, Judge(options.family, prepared.faults), order)


def on_car(options: Options, number: int) -> tuple[list[Row], list[Chance]]:
    """Every strategy on one car."""
    bench = bench_of(options)
    car = draw_car(bench.names, options.seed, number, options.false_alarms)
    rows, chances = [], []
    for strategy, run in _strategies(bench, car).items():
        for step in run():
            rows.append(_row(bench, car, strategy, step))
            if strategy in (OURS, LIMIT, NAIVE) and step.minutes in (90.0, ALL):
                chances += [
                    Chance(options.family, strategy, step.minutes, p, fault in car.faults)
                    for fault, p in step.chances.items()
                ]
    return rows, chances


def _strategies(bench: Bench, car: VirtualCar) -> Mapping[str, Callable[[], list[Step]]]:
    prepared, names, judge = bench.prepared, bench.names, bench.judge
    grid = GRID if bench.options.curve else ()
    everything = ours.all_evidence(prepared, car)
    common = by_hand.try_in_order(names, car, by_hand.most_common_first(names))
    chart = by_hand.try_in_order(names, car, by_hand.printed(names, car), before=(by_hand.COMPLAINT,))
    told = ours.adaptive(prepared, names, judge, car, GRID[-1], grid) if grid else []
    at_end = told[-1].evidence if told else ()

    def fixed(naive: bool) -> list[Step]:
        steps = arithmetic.steps_in_fixed_order(prepared, names, judge, car, bench.order, grid, naive=naive)
        return steps

    return {
        OURS: lambda: [*told, ours.decide_on(prepared, judge, everything, ALL)],
        STOPS: lambda: [_stopped(told)] if grid else [],
        LIMIT: lambda: [
            *([ours.decide_on(bench.limit, judge, at_end, GRID[-1])] if grid else []),
            ours.decide_on(bench.limit, judge, everything, ALL),
        ],
        FIXED: lambda: fixed(False),
        NAIVE: lambda: [*fixed(True), arithmetic.decide_naively(prepared, judge, everything, ALL)],
        HAND[0]: lambda: by_hand.steps_by_hand(judge, chart, [*grid, ALL]),
        HAND[1]: lambda: by_hand.steps_by_hand(judge, common, [*grid, ALL]),
        KNOWS: lambda: [Step(0.0, 0, judge.cure(sorted(car.matter)), 1.0, dict.fromkeys(car.faults, 1.0))],
    }


def _stopped(told: Sequence[Step]) -> Step:
    """The first decision that says it is right often enough, else the last."""
    return next((step for step in told if step.sure >= ours.ENOUGH), told[-1])


def _row(bench: Bench, car: VirtualCar, strategy: str, step: Step) -> Row:
    verdict = bench.judge.verdict(step.works, sorted(car.matter))
    return Row(
        family=car.family,
        seed=bench.options.seed,
        car=car.number,
        strategy=strategy,
        minutes=step.minutes,
        spent=_spent(bench.names, car) if step.minutes == ALL else step.minutes,
        looks=step.looks,
        faults=len(car.faults),
        right=verdict.right,
        exact=verdict.exact,
        cured=verdict.cured,
        needless_removal=verdict.needless_removal,
        wrong_removal=verdict.wrong_removal,
        price=verdict.price,
        best_price=verdict.best_price,
        named=sum(step.chances.get(fault, 0.0) >= 0.5 for fault in car.faults),
        sure=step.sure,
        works=" ".join(sorted(step.works)),
        true=" ".join(sorted(car.faults)),
    )


def _spent(names: Names, car: VirtualCar) -> float:
    opened = {name for look in car.answers for name in names.chain(names.looks[look].setup)}
    return sum(names.looks[look].minutes for look in car.answers) + sum(names.setups[n][0] for n in opened)


def run_cars(
    options: Options, cars: Sequence[int], processes: int
) -> Iterator[tuple[int, tuple[list[Row], list[Chance]]]]:
    """The cars with these numbers, in order."""
    if processes <= 1:
        yield from ((number, on_car(options, number)) for number in cars)
        return
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        yield from zip(cars, pool.map(partial(on_car, options), cars, chunksize=2), strict=True)
