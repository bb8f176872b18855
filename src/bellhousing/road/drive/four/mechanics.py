"""Engine, front unit, coupling, rear unit and car as one system with elements that stick or slip."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.engine_map import EngineMap
from bellhousing.road.drive.four.layout import CARRIER, ENGINE, OUTPUT, SPEED_COUNT, TURBINE, Layout
from bellhousing.road.drive.mechanics import Converter
from bellhousing.road.drive.road_load import RoadOnShaft

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

NO_TORQUE: FloatArray = np.zeros((3, SPEED_COUNT, 1))


@dataclass
class State:
    """What moves on every car and what holds how; changed in place.

    Parameters
    ----------
    speeds : of engine, coupling input, turbine and output, (4, n) [rad/s]
    stuck : the element that sticks in the front and in the rear unit, -1 = none, (2, n)
    side : +1 or -1 as an element slips, (elements, n); of one that sticks, the side it last slipped to
    back : whether power last came from behind an element's unit, (elements, n)
    """

    speeds: FloatArray
    stuck: IntArray
    side: FloatArray
    back: BoolArray


@dataclass(frozen=True)
class Acting:
    """What acts during a step, at its start, middle and end.

    Parameters
    ----------
    area, least : throttle area [rad/s] and least manifold share [-], (n,) each
    slipping : torque of the slipping elements on the four speeds, (3, 4, n) [N m]
    constant, slope : of rolling and brakes, and of the grade, (n,) [N m]
    """

    area: tuple[FloatArray, FloatArray, FloatArray]
    least: tuple[FloatArray, FloatArray, FloatArray]
    slipping: FloatArray
    constant: FloatArray
    slope: FloatArray


@dataclass(frozen=True)
class Bound:
    """How the four speeds answer to torques while some elements stick.

    Parameters
    ----------
    answer : accelerations per torque on each speed, (4, 4, n) [1/(kg m²)]
    carried : torque of the sticking element of each unit per torque on each speed, (2, 4, n) [-]
    keeps : what is left of the speeds as an element begins to stick, (4, 4, n) [-]
    """

    answer: FloatArray
    carried: FloatArray
    keeps: FloatArray

    def of(self, rows: IntArray) -> Bound:
        """That of some cars."""
        return Bound(self.answer[..., rows], self.carried[..., rows], self.keeps[..., rows])


def times(matrices: FloatArray, vectors: FloatArray) -> FloatArray:
    """Products of a matrix and a vector for every car, (i, j, n) and (j, n) to (i, n)."""
    return np.asarray(np.einsum("ijn,jn->in", matrices, vectors))


@dataclass
class Mechanics:
    """All that does not change during a drive; `inertia` is of the four speeds, (4, n) [kg m²]."""

    engines: EngineMap
    coupling: Converter
    layout: Layout
    inertia: FloatArray
    road: RoadOnShaft
    _bound: dict[tuple[int, int, int, int, int], Bound] = field(default_factory=dict)

    def slips(self, speeds: FloatArray) -> FloatArray:
        """Slip of every element, (elements, n) [rad/s]."""
        return np.asarray(self.layout.rows @ speeds)

    def passed(self, back: BoolArray) -> FloatArray:
        """What meshes leave of an element's torque on the speed behind its unit, (elements, n) [-]."""
        layout = self.layout
        return np.where(back, (1.0 / layout.overrun)[:, None], layout.driving[:, None])

    def on_speeds(self, torque: FloatArray, passed: FloatArray) -> FloatArray:
        """Torques that elements with torques against their slip put on the four speeds, (..., 4, n) [N m].

        Dual of the slip's rows, -rowsᵀ · torque, but for the share `passed` behind each element's unit.
        """
        layout = self.layout
        found = -np.matmul(layout.rows.T, torque)
        lost = torque * (1.0 - passed)
        for speed, part in ((CARRIER, slice(0, layout.fronts)), (OUTPUT, slice(layout.fronts, None))):
            row = layout.rows[part, speed]
            found[..., speed, :] += np.einsum("k,...kn->...n", row, lost[..., part, :])
        return np.asarray(found)

    def mesh_loss(self, torque: FloatArray, speeds: FloatArray, passed: FloatArray) -> FloatArray:
        """Power that the meshes turn into heat, (n,) [W]."""
        ideal = -self.layout.rows[np.arange(len(torque)), self.layout.driven][:, None] * torque
        return np.asarray((ideal * speeds[self.layout.driven] * (1.0 - passed)).sum(axis=0))

    def comes_back(self, torque: FloatArray, speeds: FloatArray) -> BoolArray:
        """Where power comes from behind an element's unit, (elements, n)."""
        row = self.layout.rows[np.arange(len(torque)), self.layout.driven][:, None]
        return np.asarray(row * torque * speeds[self.layout.driven] > 0.0)

    def torques(
        self, speeds: FloatArray, acting: Acting, at: int
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Torque on each speed but that of sticking elements, (4, n); engine's, coupling's, road's [N m]."""
        share = self.engines.share(speeds[ENGINE], acting.area[at], acting.least[at])
        engine = self.engines.torque(speeds[ENGINE], share)
        fluid, _ = self.coupling.torques(speeds[CARRIER], speeds[TURBINE])
        load = self.road.load(speeds[OUTPUT], acting.constant, acting.slope)
        found = np.empty_like(speeds)
        found[ENGINE], found[CARRIER], found[TURBINE], found[OUTPUT] = engine, -fluid, fluid, -load
        found += acting.slipping[at]
        return found, engine, fluid, load

    def step(
        self, speeds: FloatArray, acting: Acting, bound: Bound, first: FloatArray, h: float
    ) -> FloatArray:
        """Speeds one step of `h` [s] on by the classical Runge-Kutta method; `first` = rates now."""

        def rate(there: FloatArray, at: int) -> FloatArray:
            return times(bound.answer, self.torques(there, acting, at)[0])

        second = rate(speeds + 0.5 * h * first, 1)
        third = rate(speeds + 0.5 * h * second, 1)
        fourth = rate(speeds + h * third, 2)
        return np.asarray(speeds + (h / 6.0) * (first + 2.0 * (second + third) + fourth))

    def bound(self, state: State, held: BoolArray) -> Bound:
        """How each car answers with what sticks on it; `held`: whether it cannot move."""
        mode = self._mode(state, held)
        count = len(held)
        first = mode[:, 0]
        if (mode == first[:, None]).all():
            return self._bound_in(tuple(first.tolist()))
        kinds, which = np.unique(mode, axis=1, return_inverse=True)
        which = which.reshape(-1)
        answer, carried = np.empty((4, 4, count)), np.empty((2, 4, count))
        keeps = np.empty((4, 4, count))
        for number in range(kinds.shape[1]):
            rows = np.flatnonzero(which == number)
            one = self._bound_in(tuple(kinds[:, number].tolist())).of(rows)
            answer[..., rows], carried[..., rows], keeps[..., rows] = one.answer, one.carried, one.keeps
        return Bound(answer, carried, keeps)

    def _mode(self, state: State, held: BoolArray) -> IntArray:
        """What sticks in front and rear, whether power comes back through each, and `held`, (5, n)."""
        cars = np.arange(len(held))
        back = [
            (state.stuck[unit] >= 0) & state.back[np.maximum(state.stuck[unit], 0), cars] for unit in (0, 1)
        ]
        return np.stack([*state.stuck, *(one.astype(np.intp) for one in back), held.astype(np.intp)])

    def _bound_in(self, mode: tuple[int, ...]) -> Bound:
        front, rear, front_back, rear_back, held = mode
        key = (front, rear, front_back, rear_back, held)
        if key not in self._bound:
            self._bound[key] = self._solved(*key)
        return self._bound[key]

    def _solved(self, front: int, rear: int, front_back: int, rear_back: int, held: int) -> Bound:
        """With rows A of what sticks and torques -A'ᵀ t on the speeds, A x' = 0 gives t and x' of any Q.

        t = (A M⁻¹ A'ᵀ)⁻¹ A M⁻¹ Q; A' is A with the mesh losses on the speed behind each unit. The same
        impulse brings speeds that slip a little to where they stick.
        """
        light = 1.0 / self.inertia
        if held:
            light = light.copy()
            light[OUTPUT] = 0.0
        count = light.shape[1]
        sticks = [one for one in (front, rear) if one >= 0]
        inverse = np.zeros((count, 4, 4))
        inverse[:, np.arange(4), np.arange(4)] = light.T
        carried = np.zeros((2, 4, count))
        if not sticks:
            eye = np.repeat(np.eye(4)[..., None], count, axis=2)
            return Bound(np.ascontiguousarray(inverse.transpose(1, 2, 0)), carried, eye)
        rows = self.layout.rows[sticks]
        acts = rows.copy()
        for row, (element, back) in enumerate(
            (e, b) for e, b in ((front, front_back), (rear, rear_back)) if e >= 0
        ):
            share = 1.0 / self.layout.overrun[element] if back else self.layout.driving[element]
            acts[row, self.layout.driven[element]] *= share
        pushed = inverse @ acts.T
        solved = np.linalg.solve(rows @ pushed, np.broadcast_to(rows, (count, len(sticks), 4)))
        keeps = np.eye(4) - pushed @ solved
        bears = solved @ inverse
        for row, unit in enumerate(unit for unit, e in enumerate((front, rear)) if e >= 0):
            carried[unit] = bears[:, row].T
        return Bound(
            np.ascontiguousarray((keeps @ inverse).transpose(1, 2, 0)),
            carried,
            np.ascontiguousarray(keeps.transpose(1, 2, 0)),
        )
