"""From a box's gear train to the one the gear-train room solves, and whether its apply chart drives."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bellhousing.boxes.box import Box
from bellhousing.boxes.train import Problem, has_teeth
from bellhousing.errors import BoxFileError, GearTrainError
from bellhousing.geartrain.data import train_from_data
from bellhousing.geartrain.layout import GearTrain
from bellhousing.geartrain.solve import solve


def gear_train_of(box: Box) -> GearTrain:
    """Return a box's gear train, ready to be solved.

    Raises
    ------
    BoxFileError : neither the file nor its family has the tooth counts
    """
    if box.gear_train is None or not has_teeth(box.gear_train):
        raise BoxFileError(
            f"the tooth counts of {box.name} are not known",
            where="gear_train.sets",
            remedy="count the teeth of sun and ring and type them into the box file",
        )
    return train_from_data(box.gear_train)


def applied_elements(box: Box, lever: str, gear: str) -> tuple[str, ...]:
    """Return what the hydraulics apply with the lever in `lever` and the box in `gear`.

    Raises
    ------
    BoxFileError : the apply chart has no such range or gear
    """
    ranges: Mapping[str, Mapping[str, tuple[str, ...]]] = (
        {} if box.gear_train is None else box.gear_train["ranges"]
    )
    gears = ranges.get(lever)
    if gears is None:
        known = ", ".join(ranges) or "none"
        raise BoxFileError(
            f"{box.name} has no range {lever!r}", where="gear_train.ranges", remedy=f"known: {known}"
        )
    applied = gears.get(gear)
    if applied is None:
        known = ", ".join(gears) or "none"
        where = f"gear_train.ranges.{lever}"
        raise BoxFileError(
            f"range {lever} of {box.name} has no gear {gear!r}", where=where, remedy=f"known: {known}"
        )
    return applied


def gear_ratios(box: Box) -> tuple[tuple[str, float], ...]:
    """Return the gears of D and R with their ratios, input over output speed; none without the teeth."""
    if box.gear_train is None or not has_teeth(box.gear_train):
        return ()
    train = train_from_data(box.gear_train)
    ranges = box.gear_train["ranges"]
    found = [(gear, applied) for lever in ("D", "R") for gear, applied in ranges.get(lever, {}).items()]
    return tuple((gear, solve(train, applied).ratio) for gear, applied in found if applied)


def apply_chart(box: Box) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the gears of D and R with what is applied in each; none where the box file has no chart."""
    ranges: Mapping[str, Mapping[str, tuple[str, ...]]] = (
        {} if box.gear_train is None else box.gear_train["ranges"]
    )
    found = (pair for lever in ("D", "R") for pair in ranges.get(lever, {}).items())
    return tuple((gear, applied) for gear, applied in found if applied)


def chart_problems(data: Mapping[str, Any]) -> list[Problem]:
    """Return which gears of an apply chart drive nothing or tie up, each with its path below `gear_train`."""
    try:
        train = train_from_data(data)
    except GearTrainError as error:
        return [((), str(error))]
    found: list[Problem] = []
    for lever, gears in data["ranges"].items():
        for gear, applied in gears.items():
            if not applied:
                continue
            try:
                solve(train, applied)
            except GearTrainError as error:
                found.append((("ranges", lever, gear), f"this gear does not drive: {error}"))
    return found
