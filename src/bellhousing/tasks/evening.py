"""The evening view: one middling car of a box over throttle and speed, sound or with things broken."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cache, lru_cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box, part_in_words
from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.boxes.kinds import CHART, FOUR_SPEED
from bellhousing.diagnosis.prepare import CarFacts
from bellhousing.errors import BellhousingError, BoxFileError, FindingError, QuantityError
from bellhousing.geartrain.layout import Brake, GearTrain, OneWayClutch, PlanetarySet
from bellhousing.geartrain.solve import solve
from bellhousing.quantities.units import from_si, to_si
from bellhousing.road.calibration import calibrated
from bellhousing.road.cars import Cars, middle_car
from bellhousing.road.shown import vehicle
from bellhousing.road.steady import Steady, ValveSteady, steady
from bellhousing.road.vehicle import Vehicle
from bellhousing.tasks.broken import Broken, afflicted
from bellhousing.tasks.evening_shapes import (
    Block,
    EveningAnswer,
    EveningBox,
    EveningBreak,
    EveningFloor,
    EveningGear,
    EveningNode,
    EveningNotShown,
    EveningSet,
    EveningValve,
    Plane,
    Row,
    Speeds,
)
from bellhousing.tasks.shipped import shipped_catalogue
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.shop_boxes import own_boxes

FloatArray = NDArray[np.float64]

ALWAYS = ("box-a", "box-b", "three-speed-vacuum", "four-speed-linkage")
TRAVELS, SPEEDS, FASTEST = 33, 41, 100.0
"""Points of the grid over pedal travel and over road speed, and the highest road speed [mph]."""

MOST_BROKEN = 6


def boxes(shop: Shop) -> tuple[EveningBox, ...]:
    """Boxes that can be shown: those that come with the program, then the shop's own and its cars'."""
    return tuple(_named(box) for box in _boxes(shop).values() if _why_not(box) is None)


def not_shown(shop: Shop) -> tuple[EveningNotShown, ...]:
    """The shop's own boxes that cannot be shown, each with the reason."""
    found = [
        EveningNotShown(name=box.name, why=why)
        for box in _boxes(shop).values()
        if (why := _why_not(box)) is not None
    ]
    for name in own_boxes(shop):
        try:
            shop.box(name)
        except BellhousingError as error:
            found.append(EveningNotShown(name=name, why=str(error)))
    return tuple(found)


@lru_cache(maxsize=64)
def _why_not(box: Box) -> str | None:
    """What keeps a box from being shown, None if nothing; it is not fitted to its table, which takes time."""
    try:
        facts, train = CarFacts(), gear_train_of(box)
        middle_car(box)
        vehicle(box, facts.axle_ratio, facts.tyre_radius, facts.altitude)
        for lever, gear in CHART[box.kind]:
            if lever == "D":
                _gear(box, train, int(gear))
    except BellhousingError as error:
        return str(error)
    return None


def box_of(shop: Shop, slug: str) -> Box:
    """One of `boxes` by its slug.

    Raises
    ------
    BoxFileError : no such box.
    """
    known = _boxes(shop)
    if slug not in known:
        raise BoxFileError(f"there is no box '{slug}' to show", remedy=f"one of {', '.join(known)}")
    return known[slug]


def _boxes(shop: Shop) -> Mapping[str, Box]:
    found: dict[str, Box] = {}
    for name in (*ALWAYS, *own_boxes(shop), *(car.box for car in shop.store.cars())):
        try:
            box = shop.box(name)
        except BellhousingError:
            continue  # `not_shown` tells what is wrong with it, and so does its own job
        found.setdefault(box.slug, box)
    return found


def _named(box: Box) -> EveningBox:
    return EveningBox(slug=box.slug, name=box.name, kind=box.kind)


@cache
def _breaks() -> Mapping[str, Sequence[Mapping[str, Any]]]:
    from ruamel.yaml import YAML

    text = (resources.files("bellhousing.tasks") / "data" / "evening.yaml").read_text("utf-8")
    loaded: Mapping[str, Sequence[Mapping[str, Any]]] = YAML(typ="safe", pure=True).load(text)
    return loaded


