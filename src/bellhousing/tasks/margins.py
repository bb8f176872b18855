"""What the holding elements of a box have in hand: torque held at each line pressure, margin, shift heat."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from bellhousing.boxes.box import Box, part_in_words
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.prepare import CarFacts
from bellhousing.errors import QuantityError
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si
from bellhousing.road.cars import draw_cars, middle_car
from bellhousing.road.margins import (
    GearMargins,
    GroupMargin,
    element_capacities,
    gear_margins,
)
from bellhousing.road.shift_heat import ShiftHeat, engagement_heats, shift_heats
from bellhousing.road.shown import vehicle
from bellhousing.tasks.answers import Shape

PRESSURES = ("40 psi", "65 psi", "90 psi", "120 psi", "150 psi")
POSSIBLE = (10.0 * 6894.757, 400.0 * 6894.757)
MOST = 12
LEAST_LINE = 6894.757
CARS, SEED = 300, 23
NO_COUPLING = "the coupling itself slips by what it carries and is left out"
ASSUMED = (
    "full throttle gives the engine's torque at stall times the stall ratio in first, low and reverse behind "
    "a converter, and the engine's peak elsewhere",
    "a change starts from the cushion and has the whole line after 0.4 s",
    "into gear at a hot idle, the car standing: the whole line after 0.25 s, driven as at stall meanwhile, "
    "so that the heat is at most this",
    "its time is that of the slip alone, once the element is filled",
    "steel plates 0.077 in thick take up all the heat of one change",
    "the lining is paper: 2.3 W/mm² (M. J. Neale, The Tribology Handbook, table 7.4)",
)


class ElementHolds(Shape):
    """One clutch, band or one-way clutch: torque it holds by itself at each pressure of the answer."""

    element: str
    torque: tuple[float, ...]


class GroupAnswer(Shape):
    """Elements a gear cannot do without, in lb ft at the gear train's input.

    `margin` is that of the middle car at full throttle, 95 of 100 cars between `margin_low` and
    `margin_high`; `slips_below` is null where no line pressure is enough.
    """

    elements: tuple[str, ...]
    share: float
    held: tuple[float, ...]
    margin: float
    margin_low: float
    margin_high: float
    slips_below: float | None
    text: str


class GearAnswer(Shape):
    """A gear at full throttle: torque asked at the input, line pressure there, its groups."""

    gear: str
    ratio: float
    demand: float
    line: float
    groups: tuple[GroupAnswer, ...]


class HeatAnswer(Shape):
    """A change up, or into gear: null where it never comes together, or where a band's width is not known."""

    into: str
    throttle: str
    elements: tuple[str, ...]
    speed_mph: float
    time_s: float | None
    energy_kj: float | None
    power_w_mm2: float | None
    lining_margin: float | None
    steel_rise_k: float | None
    rpm_before: float | None
    rpm_after: float | None
    turned_kj: float | None
    text: str


class MarginsAnswer(Shape):
    """Capacity, margin and heat of a box's holding elements."""

    box: str
    box_name: str
    pressure_unit: str = "psi"
    torque_unit: str = "lb ft"
    pressures: tuple[float, ...]
    elements: tuple[ElementHolds, ...]
    gears: tuple[GearAnswer, ...]
    heats: tuple[HeatAnswer, ...]
    engagements: tuple[HeatAnswer, ...]
    text: str
    assumed: tuple[str, ...]


def margins_of_box(name: str, pressures: Sequence[str] = (), *, car: CarFacts | None = None) -> MarginsAnswer:
    """Margins of a box by name or path.

    Raises
    ------
    BoxFileError : no such box, or one that does not give the figures needed
    QuantityError : a pressure that is none, or an impossible one
    """
    box = load_box(name)
    if len(pressures) > MOST:
        raise QuantityError(f"more than {MOST} pressures", remedy="name fewer")
    wanted = [
        parse_measured(text, usual_unit="psi", possible=POSSIBLE).value for text in pressures or PRESSURES
    ]
    return _answer(box, sorted(set(wanted)), car or CarFacts())


