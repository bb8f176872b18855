"""Time the choice of selective parts against a bare call of the solver with the same model, in pairs."""

from __future__ import annotations

import argparse
import itertools
import random
import statistics
import time
from collections.abc import Mapping, Sequence

import numpy as np
from ortools.sat.python import cp_model

from bellhousing.fits.parts import Limits, Part, Piece, Place, Stack
from bellhousing.fits.program import Program, steps_of
from bellhousing.fits.selective import solve_fits

SIZES = ((4, 20), (6, 30), (10, 40))


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
    """The model as it stands, handed to the solver with nothing around it; only the call is timed."""
    steps = [steps_of(stack, parts, 0.5) for stack in stacks]
    model = Program(stacks, parts, steps, 1.0, may_open=False).model
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    began = time.perf_counter()
    status = solver.solve(model)
    return time.perf_counter() - began, status == cp_model.OPTIMAL


def other(stacks: Sequence[Stack], parts: Mapping[str, Part], seconds: float) -> tuple[float, bool]:
    """A general linear integer solver on the same choice: nearest to the targets over the same stock."""
    from scipy.optimize import Bounds, LinearConstraint, milp

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
    began = time.perf_counter()
    found = milp(
        aims,
        integrality=whole,
        bounds=Bounds(0.0, np.concatenate([np.full(count, 3.0), np.full(many, 100.0)])),
        constraints=LinearConstraint(np.array(rows), low, high),
        options={"time_limit": seconds},
    )
    return time.perf_counter() - began, found.status == 0


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


def main() -> None:
    """Print one line for each size: median times and the median of the paired ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument(
        "--other", type=float, default=20.0, help="seconds for the other solver, 0 leaves it out"
    )
    chosen = parser.parse_args()
    print(
        f"{'stacks × sizes':>15} {'whole [s]':>10} {'bare [s]':>10} {'ratio':>7} {'proven':>7}  other solver"
    )
    for stacks, sizes in SIZES:
        runs = [
            pair(*instance(stacks, sizes, seed), first=seed % 2 == 0)
            for seed in itertools.islice(itertools.count(), chosen.rounds)
        ]
        ratio = statistics.median(whole / alone for whole, alone, _ in runs)
        told = ""
        if chosen.other > 0:
            seconds, proven = other(*instance(stacks, sizes, 0), chosen.other)
            told = f"{seconds:.2f} s{'' if proven else ', not proven'}"
        print(
            f"{f'{stacks} × {sizes}':>15} {statistics.median(run[0] for run in runs):10.2f} "
            f"{statistics.median(run[1] for run in runs):10.2f} {ratio:7.2f} "
            f"{sum(run[2] for run in runs):>4}/{len(runs)}  {told}"
        )


if __name__ == "__main__":
    main()
