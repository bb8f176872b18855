"""What a published check compares: its comparisons with `pytest.approx`, written down as they are made."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

Note = Callable[["Compared"], None]


@dataclass(frozen=True)
class Compared:
    """One comparison: our figures, the printed ones and how far apart they may lie."""

    ours: tuple[float, ...]
    printed: tuple[float, ...]
    tolerance: tuple[float, ...]

    def as_json(self) -> dict[str, Any]:
        """The same as plain lists."""
        return asdict(self)


def flat(values: Any) -> list[float]:
    """Numbers of a scalar, a sequence, an array or the values of a mapping, in the order of its keys."""
    if isinstance(values, Mapping):
        values = [values[key] for key in sorted(values)]
    return [float(number) for number in np.ravel(np.asarray(values, dtype=float))]


def noted(approx: Callable[..., Any], note: Note) -> Callable[..., Any]:
    """`pytest.approx` that says to `note` what it was compared with, and decides as before."""

    def compare(expected: object, *args: Any, **options: Any) -> Any:
        base = approx(expected, *args, **options)
        kind: Any = type(base)

        def equal(self: Any, actual: object) -> bool:
            ours, printed = flat(actual), flat(expected)
            note(Compared(tuple(ours), tuple(printed), tuple(tolerance(approx, x, options) for x in printed)))
            return bool(kind.__eq__(self, actual))

        base.__class__ = type(kind.__name__, (kind,), {"__eq__": equal, "__hash__": None})
        return base

    return compare


def tolerance(approx: Callable[..., Any], printed: float, options: dict[str, Any]) -> float:
    """How far from a printed figure ours may lie."""
    width = float(approx(printed, **options).tolerance)
    return width if math.isfinite(width) else math.inf
