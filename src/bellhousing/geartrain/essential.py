"""Which elements a range cannot do without, and what each must carry."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from bellhousing.errors import GearTrainError
from bellhousing.geartrain.layout import CASE, Element, GearTrain, OneWayClutch
from bellhousing.geartrain.solve import TOLERANCE, GearState, solve


@dataclass(frozen=True)
class ElementGroup:
    """Elements that join the same two nodes, and what they must carry together.

    nodes : the two members (or a member and the case) joined
    paths : parallel ways between the nodes, each able to hold alone; a path of several elements is a
        chain through an intermediate race, whose elements all carry the path's torque
    torque : torque on the first node per unit input torque, of all paths together [-]
    without : ratio the train falls to when the whole group lets go, None when it then drives nothing
    """

    nodes: tuple[str, str]
    paths: tuple[tuple[str, ...], ...]
    torque: float
    without: float | None

    @property
    def elements(self) -> tuple[str, ...]:
        """All elements of the group."""
        return tuple(name for path in self.paths for name in path)


def essential_elements(
    train: GearTrain,
    applied: Collection[str],
    *,
    drive: int = 1,
    failed: Collection[str] = (),
    seized: Collection[str] = (),
) -> tuple[ElementGroup, ...]:
    """Element groups without which the train would not give this ratio, with their torque.

    A group is essential when the train, solved again without it, gives another ratio or none; nothing
    is read from a chart. A range slips when a group's capacity, the sum over `paths` of the smallest
    capacity along each, is below ``|torque|`` times the input torque.

    Raises
    ------
    Neutral, TiedUp : the elements applied give no ratio in the first place
    GearTrainError : an element that does not exist

    Source: own derivation from the gear train's speed and torque equations.
    """
    state = solve(train, applied, drive=drive, failed=failed, seized=seized)
    engaged = [
        e
        for e in train.elements
        if e.name not in failed and (isinstance(e, OneWayClutch) or e.name in applied)
    ]

    def ratio_without(lost: Iterable[str]) -> float | None:
        try:
            return solve(train, applied, drive=drive, failed={*failed, *lost}, seized=seized).ratio
        except GearTrainError:
            return None

    def same(ratio: float | None) -> bool:
        return ratio is not None and abs(ratio - state.ratio) <= TOLERANCE * abs(state.ratio)

    groups = []
    for nodes, paths in _parallel_paths(train, engaged).items():
        without = ratio_without(name for path in paths for name in path)
        if same(without):
            continue
        able = tuple(
            path
            for path in paths
            if same(ratio_without(n for other in paths if other != path for n in other))
        )
        torque = sum(_path_torque(train, state, nodes[0], path) for path in paths)
        groups.append(ElementGroup(nodes, able, torque, without))
    return tuple(groups)


def _path_torque(train: GearTrain, state: GearState, node: str, path: tuple[str, ...]) -> float:
    """Torque of a path on the node it starts from."""
    torque = state.torques.get(path[0], 0.0)
    return torque if train.element(path[0]).ends[0] == node else -torque


def _parallel_paths(
    train: GearTrain, engaged: Collection[Element]
) -> dict[tuple[str, str], tuple[tuple[str, ...], ...]]:
    """Paths between nodes, chains through intermediate races joined into one, by the pair of nodes."""
    chains: list[tuple[tuple[str, str], tuple[str, ...]]] = [(e.ends, (e.name,)) for e in engaged]
    for race in _intermediate_races(train):
        touching = [chain for chain in chains if race in chain[0]]
        if len(touching) != 2:
            continue
        (first, first_path), (second, second_path) = touching
        if first[1] != race:
            first, first_path = (first[1], first[0]), first_path[::-1]
        if second[0] != race:
            second, second_path = (second[1], second[0]), second_path[::-1]
        if first[0] == second[1]:
            continue
        chains = [chain for chain in chains if chain not in touching]
        chains.append(((first[0], second[1]), first_path + second_path))
    found: dict[tuple[str, str], tuple[tuple[str, ...], ...]] = {}
    for ends, path in chains:
        nodes, along = (ends, path) if _in_order(train, ends) else ((ends[1], ends[0]), path[::-1])
        found[nodes] = (*found.get(nodes, ()), along)
    return found


def _in_order(train: GearTrain, ends: tuple[str, str]) -> bool:
    """Members come in the train's order, the case last."""
    order = (*train.members, CASE)
    return order.index(ends[0]) < order.index(ends[1])


def _intermediate_races(train: GearTrain) -> tuple[str, ...]:
    """Members that mesh with nothing and are neither input nor output."""
    meshing = {member for s in train.sets for member, _ in s.coefficients}
    return tuple(m for m in train.members if m not in {*meshing, train.input, train.output})
