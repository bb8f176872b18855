"""Speeds, torques and power of a gear train with given elements applied, from one linear system.

Each planetary set and each element that holds gives one row of a matrix ``A`` with ``A·w = 0`` for the
member speeds ``w``. The loss-free torques are the dual: ``Aᵀ·λ + T_in·e_in + T_out·e_out = 0``, where
``λ`` holds the torque of every element. A one-way clutch is a complementarity condition: it holds with
its torque one way, or runs free with its relative speed the other way.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import GearTrainError, Neutral, TiedUp
from bellhousing.geartrain.layout import CASE, Element, GearTrain, OneWayClutch
from bellhousing.geartrain.power import circulating_power

TOLERANCE = 1e-9
"""Speeds and torques per unit of input below this are taken as zero [-]."""

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class GearState:
    """What a gear train does with its applied elements; every figure is per unit input speed or torque.

    ratio : input speed over output speed; the output torque is ratio times the input torque [-]
    speeds : speed of every member whose speed is settled [-]
    undetermined : members free to turn at any speed
    torques : torque of each engaged element on its first end (member or `a`) [-]
    set_torques : torque of each planetary set on each of its members, by (set, member) [-]
    holding : one-way clutches that carry torque
    overrunning : one-way clutches that turn in their free direction
    power_flow : power from a member into a set or element, by (set or element, member), per unit
        input power; positive flows in [-]
    circulating_power : power that goes round closed loops, per unit input power [-]
    shared : elements whose share of the torque statics alone does not settle (the even share is given)
    """

    ratio: float
    speeds: Mapping[str, float]
    undetermined: tuple[str, ...]
    torques: Mapping[str, float]
    set_torques: Mapping[tuple[str, str], float]
    holding: tuple[str, ...]
    overrunning: tuple[str, ...]
    power_flow: Mapping[tuple[str, str], float]
    circulating_power: float
    shared: tuple[str, ...]

    def case_torque(self, *, efficiency: float = 1.0) -> float:
        """Torque of the case on the gear train per unit input torque [-].

        Formula: ``−(1 − η·ratio)`` with the overall efficiency ``η`` [-]; what the mounts must bear.
        """
        return efficiency * self.ratio - 1.0


@dataclass(frozen=True)
class Equations:
    """The speed rows and what each stands for: a set's name or an element's."""

    matrix: FloatArray
    names: tuple[str, ...]
    is_element: NDArray[np.bool_]


def solve(
    train: GearTrain,
    applied: Collection[str],
    *,
    drive: int = 1,
    failed: Collection[str] = (),
    seized: Collection[str] = (),
) -> GearState:
    """Solve the gear train with the named clutches and brakes applied.

    One-way clutches act by themselves and need not be named. `drive` is +1 when the input drives and
    −1 on the overrun, when the output drives and one-way clutches may let go. Elements in `failed` hold
    nothing; one-way clutches in `seized` hold both ways. Figures stay per unit (signed) input torque
    either way.

    Raises
    ------
    Neutral : the output is not driven
    TiedUp : the applied elements lock the input
    GearTrainError : an element that does not exist, or a `drive` that is neither +1 nor −1

    Source: dual speed and torque equations; R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 13.
    """
    if drive not in (-1, 1):
        raise GearTrainError("drive is +1 (the input drives) or -1 (overrun)")
    for name in (*applied, *failed, *seized):
        train.element(name)
    fixed, one_way = _engaged(train, applied, failed, seized)
    movable = False
    for held in _choices(one_way):
        equations = equations_of(train, (*fixed, *held))
        speeds, settled = _speeds(train, equations.matrix)
        if speeds is None or not _relative_speeds_allowed(train, speeds, one_way, held):
            continue
        movable = True
        if not settled[train.members.index(train.output)]:
            continue
        torques = torques_of(train, equations)
        if torques is None or not _torques_allowed(torques[0], equations.names, held, drive):
            continue
        return _state(train, equations, speeds, settled, torques, one_way)
    used = ", ".join(e.name for e in fixed) or "nothing"
    if movable:
        way = "input" if drive > 0 else "output, with the one-way clutches released,"
        raise Neutral(f"with {used} applied the {way} turns without driving", where=train.output)
    raise TiedUp(f"with {used} applied the members cannot turn", where=train.input)


def _engaged(
    train: GearTrain, applied: Collection[str], failed: Collection[str], seized: Collection[str]
) -> tuple[tuple[Element, ...], tuple[OneWayClutch, ...]]:
    """Elements that hold both ways, and the one-way clutches left to find their own state."""
    sound = [element for element in train.elements if element.name not in failed]
    one_way = tuple(e for e in sound if isinstance(e, OneWayClutch) and e.name not in seized)
    fixed = tuple(
        e for e in sound if (e.name in seized) or (e.name in applied and not isinstance(e, OneWayClutch))
    )
    return fixed, one_way


def _choices(one_way: tuple[OneWayClutch, ...]) -> Iterator[tuple[OneWayClutch, ...]]:
    """Every set of holding one-way clutches, fewest first, so one beside a brake carries nothing."""
    for count in range(len(one_way) + 1):
        yield from combinations(one_way, count)


def equations_of(train: GearTrain, holding: tuple[Element, ...]) -> Equations:
    """Speed rows of every set and of every element that holds, one column per member."""
    column = {member: i for i, member in enumerate(train.members)}
    matrix = np.zeros((len(train.sets) + len(holding), len(train.members)))
    for row, gear_set in enumerate(train.sets):
        for member, coefficient in gear_set.coefficients:
            if member != CASE:
                matrix[row, column[member]] = coefficient
    for row, element in enumerate(holding, start=len(train.sets)):
        for member, sign in zip(element.ends, (1.0, -1.0), strict=True):
            if member != CASE:
                matrix[row, column[member]] = sign
    names = (*(s.name for s in train.sets), *(e.name for e in holding))
    is_element = np.arange(len(names)) >= len(train.sets)
    return Equations(matrix, names, is_element)


def _solve_least(matrix: FloatArray, right: FloatArray) -> tuple[FloatArray, bool, FloatArray]:
    """Least-squares solution of least norm, whether it is exact, and a basis of the null space."""
    size = matrix.shape[1]
    left, values, right_vectors = np.linalg.svd(matrix, full_matrices=True)
    rank = int(np.sum(values > TOLERANCE))
    basis = right_vectors[rank:].T
    solution = np.zeros(size)
    for _ in range(2):  # the second pass refines the first to the last digits
        residual = right - matrix @ solution
        solution = solution + right_vectors[:rank].T @ ((left[:, :rank].T @ residual) / values[:rank])
    exact = float(np.max(np.abs(matrix @ solution - right), initial=0.0)) < TOLERANCE
    return solution, exact, basis


def _speeds(train: GearTrain, matrix: FloatArray) -> tuple[FloatArray | None, NDArray[np.bool_]]:
    """Member speeds at unit input speed, and which of them are settled."""
    driver = train.members.index(train.input)
    others = np.delete(np.arange(len(train.members)), driver)
    found, exact, basis = _solve_least(matrix[:, others], -matrix[:, driver])
    settled = np.ones(len(train.members), dtype=np.bool_)
    settled[others] = np.linalg.norm(basis, axis=1) < TOLERANCE
    if not exact:
        return None, settled
    speeds = np.ones(len(train.members))
    speeds[others] = found
    return speeds, settled


def torques_of(train: GearTrain, equations: Equations) -> tuple[FloatArray, NDArray[np.bool_]] | None:
    """Multiplier of every row and last the output's torque, at unit input torque; which are settled."""
    unit = np.zeros((len(train.members), 1))
    unit[train.members.index(train.output)] = 1.0
    right = np.zeros(len(train.members))
    right[train.members.index(train.input)] = -1.0
    found, exact, basis = _solve_least(np.hstack((equations.matrix.T, unit)), right)
    if not exact or abs(found[-1]) < TOLERANCE:
        return None
    settled = np.linalg.norm(basis, axis=1) < TOLERANCE
    if basis.size and np.any(equations.is_element):
        rows = np.append(equations.is_element, False)
        found = found + basis @ _solve_least(basis[rows], -found[rows])[0]
    return found, settled


