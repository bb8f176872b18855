"""The shift map predicted for a box and car, against the shifts that were driven and noted."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.shift_bands import ShiftBands, shift_bands
from bellhousing.errors import FindingError
from bellhousing.quantities.units import from_si
from bellhousing.tasks.answers import CurveBand, DrivenPoint, ForcedShift, ShiftMapAnswer
from bellhousing.tasks.hearing import Heard

# Where each driven finding stands: shift, throttle in words, manifold vacuum [inHg] at that throttle.
# Common practice: light 16, about half 10, full none; coasting with the throttle shut as at idle.
DRIVEN: Mapping[str, tuple[str, str, float]] = {
    "upshift-12-light": ("1-2", "light", 16.0),
    "upshift-12-medium": ("1-2", "medium", 10.0),
    "upshift-12-full": ("1-2", "full", 0.0),
    "upshift-23-light": ("2-3", "light", 16.0),
    "upshift-23-medium": ("2-3", "medium", 10.0),
    "upshift-23-full": ("2-3", "full", 0.0),
    "upshift-34-light": ("3-4", "light", 16.0),
    "upshift-34-medium": ("3-4", "medium", 10.0),
    "upshift-34-full": ("3-4", "full", 0.0),
    "coast-down-43": ("4-3", "shut", 19.0),
    "coast-down-32": ("3-2", "shut", 19.0),
    "coast-down-21": ("2-1", "shut", 19.0),
}


def shift_map(
    prepared: Prepared,
    heard: Iterable[Heard],
    fault: str | None = None,
    *,
    bands: Callable[[str | None], ShiftBands] | None = None,
) -> ShiftMapAnswer:
    """The predicted map of a sound car, or of one with a fault, and what was driven.

    `bands` gives the shift bands where they may be at hand.

    Raises
    ------
    FindingError : no such fault, naming the nearest.
    """
    name = None
    if fault is not None:
        if fault not in prepared.faults:
            near = difflib.get_close_matches(fault, prepared.faults, n=1)
            raise FindingError(
                f"there is no fault '{fault}' on this box",
                remedy=f"did you mean '{near[0]}'?" if near and near[0] != fault else None,
            )
        name = prepared.catalogue.faults[fault].name
    drawn = shift_bands(prepared, fault) if bands is None else bands(fault)
    return ShiftMapAnswer(
        fault=fault,
        fault_name=name,
        vacuum=tuple(_figure(value) or 0.0 for value in from_si(drawn.vacuum, "inHg")),
        curves=tuple(_band(shift, curves) for shift, curves in drawn.curves.items()),
        forced=tuple(_forced(shift, speeds) for shift, speeds in drawn.forced.items()),
        driven=driven(heard),
    )


def driven(heard: Iterable[Heard]) -> tuple[DrivenPoint, ...]:
    """The shifts among what was heard that have a road speed."""
    points = []
    for entry in heard:
        evidence = entry.evidence
        if evidence is None or evidence.value is None or evidence.finding not in DRIVEN:
            continue
        shift, throttle, vacuum = DRIVEN[evidence.finding]
        points.append(
            DrivenPoint(
                shift=shift,
                speed=float(f"{from_si(evidence.value, 'mph'):.6g}"),
                vacuum=vacuum,
                throttle=throttle,
                said=entry.answer.said,
            )
        )
    return tuple(points)


def _band(shift: str, curves: Sequence[NDArray[np.float64]]) -> CurveBand:
    low, median, high = (tuple(_figure(value) for value in from_si(curve, "mph")) for curve in curves)
    return CurveBand(shift=shift, low=low, median=median, high=high)


def _forced(shift: str, speeds: Sequence[float]) -> ForcedShift:
    low, median, high = (_figure(from_si(speed, "mph")) for speed in speeds)
    return ForcedShift(shift=shift, low=low, median=median, high=high)


def _figure(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None