def _answer(box: Box, pressures: Sequence[float], facts: CarFacts) -> MarginsAnswer:
    car = vehicle(box, facts.axle_ratio, facts.tyre_radius, facts.altitude)
    cars, middle = draw_cars(box, CARS, np.random.default_rng(SEED)), middle_car(box)
    gears = tuple(_gear(entry) for entry in gear_margins(cars, middle, car, pressures))
    turning = _turning(box)
    # A coupling's runner turns behind its front unit, and takes no part in what a change brings down.
    behind = turning if car.kind != FOUR_SPEED else 0.0
    heats = tuple(_heat(entry) for entry in shift_heats(middle, car, behind))
    engaged = tuple(_heat(entry) for entry in engagement_heats(middle, car, turning))
    held = element_capacities(middle, car, pressures)
    return MarginsAnswer(
        box=box.slug,
        box_name=box.name,
        pressures=tuple(round(float(from_si(value, "psi")), 3) for value in pressures),
        elements=tuple(
            ElementHolds(element=_said(key), torque=tuple(_torque(v) for v in rows[:, 0]))
            for key, rows in held.items()
            if key.replace("_", "-") not in box.missing_parts
        ),
        gears=gears,
        heats=heats,
        engagements=engaged,
        text=_text(gears),
        assumed=(*ASSUMED, NO_COUPLING) if car.kind == FOUR_SPEED else ASSUMED,
    )


def _turning(box: Box) -> float:
    """Inertia of turbine or runner [kg·m²], the family's where the box gives none."""
    key = "coupling.runner_inertia" if box.kind == FOUR_SPEED else "converter.turbine_inertia"
    return box.number(key).value or 0.0


def _gear(entry: GearMargins) -> GearAnswer:
    return GearAnswer(
        gear=entry.gear,
        ratio=round(entry.ratio, 3),
        demand=_torque(float(np.median(entry.demand))),
        line=round(float(from_si(float(np.median(entry.line)), "psi")), 1),
        groups=tuple(_group(group) for group in entry.groups),
    )


def _group(group: GroupMargin) -> GroupAnswer:
    low, middle, high = (float(end) for end in np.quantile(group.margin, [0.025, 0.5, 0.975]))
    names = tuple(_said(name) for name in group.elements)
    below = group.slips_below
    if below < LEAST_LINE:
        slips, below = "it holds whatever the line pressure", 0.0
    elif math.isfinite(below):
        slips = f"slips at full throttle below {show(below, 'psi')}"
    else:
        slips = "no line pressure holds full throttle"
    return GroupAnswer(
        elements=names,
        share=round(group.share, 4),
        held=tuple(_torque(float(np.median(row))) for row in group.held),
        margin=round(middle, 3),
        margin_low=round(low, 3),
        margin_high=round(high, 3),
        slips_below=round(float(from_si(below, "psi")), 1) if math.isfinite(below) else None,
        text=f"{' with '.join(names)}: {middle:.2f} times ({low:.2f}–{high:.2f}); {slips}",
    )


def _heat(entry: ShiftHeat) -> HeatAnswer:
    names = tuple(_said(name) for name in entry.elements)
    speed = float(from_si(entry.speed, "mph"))
    start = f"into {entry.into}, {entry.throttle} throttle, {speed:.0f} mph, {' and '.join(names)}"
    if entry.throttle == "idle":
        start = f"N to {entry.into} at a hot idle, {' and '.join(names)}"
    if not math.isfinite(entry.energy):
        told = "never comes together: it slips until it burns"
    else:
        told = f"{entry.time:.2f} s, {entry.energy / 1e3:.1f} kJ"
        if math.isfinite(entry.power):
            told += (
                f", {entry.power / 1e6:.2f} W/mm² on each face (the lining stands "
                f"{entry.lining_margin:.1f} times that), steels {entry.steel_rise:.0f} K warmer"
            )
        elif len(names) > 1:
            told += " between them"
    return HeatAnswer(
        into=entry.into,
        throttle=entry.throttle,
        elements=names,
        speed_mph=round(speed, 1),
        time_s=_finite(entry.time, 3),
        energy_kj=_finite(entry.energy / 1e3, 3),
        power_w_mm2=_finite(entry.power / 1e6, 3),
        lining_margin=_finite(entry.lining_margin, 2),
        steel_rise_k=_finite(entry.steel_rise, 1),
        rpm_before=_finite(float(from_si(entry.before, "rpm")), 0),
        rpm_after=_finite(float(from_si(entry.after, "rpm")), 0),
        turned_kj=_finite(entry.turned / 1e3, 3),
        text=f"{start}: {told}",
    )


def _text(gears: Sequence[GearAnswer]) -> str:
    least = min(
        ((group.margin, gear.gear, group) for gear in gears for group in gear.groups), key=lambda one: one[0]
    )
    margin, gear, group = least
    said = f"Least in hand at full throttle: {' with '.join(group.elements)} in {gear.replace('-', ' ')}"
    return f"{said}, {margin:.2f} times what is asked."


def _torque(newton_metres: float) -> float:
    return float(f"{float(from_si(newton_metres, 'lb ft')):.4g}")


def _finite(value: float, digits: int) -> float | None:
    return round(value, digits) if math.isfinite(value) else None


def _said(name: str) -> str:
    return part_in_words(name)