def breaks(box: Box) -> tuple[EveningBreak, ...]:
    """What can be broken on a box, in the order it is offered."""
    faults = shipped_catalogue().of_family(box.kind).faults
    return tuple(
        EveningBreak(
            id=entry["id"],
            says=entry["says"],
            fault=entry["fault"],
            name=faults[entry["fault"]].name,
            mechanism=faults[entry["fault"]].mechanism,
            at=entry["at"],
            mark=entry["mark"],
        )
        for entry in _breaks()[box.kind]
        if faults[entry["fault"]].part not in box.missing_parts
    )


def broken_of(box: Box, ids: Iterable[str]) -> tuple[Broken, ...]:
    """Faults, and the way each takes, of things to break.

    Raises
    ------
    FindingError : nothing of that name can be broken on this box, or too much at once.
    """
    known = {entry["id"]: entry for entry in _breaks()[box.kind]}
    wanted = tuple(dict.fromkeys(ids))
    if len(wanted) > MOST_BROKEN:
        raise FindingError("this is too much broken at once", remedy=f"at most {MOST_BROKEN} things")
    for name in wanted:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            raise FindingError(
                f"'{name}' cannot be broken on this box",
                remedy=f"did you mean '{near[0]}'?" if near else f"one of {', '.join(known)}",
            )
    return tuple((known[name]["fault"], known[name].get("way")) for name in wanted)


def one_car(box: Box, broken: Sequence[str], severity: float) -> tuple[Box, Cars, Vehicle]:
    """The middling car of a box with things broken, its box calibrated, in a car of usual axle and tyre.

    Raises
    ------
    BoxFileError : a number or tooth count that neither the box nor its family gives.
    FindingError : something that cannot be broken.
    QuantityError : a severity that is not from 0 to 1.
    """
    if not 0.0 <= severity <= 1.0:
        raise QuantityError(f"a severity of {severity:g}", remedy="from 0, mild, to 1, severe")
    ready, car = _ready(box)
    return ready, afflicted(ready, middle_car(ready), car, broken_of(box, broken), severity), car


@lru_cache(maxsize=8)
def _ready(box: Box) -> tuple[Box, Vehicle]:
    ready, facts = calibrated(box), CarFacts()
    return ready, vehicle(ready, facts.axle_ratio, facts.tyre_radius, facts.altitude)


def evening(
    box: Box, broken: Sequence[str] = (), *, severity: float = 0.5, unit: str = "mph"
) -> EveningAnswer:
    """The valve body of one car over throttle and speed; raises as `one_car`."""
    ready, cars, car = one_car(box, broken, severity)
    travel = np.linspace(0.0, 1.0, TRAVELS)
    mph = np.linspace(0.0, FASTEST, SPEEDS)
    found = steady(cars, car, travel, mph)
    train = gear_train_of(ready)
    speed = _speeds(to_si(mph, "mph"), unit)
    per_unit = float(to_si(1.0, unit)) * car.axle_ratio / car.tyre_radius
    return EveningAnswer(
        box=_named(box),
        unit=unit,
        broken=tuple(broken),
        severity=severity,
        travel=_row(travel, 5),
        speed=tuple(value or 0.0 for value in speed),
        line=_block(_psi(found.line)),
        spilled=_block(found.spilled, 3),
        signal=_plane(_psi(found.signal)),
        opened=_plane(np.clip(found.signal / found.signal_full, 0.0, 1.0), 3),
        governor={name: _block(_psi(pressure)) for name, pressure in found.governor.items()},
        weights={name: _row(swung, 3) for name, swung in found.weights.items()},
        vacuum=_row(np.asarray(from_si(found.vacuum, "inHg"), dtype=np.float64)),
        felt=_row(np.asarray(from_si(found.felt, "inHg"), dtype=np.float64)),
        engine=_block(np.asarray(from_si(found.engine, "rpm"), dtype=np.float64), 0),
        valves=_valves(found, ready.kind, unit),
        turns=float(from_si(per_unit, "rpm")),
        gears=tuple(_gear(ready, train, number) for number in range(1, len(found.line) + 1)),
        sets=tuple(_set(one) for one in train.sets if isinstance(one, PlanetarySet)),
        input=train.input,
        output=train.output,
    )


