"""Which elements of each car stick, which slip and to which side: checked at every step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.four.mechanics import Acting, Bound, Mechanics, State, times

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


def sticks(state: State) -> BoolArray:
    """Whether each element sticks, (elements, n)."""
    numbers = np.arange(len(state.side))[:, None]
    return np.asarray((numbers == state.stuck[0]) | (numbers == state.stuck[1]))


def slipping_torque(state: State, bears: FloatArray) -> FloatArray:
    """Torque of the elements that slip, against their slip, (..., elements, n) [N m].

    `bears` is what each bears against slip forwards and backwards, (..., 2, elements, n), never negative.
    """
    way = np.where(sticks(state), 0.0, state.side)
    return np.asarray(np.where(way > 0.0, bears[..., 0, :, :], bears[..., 1, :, :]) * way)


def carried(bound: Bound, torque: FloatArray, state: State) -> FloatArray:
    """Torque of the sticking elements under torques on the speeds, (4, n) to (elements, n) [N m]."""
    found = np.zeros_like(state.side)
    for unit, borne in enumerate(times(bound.carried, torque)):
        rows = np.flatnonzero(state.stuck[unit] >= 0)
        found[state.stuck[unit, rows], rows] = borne[rows]
    return found


def let_slip(state: State, borne: FloatArray, bears: FloatArray) -> BoolArray:
    """Free the elements that carry more than they bear, (2, elements, n); returns the cars with one freed."""
    over, under = borne > bears[0], borne < -bears[1]
    freed = over | under
    if not freed.any():
        return np.zeros(borne.shape[1], dtype=bool)
    state.side = np.where(over, 1.0, np.where(under, -1.0, state.side))
    for unit in (0, 1):
        rows = np.flatnonzero(state.stuck[unit] >= 0)
        gone = rows[freed[state.stuck[unit, rows], rows]]
        state.stuck[unit, gone] = -1
    return np.asarray(freed.any(axis=0))


def meet(mechanics: Mechanics, state: State, acting: Acting, bears: FloatArray, held: BoolArray) -> BoolArray:
    """Where an element's slip has changed sign, let it stick if it can hold, else slip the other way.

    Sticking moves the speeds by the element's own impulse. Of one unit only one element sticks: a second one
    goes on slipping against it. Returns the cars on which something changed.
    """
    slip = mechanics.slips(state.speeds)
    crossed = (slip * state.side < 0.0) & ~sticks(state)
    if not crossed.any():
        return np.zeros(slip.shape[1], dtype=bool)
    state.side = np.where(crossed, -state.side, state.side)
    fronts = mechanics.layout.fronts
    for unit, part in ((0, slice(0, fronts)), (1, slice(fronts, None))):
        there = crossed[part] & (state.stuck[unit] < 0)
        rows = np.flatnonzero(there.any(axis=0))
        if rows.size:
            able = np.where(there[:, rows], bears[:, part, rows].sum(axis=0), -1.0)
            element = able.argmax(axis=0) + (fronts if unit else 0)
            _try(mechanics, state, acting, bears, held, unit, rows, element)
    return np.asarray(crossed.any(axis=0))


def _try(
    mechanics: Mechanics,
    state: State,
    acting: Acting,
    bears: FloatArray,
    held: BoolArray,
    unit: int,
    rows: IntArray,
    element: IntArray,
) -> None:
    """Let elements of one unit stick on some cars, and take that back where they could not hold."""
    before = state.stuck[unit, rows].copy()
    state.stuck[unit, rows] = element
    bound = mechanics.bound(state, held)
    torque = mechanics.torques(state.speeds, acting, 2)[0]
    torque -= acting.slipping[2]
    torque += mechanics.on_speeds(slipping_torque(state, bears), mechanics.passed(state.back))
    borne = carried(bound, torque, state)[element, rows]
    holds = (borne <= bears[0, element, rows]) & (borne >= -bears[1, element, rows])
    state.stuck[unit, rows[~holds]] = before[~holds]
    good = rows[holds]
    if good.size:
        moved = times(bound.keeps[..., good], state.speeds[:, good])
        state.speeds[:, good] = moved
