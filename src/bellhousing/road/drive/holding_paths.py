"""Which path of each car sticks, which slips and to which side: checked at every step."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.mechanics import Mechanics, Push, Rates, State

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


def slip_torques(
    mechanics: Mechanics, side: FloatArray, driving: FloatArray, overrun: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What the slipping paths take from the turbine and give to the output, (n,) [N m].

    `driving` and `overrun` are what each path bears either way, (..., 4, n), neither negative; `side` as in
    `State`.
    """
    torque = np.where(side > 0.0, driving, overrun)
    torque *= side
    given = torque * (mechanics.paths.ratio * mechanics.paths.passed(side < 0.0))
    return np.add.reduce(torque, axis=-2), np.add.reduce(given, axis=-2)


def carried(mechanics: Mechanics, push: Push, rates: Rates) -> FloatArray:
    """Torque of the path that sticks, t = T_t - taken - I_t r w_o', (n,) [N m]; nought where none does."""
    found = mechanics.masses.turbine * rates.turbine
    np.subtract(rates.turbine_torque, found, out=found)
    if push.slips:
        found -= push.taken[0]
    return found


def let_slip(state: State, needed: FloatArray, driving: FloatArray, overrun: FloatArray) -> bool:
    """Free the paths whose torque is beyond what they hold, (n,) each; returns whether one was freed.

    `driving` and `overrun` are what the sticking paths hold, infinite where none sticks.
    """
    over = needed > driving
    freed = needed < -overrun
    freed |= over
    (rows,) = freed.nonzero()
    if not rows.size:
        return False
    state.side[state.stuck[rows], rows] = np.where(over[rows], 1.0, -1.0)
    state.stuck[rows] = -1
    return True


def meet(mechanics: Mechanics, state: State, push: Push, bears: Callable[[], FloatArray]) -> bool:
    """Where a path's slip has changed sign, let it stick if it can hold, else slip the other way.

    `bears` gives what the paths bear, as in `slip_torques`, in eight rows. Returns whether any sticks now.

    Sticking keeps J w_o + a I_t w_t of turbine and car, as the path's own torque does, a its torque ratio.
    """
    slip = mechanics.paths.ratio * state.output
    np.subtract(state.turbine, slip, out=slip)
    slip *= state.side
    crossed = slip < 0.0
    if not np.count_nonzero(crossed):
        return False
    borne = bears()
    driving, overrun = borne[:4], borne[4:]
    rows = np.flatnonzero(crossed.any(axis=0))
    able = np.where(crossed[:, rows], driving[:, rows] + overrun[:, rows], -1.0)
    path = able.argmax(axis=0)
    free = state.stuck[rows] < 0
    side = state.side[:, rows]
    side[path, np.arange(len(rows))] = 0.0
    taken, given = slip_torques(mechanics, side, driving[:, rows], overrun[:, rows])
    ratio = mechanics.paths.ratio[path, 0]
    inertia = mechanics.masses.turbine[rows]
    car = mechanics.masses.car[rows]
    held = push.held[rows]
    _, turbine_torque = mechanics.converter.torques(state.engine, state.turbine)
    left = turbine_torque[rows] - taken
    road = given - mechanics.road.load(state.output, push.constant, push.slope)[rows]
    # The meshes lose a little either way; which way the power goes follows without them.
    back = left * car < inertia * ratio * road
    acts = ratio * mechanics.paths.passed(back)[path, np.arange(len(rows))]
    output_rate = np.where(held, 0.0, (acts * left + road) / (car + acts * ratio * inertia))
    needed = left - inertia * ratio * output_rate
    holds = free & (needed <= driving[path, rows]) & (needed >= -overrun[path, rows])
    # Every path that has crossed slips the other way, but for the one that holds.
    state.side[crossed] *= -1.0
    stick = rows[holds]
    state.side[path[holds], stick] = 0.0
    state.stuck[stick] = path[holds]
    state.back[stick] = back[holds]
    r, a, i, j = ratio[holds], acts[holds], inertia[holds], car[holds]
    shared = (j * state.output[stick] + a * i * state.turbine[stick]) / (j + a * r * i)
    state.output[stick] = np.where(held[holds], state.output[stick], shared)
    state.turbine[stick] = r * state.output[stick]
    return bool(stick.size)
