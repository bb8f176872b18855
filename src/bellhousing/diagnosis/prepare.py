"""A box and a car made ready for questions: every small set of faults simulated once on plausible cars."""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from tempfile import NamedTemporaryFile

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.catalogue import Catalogue, Effect
from bellhousing.diagnosis.fault_sets import FaultSets
from bellhousing.diagnosis.singles import Singles
from bellhousing.diagnosis.tables import MISNOTED, StackedTables, StateTable, stack, state_tables
from bellhousing.errors import CatalogueError
from bellhousing.road.calibration import calibrated
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.shown import Shown, show_cars, vehicle
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]
SingleArray = NDArray[np.float32]

VERSION = 1
"""Raised when what is kept in a prepared file changes its meaning."""

CHUNK = 8192
"""Cars simulated together, so that their arrays stay in the processor's cache."""

CELLS = 10
"""Cells into which a reading is sorted to count what it can tell; the last is 'never'."""


@dataclass(frozen=True)
class CarFacts:
    """What of the car bears on its shift speeds: axle ratio, tyre radius [m], altitude [m]."""

    axle_ratio: float = 3.08
    tyre_radius: float = 0.345
    altitude: float = 0.0


@dataclass(frozen=True)
class PhysicalModel:
    """The same plausible cars for every set of faults (common random numbers), and how faults bend them."""

    vehicle: Vehicle
    cars: Cars
    effects: tuple[tuple[Effect, ...], ...]
    severity: FloatArray  # (cars, faults)
    branch: FloatArray  # (cars, faults)
    noise: FloatArray  # (cars,), error of a reading in standard deviations

    def simulate(self, rows: Sequence[tuple[int, ...]]) -> Shown:
        """What each set of faults shows on each car: arrays (sets, cars) and (sets, cars, states)."""
        count = len(self.cars)
        per_chunk = max(1, CHUNK // count)
        parts = []
        for start in range(0, len(rows), per_chunk):
            chunk = rows[start : start + per_chunk]
            parts.append(show_cars(self.afflicted(chunk), self.vehicle))
        readings = {
            name: np.concatenate([part.readings[name] for part in parts])
            .astype(np.float32)
            .reshape(-1, count)
            for name in parts[0].readings
        }
        chances = {
            name: np.concatenate([part.chances[name] for part in parts]).astype(np.float32)
            for name in parts[0].chances
        }
        return Shown(
            readings, {name: chance.reshape(len(rows), count, -1) for name, chance in chances.items()}
        )

    def afflicted(self, rows: Sequence[tuple[int, ...]]) -> Cars:
        """The cars with each set of faults in turn, (sets * cars,)."""
        count = len(self.cars)
        cars = self.cars.take(np.tile(np.arange(count), len(rows)))
        touched = {effect.parameter for row in rows for fault in row for effect in self.effects[fault]}
        values = {name: cars[name].copy() for name in touched}
        for position, row in enumerate(rows):
            span = slice(position * count, (position + 1) * count)
            for fault in row:
                for effect in self.effects[fault]:
                    part = values[effect.parameter][span]
                    values[effect.parameter][span] = self._bent(part, effect, fault)
        return cars.with_values(values)

    def _bent(self, values: FloatArray, effect: Effect, fault: int) -> FloatArray:
        amount = effect.mild + (effect.severe - effect.mild) * self.severity[:, fault]
        if effect.law == "times":
            bent = values * amount
        elif effect.law == "add":
            bent = values + amount
        else:
            bent = amount
        if effect.branch is None:
            return bent
        branches = {other.branch for other in self.effects[fault] if other.branch is not None}
        chosen = 1 + np.floor(self.branch[:, fault] * len(branches))
        return np.where(chosen == effect.branch, bent, values)


@dataclass(frozen=True)
class Prepared:
    """Everything the posterior needs of one box, one car and one catalogue."""

    key: str
    box: Box
    car: CarFacts
    catalogue: Catalogue
    seed: int
    faults: tuple[str, ...]
    sets: FaultSets
    ln_odds: FloatArray
    tables: Mapping[str, StateTable]
    shown: Shown
    model: PhysicalModel
    bears: Mapping[str, NDArray[np.bool_]]  # finding -> (faults,)
    cells: Mapping[
        str, NDArray[np.uint8]
    ]  # reading -> (rows, cars), the cell that each car's reading falls in

    @cached_property
    def strangeness(self) -> float:
        """How many times oftener the model is simply wrong about this box than about a fully described one.

        Up to twice where only the kind of box is known (common practice, no source).
        """
        return 1.0 + len(self.box.unknown) / max(1, self.box.number_count)

    @cached_property
    def stacked(self) -> StackedTables:
        """The tables of all findings side by side."""
        return stack(self.tables)

    @cached_property
    def singles(self) -> Singles:
        """What a sound car and each physical fault alone show, on the average of the cars."""
        rows = 1 + len(self.sets.physical)
        return Singles.of(self.shown, self.cells, self.stacked, rows=rows, count=CELLS)

    def save(self, path: Path) -> None:
        """Write to `path` in one step; the file is a cache, readable by this version only.

        Each writer has a draft of its own, because several processes may prepare the same box at once.
        """
        written = pickle.dumps((VERSION, self.key, self.shown), protocol=5)
        with NamedTemporaryFile(dir=path.parent, prefix=path.name, suffix=".part", delete=False) as draft:
            draft.write(written)
        Path(draft.name).replace(path)


def prepared_key(box: Box, car: CarFacts, catalogue: Catalogue, *, seed: int, cars: int) -> str:
    """A digest of everything a prepared model depends on."""
    text = f"{VERSION}|{box.digest}|{car}|{catalogue.digest}|{seed}|{cars}|{np.__version__}"
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def prepare(
    box: Box,
    car: CarFacts,
    catalogue: Catalogue,
    *,
    seed: int = 1,
    cars: int = 160,
    cache: Path | None = None,
    misseen: float = MISNOTED,
) -> Prepared:
    """Simulate every set of up to two physical faults on `cars` plausible cars.

    `misseen` is the share of looks that say any state whatever a table says. `cache` is a file that an
    earlier call with the same key may have left; a file that does not fit is ignored and written anew.

    Raises
    ------
    BoxFileError : a number that neither the box nor its family gives.
    """
    box = calibrated(box)
    key = prepared_key(box, car, catalogue, seed=seed, cars=cars)
    catalogue = catalogue.of_family(box.kind)
    faults = tuple(
        fault.id
        for fault in catalogue.faults.values()
        if fault.part is None or fault.part not in box.missing_parts
    )
    effects = tuple(catalogue.faults[name].effects for name in faults)
    sets = FaultSets(len(faults), tuple(i for i, effect in enumerate(effects) if effect))
    rng = np.random.default_rng(seed)
    drawn = draw_cars(box, cars, rng)
    _check_parameters(effects, drawn)
    model = PhysicalModel(
        vehicle=vehicle(box, car.axle_ratio, car.tyre_radius, car.altitude),
        cars=drawn,
        effects=effects,
        severity=rng.random((cars, len(faults))),
        branch=rng.random((cars, len(faults))),
        noise=rng.standard_normal(cars),
    )
    shown = _from_cache(cache, key) or model.simulate(sets.physical_rows)
    weights = np.array([catalogue.faults[name].weight / 1000.0 for name in faults])
    tables = state_tables(
        catalogue, faults, familiarity=box_familiarity(box), misseen=misseen, physical=shown.chances
    )
    prepared = Prepared(
        key=key,
        box=box,
        car=car,
        catalogue=catalogue,
        seed=seed,
        faults=faults,
        sets=sets,
        ln_odds=np.log(weights / (1.0 - weights)),
        tables=tables,
        shown=shown,
        model=model,
        bears=_bears(catalogue, faults, sets, tables, shown),
        cells={
            name: _cells(predicted, catalogue.findings[name].half_width, model.noise, len(sets.physical))
            for name, predicted in shown.readings.items()
        },
    )
    if cache is not None and not cache.exists():
        cache.parent.mkdir(parents=True, exist_ok=True)
        prepared.save(cache)
    return prepared


def with_figures(prepared: Prepared, catalogue: Catalogue) -> Prepared:
    """The same simulated cars with other figures for how common faults are and what findings show.

    `catalogue` is the part of a catalogue for this kind of box, with the faults and effects `prepared` has;
    the result is what `prepare` would make of it, without simulating anything again.

    Raises
    ------
    CatalogueError : other faults or effects.
    """
    known = {name: catalogue.faults[name] for name in prepared.faults if name in catalogue.faults}
    if [fault.effects for fault in known.values()] != list(prepared.model.effects):
        raise CatalogueError("these figures are for other faults than were simulated")
    weights = np.array([fault.weight / 1000.0 for fault in known.values()])
    tables = state_tables(catalogue, prepared.faults, familiarity=box_familiarity(prepared.box))
    return replace(
        prepared,
        key=prepared_key(
            prepared.box, prepared.car, catalogue, seed=prepared.seed, cars=len(prepared.model.cars)
        ),
        catalogue=catalogue,
        ln_odds=np.log(weights / (1.0 - weights)),
        tables=tables,
        bears=_bears(catalogue, prepared.faults, prepared.sets, tables, prepared.shown),
    )


def box_familiarity(box: Box) -> float:
    """How far the catalogue's strengths may be trusted for this box: 1 when it is described by its own parts.

    A box known only by its family may hide the part elsewhere or show the fault otherwise, so each strength
    is drawn towards the background by up to a quarter (common practice, no source).
    """
    from_family = len(box.unknown) / max(1, box.number_count)
    return 1.0 - from_family / 4.0


def _check_parameters(effects: Sequence[Sequence[Effect]], cars: Cars) -> None:
    for effect in (effect for row in effects for effect in row):
        if effect.parameter not in cars.values:
            raise CatalogueError(f"an effect bends '{effect.parameter}', which no car has")


def _from_cache(cache: Path | None, key: str) -> Shown | None:
    if cache is None or not cache.exists():
        return None
    try:
        version, kept_key, shown = pickle.loads(cache.read_bytes())
    except Exception:  # a damaged cache may fail in any way; it is only ever rebuilt
        version, kept_key, shown = None, None, None
    if version == VERSION and kept_key == key and isinstance(shown, Shown):
        return shown
    cache.unlink(missing_ok=True)
    return None


def _cells(predicted: SingleArray, half_width: float, noise: FloatArray, singles: int) -> NDArray[np.uint8]:
    """Cells bounded by quantiles over the sound cars and those with one fault, with the reading's error."""
    values = predicted + np.float32(half_width / np.sqrt(2.0)) * noise.astype(np.float32)
    common = values[: 1 + singles]
    finite = common[np.isfinite(common)]
    edges = np.quantile(finite, np.linspace(0.0, 1.0, CELLS)[1:-1]) if finite.size else np.zeros(1)
    cells = np.minimum(np.searchsorted(edges, values.ravel()), CELLS - 2).reshape(values.shape)
    return np.where(np.isfinite(values), cells, CELLS - 1).astype(np.uint8)


def _bears(
    catalogue: Catalogue,
    faults: Sequence[str],
    sets: FaultSets,
    tables: Mapping[str, StateTable],
    shown: Shown,
) -> dict[str, NDArray[np.bool_]]:
    """Which faults each finding can tell anything about."""
    bears = {}
    for name, finding in catalogue.findings.items():
        told = np.zeros(len(faults), dtype=bool)
        if name in tables:
            told |= tables[name].bearing
        for row, fault in enumerate(sets.physical, start=1):
            if name in shown.readings:
                sound, ill = shown.readings[name][0], shown.readings[name][row]
                scale = max(finding.half_width / 2.0, 1e-12)
                both = np.isfinite(sound) & np.isfinite(ill)
                apart = np.abs(np.where(both, ill, 0.0) - np.where(both, sound, 0.0)) / scale
                apart = np.where(np.isfinite(sound) == np.isfinite(ill), apart, 10.0)
                told[fault] |= bool(np.minimum(apart, 10.0).mean() > 0.3)
            if name in shown.chances:
                told[fault] |= bool(
                    np.abs(shown.chances[name][row] - shown.chances[name][0]).max(axis=1).mean() > 0.03
                )
        bears[name] = told
    return bears
