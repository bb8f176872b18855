"""Torques and efficiency of a gear train whose meshes lose power, the speeds being what they are.

Losses leave the speeds alone. In each set the power that rolls through the mesh is torque times speed
relative to the carrier; the basic efficiency, that of the set with its carrier held, takes its share from
whichever member drives there. Which one drives is not known beforehand: the directions are tried, those of
the loss-free train first, until torques and directions agree.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.layout import CASE, GearSet, GearTrain
from bellhousing.geartrain.solve import TOLERANCE, Equations, GearState, equations_of, solve, torques_of

MESH_EFFICIENCY = 0.98
"""Basic efficiency of a planetary set with its carrier held, two meshes of about 1 % each; from memory."""


@dataclass(frozen=True)
class Losses:
    """What the meshes cost; every figure is per unit input torque or per unit of the power put in.

    efficiency : power delivered over power put in [-]
    output_torque : torque the output delivers, the loss-free ratio times the efficiency when driving [-]
    torques : torque of each engaged element on its first end [-]
    set_losses : power lost in each set, over the power put in [-]
    """

    efficiency: float
    output_torque: float
    torques: Mapping[str, float]
    set_losses: Mapping[str, float]


@dataclass(frozen=True)
class _Mesh:
    """A set with its speeds relative to the carrier; `rolls` is false where nothing rolls in the mesh."""

    gear_set: GearSet
    speeds: tuple[float, float]
    efficiency: float

    @property
    def rolls(self) -> bool:
        """Whether the set turns within itself, which is where its teeth lose."""
        return abs(self.speeds[0]) > TOLERANCE


def solve_with_losses(
    train: GearTrain,
    applied: Collection[str],
    efficiency: float | Mapping[str, float] = MESH_EFFICIENCY,
    *,
    drive: int = 1,
    failed: Collection[str] = (),
    seized: Collection[str] = (),
) -> Losses:
    """Solve the gear train with a basic efficiency η₀ per set (one for all, or by the set's name) [-].

    With the first member driving relative to the carrier ``T_last·(w_last − w_c) = −η₀·T_first·(w_first −
    w_c)``, with the last driving the same with first and last exchanged; ``T_first + T_last + T_c = 0``.
    `drive`, `failed` and `seized` are as in `solve`.

    Raises
    ------
    Neutral, TiedUp : as `solve` does without losses
    GearTrainError : an efficiency outside (0, 1], or a train that its own friction locks

    Source: H. E. Merritt, *Gear Trains*, 1947; H. W. Müller, *Epicyclic Drive Trains*, 1982 (from memory).
    """
    state = solve(train, applied, drive=drive, failed=failed, seized=seized)
    holding = tuple(e for e in train.elements if e.name in state.torques)
    equations = equations_of(train, holding)
    meshes = tuple(_mesh(s, state, _efficiency_of(s.name, efficiency)) for s in train.sets)
    first_drives = tuple(_rolling_power(mesh, state.set_torques, drive) >= 0.0 for mesh in meshes)
    for guess in _guesses(first_drives, meshes):
        found = torques_of(train, _with_losses(train, equations, meshes, guess))
        if found is None:
            continue
        torques = dict(zip(equations.names, found[0].tolist(), strict=False))
        on_member = _set_torques(meshes, guess, torques)
        agree = all(
            (1.0 if way else -1.0) * _rolling_power(mesh, on_member, drive) >= -TOLERANCE
            for mesh, way in zip(meshes, guess, strict=True)
        )
        delivered = -float(found[0][-1])
        if agree and delivered / state.ratio > 0.0:
            return _losses(state, meshes, on_member, torques, delivered, drive)
    raise GearTrainError("the losses lock the train: nothing comes through", where=train.output)


def _efficiency_of(name: str, efficiency: float | Mapping[str, float]) -> float:
    value = efficiency if isinstance(efficiency, float | int) else efficiency.get(name, MESH_EFFICIENCY)
    if not 0.0 < value <= 1.0:
        raise GearTrainError(f"an efficiency of {value:g} is not possible", where=name, remedy="0 to 1")
    return float(value)


def _mesh(gear_set: GearSet, state: GearState, efficiency: float) -> _Mesh:
    """Speeds of the first and last member against the carrier; nothing rolls where one is not settled."""
    (first, _), (last, _), (carrier, _) = gear_set.coefficients
    speeds = {CASE: 0.0, **state.speeds}
    if not {first, last, carrier} <= set(speeds):
        return _Mesh(gear_set, (0.0, 0.0), efficiency)
    return _Mesh(gear_set, (speeds[first] - speeds[carrier], speeds[last] - speeds[carrier]), efficiency)


def _rolling_power(mesh: _Mesh, on_member: Mapping[tuple[str, str], float], drive: int) -> float:
    """Rolling power that enters the set at its first member; a set's torque on a member takes power out."""
    first = mesh.gear_set.coefficients[0][0]
    return -drive * on_member[mesh.gear_set.name, first] * mesh.speeds[0]


def _guesses(start: tuple[bool, ...], meshes: tuple[_Mesh, ...]) -> Iterator[tuple[bool, ...]]:
    """Directions of every set, the given ones first, then with ever more of them turned round."""
    rolling = [i for i, mesh in enumerate(meshes) if mesh.rolls]
    for count in range(len(rolling) + 1):
        for turned in combinations(rolling, count):
            yield tuple(way != (i in turned) for i, way in enumerate(start))


def _share(mesh: _Mesh, first_drives: bool) -> float:
    """Factor on the first member's torque for the same torque of the last."""
    if not mesh.rolls:
        return 1.0
    return 1.0 / mesh.efficiency if first_drives else mesh.efficiency


def _coefficients(mesh: _Mesh, first_drives: bool) -> tuple[tuple[str, float], ...]:
    """Member and torque per multiplier of the set's row; they sum to zero as the speed coefficients do."""
    (first, a), (last, b), (carrier, _) = mesh.gear_set.coefficients
    a *= _share(mesh, first_drives)
    return ((first, a), (last, b), (carrier, -a - b))


def _with_losses(
    train: GearTrain, equations: Equations, meshes: tuple[_Mesh, ...], guess: tuple[bool, ...]
) -> Equations:
    """The rows with every set's torque coefficients in place of its speed coefficients."""
    matrix = equations.matrix.copy()
    for row, (mesh, way) in enumerate(zip(meshes, guess, strict=True)):
        for member, coefficient in _coefficients(mesh, way):
            if member != CASE:
                matrix[row, train.members.index(member)] = coefficient
    return Equations(matrix, equations.names, equations.is_element)


def _set_torques(
    meshes: tuple[_Mesh, ...], guess: tuple[bool, ...], torques: Mapping[str, float]
) -> dict[tuple[str, str], float]:
    """Torque of every set on each of its members, by (set, member)."""
    return {
        (mesh.gear_set.name, member): torques[mesh.gear_set.name] * coefficient
        for mesh, way in zip(meshes, guess, strict=True)
        for member, coefficient in _coefficients(mesh, way)
    }


def _losses(
    state: GearState,
    meshes: tuple[_Mesh, ...],
    on_member: Mapping[tuple[str, str], float],
    torques: Mapping[str, float],
    delivered: float,
    drive: int,
) -> Losses:
    speeds = {CASE: 0.0, **dict.fromkeys(state.undetermined, 0.0), **state.speeds}
    through = delivered / state.ratio
    put_in = 1.0 if drive > 0 else through
    lost = {
        mesh.gear_set.name: -drive
        * float(np.sum([t * speeds[m] for (name, m), t in on_member.items() if name == mesh.gear_set.name]))
        / put_in
        for mesh in meshes
    }
    return Losses(
        efficiency=through if drive > 0 else 1.0 / through,
        output_torque=delivered,
        torques={name: value for name, value in torques.items() if name not in lost},
        set_losses=lost,
    )
