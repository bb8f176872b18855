"""What the reduced models of both families share: how a fault bends a car, and what the car then shows.

Speeds [mph], times [s]. Common practice; invented laws of what the faults of both families do.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

Parameters = dict[str, float]
Reading = float | str
Generator = np.random.Generator

SPEEDS = np.arange(0.2, 120.0, 0.2)
STARTS_THERE = 1.5
"""Below this speed the higher gear is there from the start [mph]."""

Bend = Callable[[Parameters, float, float], None]
"""Bends a car: parameters, severity from 0 to 1, and a number from 0 to 1 for what goes either way."""


def times(name: str, mild: float, severe: float) -> Bend:
    """Multiply, from mild to severe."""

    def bend(p: Parameters, s: float, _: float) -> None:
        p[name] *= mild + (severe - mild) * s

    return bend


def add(name: str, mild: float, severe: float) -> Bend:
    """Add, from mild to severe."""

    def bend(p: Parameters, s: float, _: float) -> None:
        p[name] += mild + (severe - mild) * s

    return bend


def put(name: str, mild: float, severe: float) -> Bend:
    """Set, from mild to severe."""

    def bend(p: Parameters, s: float, _: float) -> None:
        p[name] = mild + (severe - mild) * s

    return bend


def either(share: float, first: Bend, second: Bend) -> Bend:
    """One of two ways, the first in this share of cars."""

    def bend(p: Parameters, s: float, way: float) -> None:
        (first if way < share else second)(p, s, way)

    return bend


SHARED: Mapping[str, tuple[Bend, ...]] = {
    "engine-vacuum-low": (
        add("vacuum", -2.0, -5.5),
        times("stall_drive", 0.99, 0.93),
        times("stall_reverse", 0.99, 0.93),
    ),
    "engine-misfire": (
        add("vacuum", -0.5, -2.5),
        times("stall_drive", 0.96, 0.88),
        times("stall_reverse", 0.96, 0.88),
    ),
    "exhaust-blocked": (
        add("vacuum", -0.2, -1.5),
        times("stall_drive", 0.92, 0.75),
        times("stall_reverse", 0.92, 0.75),
    ),
    "fluid-level-low": (
        times("line_idle", 0.97, 0.55),
        times("line_revs", 0.95, 0.6),
        times("line_stall", 0.9, 0.55),
        add("late_drive", 0.1, 1.6),
        add("late_reverse", 0.1, 1.6),
        add("cold_all", 0.2, 2.2),
    ),
    "filter-blocked": (
        times("line_revs", 1.0, 0.92),
        times("line_stall", 0.85, 0.5),
        add("cold_all", 0.0, 0.6),
    ),
    "pump-drive-broken": (put("dead", 1.0, 1.0), put("line_stuck", 0.0, 0.0)),
    "selector-linkage-out": (add("late_drive", 0.0, 0.7), add("late_reverse", 0.0, 0.7)),
    "varnish-from-standing": (put("tacky", 1.0, 3.5), add("cold_all", 0.0, 0.8)),
    "shaft-broken": (put("dead", 1.0, 1.0),),
}
"""Faults that bend a car of either family alike."""


def engaging(p: Parameters) -> dict[str, Reading]:
    """How long it takes to drive, hot and cold."""
    names = (
        "engagement-drive-hot",
        "engagement-reverse-hot",
        "first-engagement-drive-cold",
        "second-engagement-drive-cold",
        "first-engagement-reverse-cold",
    )
    if p["dead"]:
        return dict.fromkeys(names, "never")
    drive, reverse = p["drive"] + p["late_drive"], p["reverse"] + p["late_reverse"]
    cold = drive * p["cold"] + p["cold_drive"] + p["cold_all"]
    values = (
        drive,
        reverse,
        cold + p["drained"],
        0.92 * cold,
        reverse * p["cold"] + p["cold_reverse"] + p["cold_all"],
    )
    return {name: max(0.3, value) for name, value in zip(names, values, strict=True)}


def first_speed(over: np.ndarray, stick: float) -> Reading:
    """Speed at which a shift valve goes up, `over` being where the governor wins; below 0 it sticks down."""
    if stick < 0.0 or not over.any():
        return "never"
    speed = float(SPEEDS[int(np.argmax(over))])
    return "absent" if stick > 0.0 or speed < STARTS_THERE else speed


def last_speed(under: np.ndarray) -> Reading:
    """Speed down to which a shift valve stays up, `under` being where the governor has lost."""
    return float(SPEEDS[np.flatnonzero(under)[-1]]) if under.any() and not under.all() else 0.0