def _valves(found: Steady, kind: str, unit: str) -> tuple[EveningValve, ...]:
    shown = []
    before = np.zeros(len(found.travel))
    for shift, valve in found.valves.items():
        before = np.maximum(before, valve.up_speed)
        shown.append(_valve(shift, valve, before, kind, unit))
    return tuple(shown)


def _valve(shift: str, valve: ValveSteady, map_up: FloatArray, kind: str, unit: str) -> EveningValve:
    up_needs, down_needs, up, down = valve.floor
    pushed = ("first",) if shift == "1-2" else ("first", "second")
    return EveningValve(
        shift=shift,
        pushed_by=pushed if kind == FOUR_SPEED else ("governor",),
        up_needs=_row(_psi(valve.up_needs)),
        down_needs=_row(_psi(valve.down_needs)),
        up=_speeds(valve.up_speed, unit),
        down=_speeds(valve.down_speed, unit),
        map_up=_speeds(map_up, unit),
        floor=EveningFloor(
            up_needs=_row(_psi(np.array([up_needs])))[0],
            down_needs=_row(_psi(np.array([down_needs])))[0],
            up=_speeds(np.array([up]), unit)[0],
            down=_speeds(np.array([down]), unit)[0],
        ),
        stuck=valve.stuck,
    )


def _gear(box: Box, train: GearTrain, number: int) -> EveningGear:
    applied = applied_elements(box, "D", str(number))
    state = solve(train, applied)
    held = (*(name for name in applied if abs(state.torques.get(name, 0.0)) > 1e-9), *state.holding)
    still = {
        element.member
        for element in (train.element(name) for name in (*applied, *state.holding))
        if isinstance(element, Brake) or (isinstance(element, OneWayClutch) and element.to == "case")
    }
    return EveningGear(
        gear=number,
        ratio=state.ratio,
        speeds={member: round(turns * state.ratio, 6) + 0.0 for member, turns in state.speeds.items()},
        free=state.undetermined,
        holding=tuple(part_in_words(name) for name in held),
        still=tuple(member for member in train.members if member in still),
    )


def _set(one: PlanetarySet) -> EveningSet:
    """A set as a straight lever: the carrier stands where the speed equation's straight line puts it."""
    toward = one.sun_teeth if one.double_pinion else -one.sun_teeth
    carrier = one.ring_teeth / (one.ring_teeth - toward)
    return EveningSet(
        name=one.name,
        nodes=(
            EveningNode(member=one.sun, role="sun", place=0.0),
            EveningNode(member=one.carrier, role="carrier", place=round(carrier, 5)),
            EveningNode(member=one.ring, role="ring", place=1.0),
        ),
    )


def _psi(pressure: FloatArray) -> FloatArray:
    return np.asarray(from_si(pressure, "psi"), dtype=np.float64)


def _row(values: FloatArray, digits: int = 1) -> Row:
    return tuple(round(float(value), digits) + 0.0 for value in values)


def _plane(values: FloatArray, digits: int = 1) -> Plane:
    return tuple(_row(row, digits) for row in values)


def _block(values: FloatArray, digits: int = 1) -> Block:
    return tuple(_plane(plane, digits) for plane in values)


def _speeds(speed: object, unit: str) -> Speeds:
    shown = np.atleast_1d(np.asarray(from_si(np.asarray(speed, dtype=np.float64), unit), dtype=np.float64))
    return tuple(round(float(value), 2) if math.isfinite(value) else None for value in shown)
