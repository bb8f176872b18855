"""The prepared model as a discrete Bayes net that any library can read: faults, cars, findings, plain tables.

Every fault is a binary parent. What tables say of a finding is a noisy-max, which for two states is noisy-OR,
written as a chain of nodes with two parents at most, the smallest that a general library can be given
(Heckerman and Breese, Causal independence for probability assessment and inference using Bayesian networks,
IEEE Transactions on Systems, Man and Cybernetics 26, 1996). What physics says is a table over the cars and
the set of up to three physical faults, each set simulated, and gathered by a chain of the same kind. Readings
are cut into cells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Catalogue, Finding, load_catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.likelihood import observe
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.road.shown import Shown

FloatArray = NDArray[np.float64]
BOX = "box-a"
CARS = 8
DEPTH = 3
CELLS = 5
"""Figures a reading may take in the net; one more cell is 'any other'."""


@dataclass(frozen=True)
class Node:
    """A node with its number of states and the chance of each given its parents, (own, *parents)."""

    name: str
    parents: tuple[str, ...]
    table: FloatArray


@dataclass(frozen=True)
class Net:
    """Nodes, parents first; which are faults; what each cell of a finding is as evidence."""

    nodes: tuple[Node, ...]
    faults: tuple[str, ...]
    said: Mapping[str, tuple[Evidence, ...]]

    @property
    def entries(self) -> int:
        """Figures in all tables."""
        return sum(node.table.size for node in self.nodes)


def commonest(catalogue: Catalogue, count: int) -> tuple[str, ...]:
    """The commonest faults of a catalogue, half of them such as act on the model of the car."""
    ranked = sorted(catalogue.faults.values(), key=lambda fault: (-fault.weight, fault.id))
    physical = [fault.id for fault in ranked if fault.effects][: count // 2]
    others = [fault.id for fault in ranked if not fault.effects][: count - len(physical)]
    return tuple(fault.id for fault in ranked if fault.id in {*physical, *others})


def prepared_with(count: int, *, cars: int = CARS) -> Prepared:
    """A box whose catalogue holds only its commonest faults."""
    box, whole = load_box(BOX), load_catalogue()
    fitting = {
        name: fault
        for name, fault in whole.of_family(box.kind).faults.items()
        if fault.part is None or fault.part not in box.missing_parts
    }
    kept = {name: whole.faults[name] for name in commonest(replace(whole, faults=fitting), count)}
    small = replace(whole, faults=kept, digest=f"{whole.digest} the {count} commonest faults")
    return prepare(box, CarFacts(), small, cars=cars)


@dataclass(frozen=True)
class Physics:
    """Every set of up to three physical faults, and what each shows on each car."""

    prepared: Prepared
    sets: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, prepared: Prepared) -> Physics:
        """Simulate the sets of three beside the others, which are there already."""
        threes = tuple(combinations(prepared.sets.physical, DEPTH))
        shown = prepared.shown
        if threes:
            more = prepared.model.simulate(threes)
            shown = Shown(
                {name: np.concatenate([rows, more.readings[name]]) for name, rows in shown.readings.items()},
                {name: np.concatenate([rows, more.chances[name]]) for name, rows in shown.chances.items()},
            )
        return cls(replace(prepared, shown=shown), (*prepared.sets.physical_rows, *threes))

    def likelihoods(self, said: tuple[Evidence, ...]) -> FloatArray:
        """Likelihood of each thing said, (said, sets, cars)."""
        found = [observe(self.prepared, entry).on_cars for entry in said]
        return np.stack([one for one in found if one is not None])

    def gathered(self) -> list[Node]:
        """A chain that gathers the set of physical faults; a fourth one changes nothing any more."""
        nodes: list[Node] = [Node("sets-0", (), np.ones(1))]
        before: list[tuple[int, ...]] = [()]
        physical = self.prepared.sets.physical
        for number, fault in enumerate(physical, start=1):
            known = set(physical[:number])
            sets = [one for one in self.sets if known.issuperset(one)]
            place = {one: row for row, one in enumerate(sets)}
            table = np.zeros((len(sets), len(before), 2))
            for column, old in enumerate(before):
                table[place[old], column, 0] = 1.0
                table[place[(*old, fault) if len(old) < DEPTH else old], column, 1] = 1.0
            nodes.append(Node(f"sets-{number}", (nodes[-1].name, self.prepared.faults[fault]), table))
            before = sets
        return nodes


def askable(prepared: Prepared) -> list[str]:
    """Findings that a net can hold, those on which most faults bear first.

    Second looks, which copy the first, are left out, and findings in which tables come on top of physics:
    there the package itself takes the mean over cars.
    """
    found = []
    for name, finding in prepared.catalogue.findings.items():
        alone = name not in prepared.shown.chances or not prepared.tables[name].bearing.any()
        known = finding.kind == "states" or name in prepared.shown.readings
        if prepared.bears[name].any() and finding.repeats is None and alone and known:
            found.append(name)
    return sorted(found, key=lambda name: (-int(prepared.bears[name].sum()), name))


def asked(prepared: Prepared, count: int) -> list[str]:
    """Findings of a thorough job: half of them figures, half states, those on which most faults bear."""
    names = askable(prepared)
    readings = [name for name in names if name in prepared.shown.readings][: count // 2]
    others = [name for name in names if name not in prepared.shown.readings][: count - len(readings)]
    return [*readings, *others]


def net_of(prepared: Prepared, findings: Sequence[str]) -> Net:
    """The net of all faults and these findings."""
    nodes = [
        Node(fault, (), np.array([1.0, np.exp(ln_odds)]) / (1.0 + np.exp(ln_odds)))
        for fault, ln_odds in zip(prepared.faults, prepared.ln_odds, strict=True)
    ]
    cars, physics = len(prepared.model.cars), Physics.of(prepared)
    nodes += [Node("car", (), np.full(cars, 1.0 / cars)), *physics.gathered()]
    parents = (nodes[-1].name, "car")
    said: dict[str, tuple[Evidence, ...]] = {}
    for name in findings:
        finding = prepared.catalogue.findings[name]
        said[name] = (
            _figures(prepared, name)
            if finding.kind == "reading"
            else tuple(Evidence(name, states=(state,)) for state in finding.states)
        )
        if finding.kind == "reading":
            nodes.append(Node(name, parents, _with_any_other(physics.likelihoods(said[name]))))
        elif name in prepared.shown.chances:
            chances = physics.likelihoods(said[name])
            nodes.append(Node(name, parents, chances / chances.sum(axis=0)))
        else:
            nodes += _noisy_max(prepared, finding)
    return Net(tuple(nodes), prepared.faults, said)


def _noisy_max(prepared: Prepared, finding: Finding) -> list[Node]:
    """Background, then one node for each fault that bears: the most conspicuous state so far."""
    table = prepared.tables[finding.id]
    chances = np.diff(table.background, prepend=0.0)
    bearing = np.flatnonzero(table.bearing)
    nodes = [Node(f"{finding.id}-0", (), chances)]
    states = len(chances)
    for number, fault in enumerate(bearing, start=1):
        brought = np.stack([np.ones(states), table.by_fault[fault]], axis=-1)  # (states, there or not)
        shown = np.tri(states)[:, :, None] * brought[:, None, :]  # state so far at most k: (k, state, there)
        name = finding.id if number == len(bearing) else f"{finding.id}-{number}"
        chain = np.diff(shown, axis=0, prepend=0.0)
        nodes.append(Node(name, (nodes[-1].name, prepared.faults[fault]), chain))
    return nodes


def _figures(prepared: Prepared, name: str) -> tuple[Evidence, ...]:
    """Figures in the middle of equal shares of what sound and singly ill cars show."""
    shown = prepared.shown.readings[name][: 1 + len(prepared.sets.physical)]
    finite = shown[np.isfinite(shown)]
    middles = np.quantile(finite, (np.arange(CELLS) + 0.5) / CELLS)
    return tuple(Evidence(name, value=float(middle)) for middle in np.unique(middles))


def _with_any_other(likelihoods: FloatArray) -> FloatArray:
    """Chances of the cells in the ratios of these likelihoods, and of any other figure, (cells + 1, ...)."""
    chances = likelihoods / (1.001 * likelihoods.sum(axis=0).max())
    return np.concatenate([chances, 1.0 - chances.sum(axis=0, keepdims=True)])


def cases(prepared: Prepared, net: Net, count: int, *, seed: int = 1) -> list[dict[str, int]]:
    """Answers to the findings of a net on cars with one or two faults: state or cell of each finding."""
    rng = np.random.default_rng(seed)
    by_name = {node.name: node for node in net.nodes}
    odds, drawn = np.exp(prepared.ln_odds), []
    for number in range(count):
        ill = set(rng.choice(net.faults, 1 + number % 2, replace=False, p=odds / odds.sum()))
        seen: dict[str, int] = {}
        for node in net.nodes:
            if node.name in net.faults:
                seen[node.name] = int(node.name in ill)
            else:
                chances = _given(node, seen)
                seen[node.name] = int(rng.choice(len(chances), p=chances / chances.sum()))
        drawn.append({name: _written(net, by_name[name], seen) for name in net.said})
    return drawn


def _written(net: Net, node: Node, seen: Mapping[str, int]) -> int:
    """What would be written down: the state or cell seen, or the likeliest figure where it is any other."""
    cells = len(net.said[node.name])
    if seen[node.name] < cells:
        return seen[node.name]
    return int(np.argmax(_given(node, seen)[:cells]))


def _given(node: Node, seen: Mapping[str, int]) -> FloatArray:
    """Chance of each state of a node where the states of its parents are known."""
    at: tuple[Any, ...] = (slice(None), *(seen[parent] for parent in node.parents))
    return np.asarray(node.table[at])
