"""Writes the best fixed order of looks of each family, from what is believed before anything is known."""

from __future__ import annotations

import sys
from pathlib import Path

from benchmarks.diagnosis import arithmetic, ours
from benchmarks.diagnosis.names import FAMILIES, read_names

HEAD = """\
# Looks by bits a minute before anything is known, set-ups shared by the looks they open. Written by
# `python -m benchmarks.diagnosis.orders` before anything was tuned, and left alone since.
"""


def main() -> int:
    """Write the file anew."""
    cache = Path(sys.argv[1])
    lines = [HEAD]
    for family in FAMILIES:
        names = read_names(family)
        order = arithmetic.best_fixed_order(ours.prepared_for(family, cache), names)
        lines += [f"{family}:\n", *(f"  - {look}\n" for look in order)]
    (Path(__file__).resolve().parent / "fixed-order.yaml").write_text("".join(lines), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
