"""Commands to the clutches: the lever's and the shift valves', each at its moment within a step."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.applying import DIRECT, FORWARD, INTERMEDIATE, LONGEST, Applying
from bellhousing.road.drive.valves import RANGE_ORDER

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

HAND = 0.1
"""Time of the lever and the manual valve before fluid moves [s]; common practice, no source."""

DRIVE, SECOND, LOW, REVERSE = (RANGE_ORDER.index(name) for name in ("D", "second", "low", "R"))
FORWARD_RANGES = np.isin(np.arange(len(RANGE_ORDER)), (DRIVE, SECOND, LOW))
"""Whether each range is one to drive forwards in."""


@dataclass
class Commands:
    """What is commanded on every car, (n,); changed in place.

    Parameters
    ----------
    lever : code of the range the lever stands in
    gear : gear commanded, 0 where none
    up : which shift valves stand up, (valves, n)
    above_up, below_down : governor less threshold when last looked at, (valves, n) [Pa]
    looked : when that was [s]
    made : cars, moment [s], from gear, to gear of every command so far
    """

    lever: IntArray
    gear: IntArray
    up: BoolArray
    above_up: FloatArray
    below_down: FloatArray
    looked: float
    made: list[tuple[IntArray, FloatArray, IntArray, IntArray]] = field(default_factory=list)


def commands_at(gear: int, lever: IntArray, stuck: FloatArray) -> Commands:
    """Commands at the start of a drive in a gear; valves `stuck` (valves, n) down (-1) or up (+1) stay so."""
    up = np.broadcast_to((gear >= 2 + np.arange(len(stuck)))[:, None], stuck.shape)
    return Commands(
        lever=lever,
        gear=np.full(len(lever), gear, dtype=np.intp),
        up=np.where(stuck > 0.5, True, np.where(stuck < -0.5, False, up)),
        above_up=np.full(stuck.shape, -1.0),
        below_down=np.full(stuck.shape, -1.0),
        looked=0.0,
    )


Times = Callable[[int, BoolArray, bool], tuple[FloatArray, FloatArray]]


class ShiftValves(Protocol):
    """What moves shift valves."""

    def thresholds(self, load: FloatArray, floor: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Governor pressure above which each valve goes up and below which it comes down."""


def look(
    commands: Commands,
    body: ShiftValves,
    governors: tuple[FloatArray, FloatArray],
    load: FloatArray,
    floor: tuple[FloatArray, FloatArray],
    time: float,
) -> tuple[BoolArray, FloatArray]:
    """See whether shift valves have moved; returns the cars on which one did, and when [s].

    The moment of a move lies where governor less threshold passed nought between two looks, on a straight
    line between them; where the pedal has come onto its stop between them, at that moment. `governors`: their
    pressure as the car gathers and as it loses speed, (n,) or (valves, n) [Pa]; `load` is the vacuum felt
    [Pa] or the travel of the linkage [-]; `floor`: 1 where it is on its stop, and since when [s].
    """
    up, down = body.thresholds(load, floor[0])
    above, below = governors[0] - up, down - governors[1]
    now = np.where(commands.up, below, above)
    moves = now > 0.0
    moved = np.asarray(np.logical_or.reduce(moves))
    moment: FloatArray = np.full(moved.shape, time)
    if np.count_nonzero(moved):
        was = np.where(commands.up, commands.below_down, commands.above_up)
        with np.errstate(invalid="ignore", divide="ignore"):
            share = np.where(moves & (was < 0.0), now / (now - was), 0.0)
        share = np.nan_to_num(share)
        moment = time - (time - commands.looked) * np.where(moves, share, 0.0).max(axis=0)
        kicked = moved & (floor[0] > 0.0) & (floor[1] > commands.looked)
        moment = np.where(kicked, floor[1], moment)
        commands.up = commands.up ^ moves
    commands.above_up, commands.below_down, commands.looked = above, below, time
    return moved, moment


def command(
    commands: Commands,
    applying: Applying,
    changed: BoolArray,
    moment: FloatArray,
    time: float,
    times: Times,
    *,
    lets_go: bool = False,
) -> None:
    """Bring the clutches of the changed cars to what lever and valves now ask.

    `lets_go`: what makes second gear lets go in third, as the direct clutch, once full, pushes it off; that
    it is pushed off at that moment is common practice, no source.
    """
    lever, up = commands.lever, commands.up
    forward = FORWARD_RANGES[lever]
    second = up[0] & (lever != LOW) & forward
    third = second & up[1] & (lever == DRIVE)
    gear = np.where(lever == REVERSE, -1, np.where(forward, 1 + second.astype(np.intp) + third, 0))
    stays = second & ~third if lets_go else second
    wanted = {FORWARD: forward, INTERMEDIATE: stays, DIRECT: third | (lever == REVERSE)}
    level = applying.level(time)
    for element, on in wanted.items():
        off = changed & applying.on[element] & ~on
        if off.any():
            pushed = off & third if lets_go and element == INTERMEDIATE else off & False
            when = moment
            if pushed.any():
                when = moment + np.minimum(times(DIRECT, pushed, False)[0], LONGEST)
            applying.let_go(element, off, when, level)
        coming = changed & ~applying.on[element] & on
        if element == DIRECT:
            back = coming & (lever == REVERSE)
            if back.any():
                applying.bring_on(element, back, moment, *times(element, back, True))
                applying.plateau[element, back] = 1.0
            coming = coming & ~back
        if coming.any():
            applying.bring_on(element, coming, moment, *times(element, coming, False))
    other = changed & (gear != commands.gear)
    if other.any():
        rows = np.flatnonzero(other)
        commands.made.append((rows, moment[rows], commands.gear[rows], gear[rows]))
    commands.gear = np.where(changed, gear, commands.gear)
