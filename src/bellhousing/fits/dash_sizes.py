"""Standard inch O-rings by dash number, and the size that belongs in a measured groove."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

INCH = 0.0254


@dataclass(frozen=True)
class DashSize:
    """A standard ring as moulded.

    Parameters
    ----------
    dash : its dash number, such as "-214"
    inside_diameter : [m]
    section : diameter of its section [m]
    section_tolerance : either way [m]
    tube : outer diameter of the tube whose boss it seals, 0 for all others [m]
    """

    dash: str
    inside_diameter: float
    section: float
    section_tolerance: float
    tube: float = 0.0

    @property
    def outside_diameter(self) -> float:
        """Inside diameter and two sections [m]."""
        return self.inside_diameter + 2.0 * self.section


@dataclass(frozen=True)
class Series:
    """Rings of one section [in]: tolerance, and runs of (first dash, first inside diameter, step, count)."""

    section: float
    tolerance: float
    runs: tuple[tuple[int, float, float, int], ...]
    singles: tuple[tuple[int, float], ...] = ()


# Inside diameters run in even steps printed to three digits, so a step of a sixteenth alternates between
# 0.062 and 0.063 in: the exact step is taken, the last digit rounded down, which gives the printed figures.
SERIES: tuple[Series, ...] = (
    Series(
        0.070,
        0.003,
        ((10, 0.239, 0.0, 1), (11, 0.3015, 0.0625, 17), (28, 1.364, 0.125, 14), (42, 3.239, 0.25, 9)),
        (
            (1, 0.029),
            (2, 0.042),
            (3, 0.056),
            (4, 0.070),
            (5, 0.101),
            (6, 0.114),
            (7, 0.145),
            (8, 0.176),
            (9, 0.208),
        ),
    ),
    Series(
        0.103,
        0.003,
        ((108, 0.237, 0.0, 1), (109, 0.2995, 0.0625, 26), (135, 1.925, 0.0625, 16), (151, 2.987, 0.25, 28)),
        ((102, 0.049), (103, 0.081), (104, 0.112), (105, 0.143), (106, 0.174), (107, 0.206)),
    ),
    Series(
        0.139,
        0.004,
        (
            (201, 0.1715, 0.0625, 21),
            (222, 1.484, 0.125, 36),
            (258, 5.984, 0.25, 16),
            (274, 9.984, 0.5, 4),
            (278, 11.984, 1.0, 4),
            (282, 15.955, 1.0, 3),
        ),
    ),
    Series(
        0.210,
        0.005,
        (
            (309, 0.4125, 0.0625, 15),
            (324, 1.350, 0.125, 37),
            (361, 5.975, 0.25, 16),
            (377, 9.975, 0.5, 4),
            (381, 11.975, 1.0, 4),
            (385, 15.955, 1.0, 7),
            (392, 22.940, 1.0, 4),
        ),
    ),
    Series(
        0.275,
        0.006,
        (
            (425, 4.475, 0.125, 12),
            (437, 5.975, 0.25, 8),
            (445, 7.975, 0.5, 16),
            (461, 15.955, 0.5, 9),
            (470, 20.955, 1.0, 2),
            (472, 22.940, 1.0, 4),
        ),
    ),
)
"""Rings by section; SAE AS568, from memory, the ends of each series and single rows seen in print."""

BOSS = (
    (902, 0.239, 0.064), (903, 0.301, 0.064), (904, 0.351, 0.072), (905, 0.414, 0.072), (906, 0.468, 0.078),
    (907, 0.530, 0.082), (908, 0.644, 0.087), (910, 0.755, 0.097), (911, 0.863, 0.116), (912, 0.924, 0.116),
    (913, 0.986, 0.116), (914, 1.047, 0.116), (916, 1.171, 0.116), (918, 1.355, 0.116), (920, 1.475, 0.118),
    (924, 1.720, 0.118), (928, 2.090, 0.118), (932, 2.337, 0.118),
)  # fmt: skip
"""Boss rings: dash number, inside diameter and section [in]; the last two digits are the tube's sixteenths of
an inch. SAE AS568, from memory."""


@cache
def dash_sizes() -> Mapping[str, DashSize]:
    """Every standard ring by its dash number, smallest first within its section."""
    rings: dict[str, DashSize] = {}
    for series in SERIES:
        for number, inside in _rows(series):
            rings[_dash(number)] = _ring(number, inside, series.section, series.tolerance)
    for number, inside, section in BOSS:
        tube = (number - 900) / 16.0 * INCH
        rings[_dash(number)] = _ring(number, inside, section, 0.003 if section < 0.1 else 0.004, tube)
    return MappingProxyType(rings)


def _rows(series: Series) -> list[tuple[int, float]]:
    rows = list(series.singles)
    for first, inside, step, count in series.runs:
        rows += [(first + i, _printed(inside + i * step)) for i in range(count)]
    return sorted(rows)


def _printed(inches: float) -> float:
    return int(inches * 1000.0 + 1e-6) / 1000.0


def _dash(number: int) -> str:
    return f"-{number:03d}"


def _ring(number: int, inside: float, section: float, tolerance: float, tube: float = 0.0) -> DashSize:
    return DashSize(_dash(number), inside * INCH, section * INCH, tolerance * INCH, tube)
