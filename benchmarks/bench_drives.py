"""Time simulated drives beside a loop of a general solver over single cars, in turn."""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np
from benchmarks.drives_apart import simulate_apart
from benchmarks.measured import Found, Line, duration, paired, times
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from bellhousing.boxes.load import load_box
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.drive.manoeuvres import INTO_DRIVE, REST, Manoeuvre, Phase
from bellhousing.road.drive.mechanics import Mechanics, Push, Through
from bellhousing.road.drive.road_load import Body
from bellhousing.road.drive.set_up import machine_of, start_state
from bellhousing.road.drive.simulate import simulate
from bellhousing.road.shown import vehicle

SECONDS = 60.0
MINUTE = Manoeuvre(
    "minute", "Sixty seconds at medium throttle.", (REST, INTO_DRIVE, Phase("D", "medium", SECONDS - 5.0))
)
TOP = Manoeuvre("top", "Sixty seconds in top gear.", (Phase("D", "pedal 0.3", SECONDS),), 50.0, 3)


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Wall-clock and processor time of one piece of work [s]."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - processor


def _rate(
    mechanics: Mechanics, push: Push, through: Through, _: float, x: NDArray[np.float64]
) -> list[float]:
    found = mechanics.rates((x[:1], through.ratio * x[1:], x[1:]), push, 0, through)
    return [float(found.engine[0]), float(found.output[0])]


def solved(box_name: str, cars: Cars) -> NDArray[np.float64]:
    """Cars in top gear, one after another by solve_ivp: engine and output speed at the end, (2, cars)."""
    box = load_box(box_name)
    car = vehicle(box, 3.08, 0.345, 0.0)
    ends = []
    for row in range(len(cars)):
        machine = machine_of(box, cars.take(np.array([row])), car, Body())
        mechanics, start = machine.mechanics, start_state(machine, TOP)
        engines, still, none = mechanics.engines, np.zeros(1), np.zeros((3, 1))
        area = engines.shut + (engines.wide - engines.shut) * 0.3**2
        push = Push(
            (area,) * 3,
            (still,) * 3,
            none,
            none,
            *mechanics.road.against(still, still),
            held=np.array([False]),
            any_held=False,
            slips=False,
        )
        through = mechanics.through(start)
        rate = partial(_rate, mechanics, push, through)
        first = [float(start.engine[0]), float(start.output[0])]
        grid = np.arange(0.0, SECONDS + 0.005, 0.01)
        ends.append(solve_ivp(rate, (0.0, SECONDS), first, t_eval=grid, rtol=1e-6, atol=1e-6).y[:, -1])
    return np.array(ends).T


def main() -> None:
    """Print one table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cars", type=int, default=1000)
    parser.add_argument("--alone", type=int, default=3, help="cars that the general solver is given")
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args()
    box = load_box("box-a")
    car = vehicle(box, 3.08, 0.345, 0.0)
    cars = draw_cars(box, asked.cars, np.random.default_rng(1))
    few = cars.take(np.arange(asked.alone))
    ends = solved("box-a", few)
    made = simulate(box, few, car, TOP)
    apart = float(np.abs(made.engine[-1] - ends[0]).max())
    print(f"engine speeds after {SECONDS:.0f} s in top gear agree to {apart:.1e} rad/s")
    with ProcessPoolExecutor(2) as pool:
        beside = partial(simulate_apart, pool, box, cars, car, MINUTE)
        beside()  # starts the processes
        _compare(asked, cars, few, beside)


def _compare(asked: argparse.Namespace, cars: Cars, few: Cars, beside: Callable[[], object]) -> None:
    box = load_box("box-a")
    car = vehicle(box, 3.08, 0.345, 0.0)
    rows = []
    for _ in range(asked.rounds):
        two = timed(beside)
        whole = timed(lambda: simulate(box, cars, car, MINUTE))
        top = timed(lambda: simulate(box, cars, car, TOP))
        alone = timed(lambda: solved("box-a", few))
        each = [alone[at] / asked.alone * asked.cars for at in (0, 1)]
        rows.append((*two, *whole, *top, *each, each[1] / top[1], each[1] / whole[1]))
        print("  ".join(f"{figure:8.2f}" for figure in rows[-1]), flush=True)
    print(
        "wall, own processor of the minute by two processes; by one; of top gear; of the solver in top gear"
    )
    print("for all; both ratios [s, -]")
    print("medians", "  ".join(f"{statistics.median(column):8.2f}" for column in zip(*rows, strict=True)))


def measured(*, count: int = 1000, alone: int = 2, rounds: int = 3) -> Found:
    """The line of the common table: a minute in top gear, which both can drive."""
    box = load_box("box-a")
    car, cars = vehicle(box, 3.08, 0.345, 0.0), draw_cars(box, count, np.random.default_rng(1))
    few = cars.take(np.arange(min(alone, count)))
    apart = float(np.abs(simulate(box, few, car, TOP).engine[-1] - solved("box-a", few)[0]).max())
    ours, theirs, ratio = paired(
        lambda: timed(lambda: simulate(box, cars, car, TOP))[1],
        lambda: timed(lambda: solved("box-a", few))[1] / len(few) * count,
        rounds,
    )
    return Found(
        [
            Line(
                f"{SECONDS:.0f} s in top gear of {count:,} cars at 10 ms",
                "solve_ivp of SciPy, one car after another",
                "≥ 200 ×",
                times(1.0 / ratio),
                1.0 / ratio >= 200.0,
                f"{duration(ours)} against {duration(theirs)} (from {len(few)} cars) of processor time; "
                f"engine speeds agree to {apart:.0e} rad/s",
            )
        ]
    )


if __name__ == "__main__":
    main()
