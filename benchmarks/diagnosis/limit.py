"""What the findings can tell at best: the same arithmetic over sets, fed with the generator's own laws.

Strengths and backgrounds are the means over the generator's scatter, misread answers included; figures are
those of the generator's own cars with its own severities, for every set of up to two faults that bend them.
What is left out: that a severe fault leans several findings at once, the one bias of a gauge, and copied
mistakes as the generator makes them; so the true limit lies slightly higher.
"""

from __future__ import annotations

import math
import pickle
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from benchmarks.diagnosis.cars import BACKGROUND, CHANGES, FEWEST, MISREAD, MODELS, MOST, SCATTER, _bent
from benchmarks.diagnosis.names import Look, Names
from benchmarks.diagnosis.reduced import Reading

from bellhousing.diagnosis.fault_sets import FaultSets
from bellhousing.diagnosis.prepare import FloatArray, Prepared
from bellhousing.diagnosis.tables import StateTable
from bellhousing.quantities.units import to_si
from bellhousing.road.shown import Shown

CARS = 60
NODES, SHARES = np.polynomial.hermite_e.hermegauss(15)


@dataclass(frozen=True)
class OwnModel:
    """The generator's cars as the package's inference asks for them."""

    names: Names
    faults: tuple[str, ...]
    looks: tuple[str, ...]
    cars: tuple[int, ...]

    def simulate(self, rows: Sequence[tuple[int, ...]]) -> Shown:
        """Figures that each set of faults shows on each car, (sets, cars), in SI."""
        draw, laws, read = MODELS[self.names.family]
        found = {look: np.zeros((len(rows), len(self.cars)), dtype=np.float32) for look in self.looks}
        for column, number in enumerate(self.cars):
            rng = np.random.default_rng([99, number])
            sound = draw(rng)
            severity = dict(zip(self.faults, rng.beta(1.6, 1.6, len(self.faults)), strict=True))
            way = dict(zip(self.faults, rng.random(len(self.faults)), strict=True))
            for row, members in enumerate(rows):
                present = {self.faults[f]: float(severity[self.faults[f]]) for f in members}
                figures = read(_bent(sound, laws, present, way), np.random.default_rng([7, number]))
                for look in self.looks:
                    found[look][row, column] = _si(self.names.looks[look], figures[look])
        return Shown(found, {})


def _si(look: Look, value: Reading) -> float:
    if isinstance(value, str):
        return 0.0 if value == "absent" else math.inf
    return float(to_si(value, look.unit))


def own_laws(prepared: Prepared, names: Names, cache: Path) -> Prepared:
    """The package's prepared box with everything in it replaced by the generator's laws."""
    laws = MODELS[names.family][1]
    physical = tuple(f for f, fault in enumerate(prepared.faults) if fault in laws)
    sets = FaultSets(len(prepared.faults), physical)
    looks = tuple(look.id for look in names.looks.values() if look.kind == "reading")
    looks = tuple(look for look in looks if look in prepared.catalogue.findings)
    model = OwnModel(names, prepared.faults, looks, tuple(range(CARS)))
    path = cache / f"limit-{names.family}.pickle"
    if path.exists():
        shown = pickle.loads(path.read_bytes())
    else:
        shown = model.simulate(sets.physical_rows)
        path.write_bytes(pickle.dumps(shown))
    tables = {
        name: _table(names.looks[name], prepared.faults) for name in prepared.tables if name in names.looks
    }
    never = {name: ~np.isfinite(shown.readings[change]) for name, change in CHANGES.items() if name in tables}
    for name, missing in never.items():
        _never(tables, name, names.looks[name], missing.mean(axis=1), sets)
    nothing = StateTable(np.ones(1), np.ones((len(prepared.faults), 1)))
    tables |= {name: nothing for name in prepared.tables if name not in tables}
    return replace(prepared, sets=sets, shown=shown, model=model, tables=tables)  # type: ignore[arg-type]


def _never(
    tables: Mapping[str, StateTable], name: str, look: Look, chance: FloatArray, sets: FaultSets
) -> None:
    for row, fault in enumerate(sets.physical, start=1):
        share = (1.0 - MISREAD) * max(0.0, float(chance[row] - chance[0]))
        tables[name].by_fault[fault, : len(look.states) - 1] *= 1.0 - share


def _table(look: Look, faults: Sequence[str]) -> StateTable:
    """Cumulative chances with the scatter of strengths taken as its mean and misread answers mixed in."""
    factor = (BACKGROUND - 1.0 / BACKGROUND) / (2.0 * math.log(BACKGROUND))
    back = {state: factor * chance for state, chance in look.background.items()}
    each = np.array([back.get(state, 0.0) for state in look.states])
    each[0] = max(0.0, 1.0 - each[1:].sum())
    n = len(look.states)
    each = (1.0 - MISREAD) * each + MISREAD * (1.0 - each) / max(1, n - 1)
    by_fault = np.ones((len(faults), n))
    for row, fault in enumerate(faults):
        if fault in look.strengths:
            by_fault[row] = _mean(look, look.strengths[fault])
    return StateTable(np.minimum(1.0, np.cumsum(each)), by_fault)


def _mean(look: Look, strengths: Mapping[str, float]) -> FloatArray:
    total = min(max(sum(strengths.values()), 1e-3), 0.999)
    odds = math.log(total / (1.0 - total)) + SCATTER * NODES
    mean = float(SHARES @ np.clip(1.0 / (1.0 + np.exp(-odds)), FEWEST, MOST) / SHARES.sum())
    each = np.array([(1.0 - MISREAD) * mean * strengths.get(state, 0.0) / total for state in look.states])
    each[0] = 1.0 - each[1:].sum()
    return np.asarray(np.minimum(1.0, np.cumsum(each)))
