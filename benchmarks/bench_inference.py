"""The posterior beside two libraries for exact inference, each on the largest net it finishes in a minute."""

from __future__ import annotations

import argparse
import statistics
from collections.abc import Sequence
from pathlib import Path

from benchmarks.inference.beside import SIZES, Size, grown
from benchmarks.inference.libraries import LIBRARIES
from benchmarks.measured import TICK, Curve, Found, Line, duration, times
from benchmarks.own_environment import other_python

GOAL, CLOSE, LIMIT = 100.0, 0.01, 60.0
WAYS = {
    "pyagrum": "lazy propagation on a compiled junction tree",
    "pgmpy": "variable elimination, greedy order",
}


def line_of(name: str, sizes: Sequence[Size]) -> Line:
    """What came out on the largest net that a library finished."""
    last = sizes[-1]
    ratio = statistics.median(
        theirs / max(ours, TICK) for ours, theirs in zip(last.ours, last.theirs, strict=True)
    )
    ours, theirs = statistics.median(last.ours), statistics.median(last.theirs)
    apart = max(last.apart)
    return Line(
        f"posterior of {last.faults} faults on a net of {last.nodes} nodes, {last.entries:,} figures",
        f"{name}: {WAYS[name]}",
        "≥ 100 ×, posterior within 0.01",
        f"{times(ratio)}, within {apart:.1g}",
        ratio >= GOAL and apart <= CLOSE,
        f"{duration(ours)} against {duration(theirs)}, compiled in {duration(last.compiled)}, "
        f"{len(last.ours)} cases",
    )


def measured(
    *,
    limit: float = LIMIT,
    sizes: Sequence[int] = SIZES,
    python: Path | None = None,
    names: Sequence[str] = (),
) -> Found:
    """Both libraries, and the time of all three over the number of faults."""
    python = python or other_python()
    found = {name: grown(python, name, limit, sizes) for name in names or LIBRARIES}
    series = {
        name: [(float(size.faults), statistics.median(size.theirs)) for size in each]
        for name, each in found.items()
    }
    longest = max(found.values(), key=len)
    series["this program"] = [(float(size.faults), statistics.median(size.ours)) for size in longest]
    lines = [line_of(name, each) for name, each in found.items() if each]
    return Found(lines, [Curve("Posterior over faults", "faults in the net", series)])


def main() -> None:
    """Print the lines of the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--limit", type=float, default=LIMIT, help="seconds a library has for a net")
    found = measured(limit=parser.parse_args().limit)
    for told in found.lines:
        print(f"{told.what}, beside {told.beside}: {told.found} ({told.note})")


if __name__ == "__main__":
    main()
