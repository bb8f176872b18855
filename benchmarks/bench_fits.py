"""Time the choice of selective parts against a bare call of the solver with the same model, in pairs."""

from __future__ import annotations

import argparse
import itertools
import json
import random
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np
from benchmarks.measured import Found, Line, duration, times
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from bellhousing.fits.parts import Limits, Part, Piece, Place, Stack
from bellhousing.fits.program import Program, steps_of
from bellhousing.fits.selective import solve_fits

SIZES = ((4, 20), (6, 30), (10, 40))
MOST_TIMES = 1.5


def instance(stacks: int, sizes: int, seed: int) -> tuple[list[Stack], dict[str, Part]]:
    """Stacks of three plates each from measured thicknesses, one to three pieces of each shared by all."""
    rng = random.Random(seed)
    pieces = tuple(Piece(1.8e-3 + 1e-6 * rng.randrange(400), stock=rng.randint(1, 3)) for _ in range(sizes))
    parts = {"plate": Part("plate", "plate", pieces, tolerance=4e-6)}
    place = Place("plate", -1, 3)
    found = [
        Stack(f"s{n}", f"S{n}", 7.0e-3 + rng.uniform(-3e-4, 3e-4), 8e-6, 0.9e-3, 1.1e-3, 1.0e-3, (place,))
        for n in range(stacks)
    ]
    return found, parts


def bare(stacks: Sequence[Stack], parts: Mapping[str, Part]) -> tuple[float, bool]:
    """The model built and handed to the solver, with nothing around it."""
    began = time.perf_counter()
    steps = [steps_of(stack, parts, 0.5) for stack in stacks]
    model = Program(stacks, parts, steps, 1.0, may_open=False).model
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    return time.perf_counter() - began, status == cp_model.OPTIMAL


FloatArray = NDArray[np.float64]
Linear = tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]


def linear(stacks: Sequence[Stack], parts: Mapping[str, Part]) -> Linear:
    """The same choice for a linear integer solver: costs, whole or not, most of each, rows and their ends.

    Nearest to the targets over the same stock; each gap within its window, as the package's own model has it.
    """
    pieces = parts["plate"].pieces
    many, width = len(stacks), len(pieces)
    count = many * width
    size = np.array([piece.size for piece in pieces]) * 1e6
    rows, low, high = [], [], []
    for number, stack in enumerate(stacks):
        taken = np.zeros(count + many)
        taken[number * width : (number + 1) * width] = 1.0
        rows.append(taken)
        low.append(3.0)
        high.append(3.0)
        for sign in (1.0, -1.0):
            # |base - Σ size - target| is at most the stack's own deviation.
            off = np.zeros(count + many)
            off[number * width : (number + 1) * width] = -sign * size
            off[count + number] = -1.0
            rows.append(off)
            low.append(-np.inf)
            high.append(sign * (stack.target - stack.base) * 1e6)
    for place, piece in enumerate(pieces):
        used = np.zeros(count + many)
        used[place:count:width] = 1.0
        rows.append(used)
        low.append(0.0)
        high.append(piece.stock)
    aims = np.concatenate([np.zeros(count), np.ones(many)])
    whole = np.concatenate([np.ones(count), np.zeros(many)])
    most = np.concatenate([np.full(count, 3.0), np.full(many, 100.0)])
    return aims, whole, most, np.array(rows), np.array(low, dtype=float), np.array(high, dtype=float)


def through_scipy(model: Linear, seconds: float) -> tuple[float, bool]:
    """The linear integer solver of SciPy."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    aims, whole, most, rows, low, high = model
    began = time.perf_counter()
    found = milp(
        aims,
        integrality=whole,
        bounds=Bounds(0.0, most),
        constraints=LinearConstraint(rows, low, high),
        options={"time_limit": seconds},
    )
    return time.perf_counter() - began, found.status == 0


BESIDE = """
import sys, time, json
import numpy as np, highspy
m = np.load(sys.argv[1]); n = len(m["aims"]); h = highspy.Highs()
h.setOptionValue("output_flag", False); h.setOptionValue("threads", 2)
h.setOptionValue("time_limit", float(sys.argv[2])); h.setOptionValue("mip_rel_gap", 0.0)
lp = highspy.HighsLp(); lp.num_col_ = n; lp.num_row_ = len(m["low"])
lp.col_cost_ = m["aims"]; lp.col_lower_ = np.zeros(n); lp.col_upper_ = m["most"]
lp.row_lower_ = m["low"]; lp.row_upper_ = m["high"]
r, c = np.nonzero(m["rows"]); lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
lp.a_matrix_.start_ = np.searchsorted(r, np.arange(len(m["low"]) + 1)); lp.a_matrix_.index_ = c
lp.a_matrix_.value_ = m["rows"][r, c]
kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
lp.integrality_ = [kinds[int(w)] for w in m["whole"]]
began = time.perf_counter(); h.passModel(lp); h.run()
print(json.dumps([time.perf_counter() - began, h.getModelStatus() == highspy.HighsModelStatus.kOptimal]))
"""


def through_highs(model: Linear, seconds: float, python: str) -> tuple[float, bool]:
    """HiGHS by its own binding, in an environment that has it; only the solving is timed, not the start."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "model.npz"
        aims, whole, most, rows, low, high = model
        np.savez(path, aims=aims, whole=whole, most=most, rows=rows, low=low, high=high)
        done = subprocess.run(
            [python, "-c", BESIDE, str(path), str(seconds)], capture_output=True, text=True, check=True
        )
    took, proven = json.loads(done.stdout.splitlines()[-1])
    return float(took), bool(proven)


