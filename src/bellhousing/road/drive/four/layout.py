"""A four-speed's gear train as the drive needs it: what slips where, and what its meshes let through."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.errors import BoxFileError
from bellhousing.geartrain.layout import CASE, GearTrain
from bellhousing.geartrain.losses import solve_with_losses
from bellhousing.geartrain.solve import solve
from bellhousing.road.holding import FOUR_SPEED_GEARS

FloatArray = NDArray[np.float64]

ENGINE, CARRIER, TURBINE, OUTPUT = range(4)
"""What weighs something and so has a speed of its own: engine with the front unit's input, the coupling's
input with the front unit's output, the coupling's turbine with the rear unit's input, the car."""

SPEED_COUNT = 4


@dataclass(frozen=True)
class Layout:
    """Elements of a four-speed between its four speeds.

    Every other member is light, so its speed follows from the planetary sets: the slip of an element is a
    row of numbers times the four speeds, and its torque acts on them by the same row.

    Parameters
    ----------
    names : of the elements but the coupling, those of the front unit first
    rows : slip of each element per unit of each speed, (elements, 4) [-]
    fronts : how many elements belong to the front unit
    driven : the speed behind each element's unit, (elements,)
    driving, overrun : share of its power that an element's unit passes on to `driven`, and back [-]
    energised : sign of each element's torque against its slip while the engine drives [-]
    gears : places of the elements that each gear applies
    """

    names: tuple[str, ...]
    rows: FloatArray
    fronts: int
    driven: NDArray[np.intp]
    driving: FloatArray
    overrun: FloatArray
    energised: FloatArray
    gears: Mapping[str, tuple[int, ...]]


def layout_of(box: Box, mesh_efficiency: float) -> Layout:
    """Solve the box's planetary sets for the slip of every element.

    `mesh_efficiency` is that of a planetary set with its carrier held [-]. In a gear without relative
    turning a unit loses nothing; what rolls in the rear set while the coupling slips in the upper gears is
    not counted, as it turns slowly.

    Raises
    ------
    BoxFileError : a gear train that is not two units with a coupling between them
    """
    train = gear_train_of(box)
    driving, driven = _coupling(box)
    of_members = _members(box, train, (train.input, driving, driven, train.output))
    held = [one for one in train.elements if {*one.ends} != {driving, driven}]
    rows = {one.name: of_members[one.ends[0]] - of_members[one.ends[1]] for one in held}
    front = [name for name, row in rows.items() if not row[[TURBINE, OUTPUT]].any()]
    rear = [name for name in rows if name not in front]
    names = (*front, *rear)
    gears = {
        gear: tuple(names.index(n) for n in applied_elements(box, *where) if n in names)
        for gear, where in FOUR_SPEED_GEARS.items()
    }
    sets = tuple(one.name for one in train.sets if _in_front([m for m, _ in one.coefficients], of_members))
    passed = np.array([_passes(box, train, name, name in front, sets, mesh_efficiency) for name in names])
    return Layout(
        names=tuple(name.replace("-", "_") for name in names),
        rows=np.array([rows[name] for name in names]),
        fronts=len(front),
        driven=np.array([CARRIER] * len(front) + [OUTPUT] * len(rear)),
        driving=passed[:, 0],
        overrun=passed[:, 1],
        energised=passed[:, 2],
        gears=gears,
    )


def _coupling(box: Box) -> tuple[str, str]:
    """Driving and driven end of the fluid coupling."""
    assert box.gear_train is not None
    for one in box.gear_train["elements"]:
        if one["kind"] == "coupling":
            driving, driven = one["joins"]
            return driving, driven
    raise BoxFileError(
        "a four-speed is driven through a fluid coupling", where=box.name, remedy="name it in the gear train"
    )


def _members(box: Box, train: GearTrain, moving: tuple[str, ...]) -> dict[str, FloatArray]:
    """Speed of every member per unit of each of the four speeds, from the rows of the planetary sets."""
    others = [member for member in train.members if member not in moving]
    left = np.zeros((len(train.sets), len(others)))
    right = np.zeros((len(train.sets), SPEED_COUNT))
    for row, one in enumerate(train.sets):
        for member, coefficient in one.coefficients:
            if member in moving:
                right[row, moving.index(member)] -= coefficient
            elif member != CASE:
                left[row, others.index(member)] += coefficient
    if (
        len(set(moving)) < SPEED_COUNT
        or np.linalg.matrix_rank(left) < len(train.sets)
        or len(others) != len(train.sets)
    ):
        raise BoxFileError(
            "the drive needs two units in series with the coupling between them", where=box.name
        )
    found = dict(zip(others, np.linalg.solve(left, right), strict=True))
    return found | dict(zip(moving, np.eye(SPEED_COUNT), strict=True)) | {CASE: np.zeros(SPEED_COUNT)}


def _in_front(members: list[str], of_members: Mapping[str, FloatArray]) -> bool:
    return not any(of_members[member][[TURBINE, OUTPUT]].any() for member in members)


def _passes(
    box: Box, train: GearTrain, name: str, in_front: bool, front_sets: tuple[str, ...], efficiency: float
) -> tuple[float, float, float]:
    """Share of power an element's unit passes on when driving and on the overrun, and its torque's sign.

    Losses of the whole train are split: the unit that meets the power first loses its own share of it, the
    other one the rest.
    """
    gear = next(gear for gear in FOUR_SPEED_GEARS.values() if name in applied_elements(box, *gear))
    applied = applied_elements(box, *gear)
    forward = solve_with_losses(train, applied, efficiency)
    back = solve_with_losses(train, applied, efficiency, drive=-1)
    front = 1.0 - sum(forward.set_losses[one] for one in front_sets)
    rear_back = 1.0 - sum(lost for one, lost in back.set_losses.items() if one not in front_sets)
    sign = -float(np.sign(solve(train, applied).torques[name]))
    if in_front:
        return front, back.efficiency / rear_back, sign
    return forward.efficiency / front, rear_back, sign
