"""Time what deciding costs after each finding: the exact search for the works, and the whole plan."""

from __future__ import annotations

import argparse
import statistics
import time

import numpy as np

from bellhousing.diagnosis.best_works import best_works
from bellhousing.diagnosis.plan import make_plan
from bellhousing.diagnosis.repair_costs import repair
from bellhousing.diagnosis.waiting import load_waiting
from bellhousing.diagnosis.works import load_works, works_of

FAMILY = "three-speed-vacuum"
SETS = 2000


def belief(seed: int, spread: float) -> tuple[list[str], np.ndarray, np.ndarray]:
    """An invented belief on 2,000 sets of up to five faults; `spread` from 0 (settled) to 1 (wide open)."""
    rng = np.random.default_rng(seed)
    works = [work for work in load_works().values() if FAMILY in work.families and not work.exchange]
    faults = sorted({fault for work in works for fault in work.cures})
    popular = rng.dirichlet(np.full(len(faults), 0.05 + spread))
    members = np.full((SETS, 5), len(faults))
    for row in members:
        size = int(rng.integers(0, 6))
        row[:size] = rng.choice(len(faults), size, replace=False, p=0.98 * popular + 0.02 / len(faults))
    return faults, members, rng.dirichlet(np.full(SETS, 0.02 + spread))


def main() -> None:
    """Print medians and the slowest of many rounds, each with another belief."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=40)
    rounds = parser.parse_args().rounds
    waiting = load_waiting()
    print(
        f"{'belief':<12}{'arrays':>18}{'search':>18}{'nodes':>10}{'whole plan':>18}   [ms] median / slowest"
    )
    for name, spread in (("settled", 0.0), ("in doubt", 0.1), ("wide open", 1.0)):
        arrays, search, nodes, whole = [], [], [], []
        for seed in range(rounds):
            faults, members, weights = belief(seed, spread)
            everything = works_of(load_works(), FAMILY, faults)
            began = time.perf_counter()
            works = [work for work in everything if not work.exchange]
            decided = repair(faults, members, weights, works)
            built = time.perf_counter()
            found = best_works(decided)
            done = time.perf_counter()
            assert found.proved
            make_plan(everything, waiting, faults, members, weights)
            arrays.append(1e3 * (built - began))
            search.append(1e3 * (done - built))
            whole.append(1e3 * (time.perf_counter() - done))
            nodes.append(found.nodes)
        cells = "".join(f"{statistics.median(row):>10.1f} /{max(row):>6.1f}" for row in (arrays, search))
        plan = f"{statistics.median(whole):>10.1f} /{max(whole):>6.1f}"
        print(f"{name:<12}{cells}{statistics.median(nodes):>10.0f}{plan}")


if __name__ == "__main__":
    main()