def pair(stacks: Sequence[Stack], parts: Mapping[str, Part], *, first: bool) -> tuple[float, float, bool]:
    """One paired run: whole answer and bare call back to back, in either order."""
    times = {}
    for name in ("whole", "bare") if first else ("bare", "whole"):
        if name == "bare":
            times[name], _ = bare(stacks, parts)
            continue
        began = time.perf_counter()
        solution = solve_fits(stacks, parts, limits=Limits(seconds=120.0))
        times[name] = time.perf_counter() - began
    return times["whole"], times["bare"], solution.proven and not solution.open


def beside(stacks: int, sizes: int, asked: argparse.Namespace) -> str:
    """Medians of the other solvers over the first instances, in turn, those not proven within the time."""
    others: dict[str, Callable[[Linear], tuple[float, bool]]] = {}
    if asked.other > 0:
        others["SciPy"] = lambda model: through_scipy(model, asked.other)
        if asked.highs:
            others["HiGHS"] = lambda model: through_highs(model, asked.other, asked.highs)
    runs: dict[str, list[tuple[float, bool]]] = {name: [] for name in others}
    for seed in range(asked.other_rounds):
        model = linear(*instance(stacks, sizes, seed))
        for name, solve in others.items():
            runs[name].append(solve(model))
    told = []
    for name, found in runs.items():
        proven = sum(done for _, done in found)
        seconds = statistics.median(took for took, _ in found)
        told.append(f"{name} {seconds:.2f} s, {proven}/{len(found)} proven")
    return "; ".join(told)


def main() -> None:
    """Print one line for each size: median times and the median of the paired ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument(
        "--other", type=float, default=20.0, help="seconds for each other solver, 0 leaves them out"
    )
    parser.add_argument("--other-rounds", type=int, default=1, help="instances for the other solvers")
    parser.add_argument("--highs", default="", help="a Python that has highspy, to compare with it too")
    chosen = parser.parse_args()
    print(f"{'stacks × sizes':>15} {'whole [s]':>10} {'bare [s]':>10} {'ratio':>7} {'proven':>7}  others")
    for stacks, sizes in SIZES:
        runs = [
            pair(*instance(stacks, sizes, seed), first=seed % 2 == 0)
            for seed in itertools.islice(itertools.count(), chosen.rounds)
        ]
        ratio = statistics.median(whole / alone for whole, alone, _ in runs)
        print(
            f"{f'{stacks} × {sizes}':>15} {statistics.median(run[0] for run in runs):10.2f} "
            f"{statistics.median(run[1] for run in runs):10.2f} {ratio:7.2f} "
            f"{sum(run[2] for run in runs):>4}/{len(runs)}  {beside(stacks, sizes, chosen)}",
            flush=True,
        )


def measured(
    *, sizes: Sequence[tuple[int, int]] = SIZES, rounds: int = 5, other: float = 20.0, highs: str = ""
) -> Found:
    """The lines of the common table; with a Python that has `highspy` beside that too, its time bounded."""
    lines = []
    for stacks, pieces in sizes:
        runs = [pair(*instance(stacks, pieces, seed), first=seed % 2 == 0) for seed in range(rounds)]
        ratio = statistics.median(whole / alone for whole, alone, _ in runs)
        ours, theirs = (statistics.median(run[place] for run in runs) for place in (0, 1))
        proven = sum(run[2] for run in runs)
        note = f"{duration(ours)} against {duration(theirs)} by the clock, {proven} of {rounds} proven"
        what = f"fits of {stacks} stacks from {pieces} sizes"
        beside_bare = "the bare solver, its model built"
        lines.append(Line(what, beside_bare, "≤ 1.5 ×", times(ratio), ratio <= MOST_TIMES, note))
        if highs:
            lines.append(_second(stacks, pieces, other, highs, rounds=min(rounds, 2)))
    return Found(lines)


def _second(stacks: int, pieces: int, seconds: float, python: str, *, rounds: int) -> Line:
    """The whole answer beside HiGHS, the model built on both sides; cut off, the ratio is a bound."""
    rows, proven = [], 0
    for seed in range(rounds):
        found, parts = instance(stacks, pieces, seed)
        began = time.perf_counter()
        model = linear(found, parts)
        built = time.perf_counter() - began
        took, done = through_highs(model, seconds, python)
        began = time.perf_counter()
        solve_fits(found, parts, limits=Limits(seconds=120.0))
        ours = time.perf_counter() - began
        rows.append((ours, built + took, ours / (built + took)))
        proven += done
    ours, theirs, ratio = (statistics.median(column) for column in zip(*rows, strict=True))
    bound = "" if proven == rounds else "at most "
    note = f"{duration(ours)} against {duration(theirs)} by the clock; it proved {proven} of {rounds}"
    what = f"fits of {stacks} stacks from {pieces} sizes"
    against = f"HiGHS, its model built, {seconds:.0f} s at most"
    return Line(what, against, "≤ 1.5 ×", bound + times(ratio), ratio <= MOST_TIMES, note)


if __name__ == "__main__":
    main()