def _relative_speed(train: GearTrain, speeds: FloatArray, clutch: OneWayClutch) -> float:
    values = [0.0 if end == CASE else float(speeds[train.members.index(end)]) for end in clutch.ends]
    return values[0] - values[1]


def _relative_speeds_allowed(
    train: GearTrain,
    speeds: FloatArray,
    one_way: tuple[OneWayClutch, ...],
    held: tuple[OneWayClutch, ...],
) -> bool:
    return all(
        clutch in held or clutch.holds * _relative_speed(train, speeds, clutch) <= TOLERANCE
        for clutch in one_way
    )


def _torques_allowed(
    torques: FloatArray, names: tuple[str, ...], held: tuple[OneWayClutch, ...], drive: int
) -> bool:
    return all(drive * clutch.holds * torques[names.index(clutch.name)] <= TOLERANCE for clutch in held)


def _state(
    train: GearTrain,
    equations: Equations,
    speeds: FloatArray,
    settled: NDArray[np.bool_],
    torques: tuple[FloatArray, NDArray[np.bool_]],
    one_way: tuple[OneWayClutch, ...],
) -> GearState:
    multipliers, certain = torques
    index = {member: i for i, member in enumerate(train.members)}
    torque_of = dict(zip(equations.names, multipliers.tolist(), strict=False))
    ends: dict[str, tuple[tuple[str, float], ...]] = {s.name: s.coefficients for s in train.sets}
    for element in train.elements:
        if element.name in torque_of:
            ends[element.name] = tuple(zip(element.ends, (1.0, -1.0), strict=True))
    on_member = {
        (name, member): torque_of[name] * coefficient
        for name, pairs in ends.items()
        for member, coefficient in pairs
    }
    power = {
        (name, member): -torque * float(speeds[index[member]])
        for (name, member), torque in on_member.items()
        if member != CASE
    }
    sets = {s.name for s in train.sets}
    loose = [c for c in one_way if all(end == CASE or settled[index[end]] for end in c.ends)]
    return GearState(
        ratio=1.0 / float(speeds[index[train.output]]),
        speeds={m: float(speeds[i]) for m, i in index.items() if settled[i]},
        undetermined=tuple(m for m, i in index.items() if not settled[i]),
        torques={name: value for name, value in torque_of.items() if name not in sets},
        set_torques={key: value for key, value in on_member.items() if key[0] in sets},
        holding=tuple(c.name for c in one_way if abs(torque_of.get(c.name, 0.0)) > TOLERANCE),
        overrunning=tuple(c.name for c in loose if abs(_relative_speed(train, speeds, c)) > TOLERANCE),
        power_flow=power,
        circulating_power=circulating_power(power),
        shared=tuple(
            name
            for name, sure, element in zip(equations.names, certain, equations.is_element, strict=False)
            if element and not sure
        ),
    )
