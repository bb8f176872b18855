"""From the bench to the road: what measured parts explain of what the car showed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.errors import InputFileError
from bellhousing.fits.measures import shipped_measures
from bellhousing.quantities.units import from_si
from bellhousing.road.bench import (
    LIPS,
    MEASURED,
    PACKS,
    PLATES,
    PUMP,
    RINGS,
    SOUND,
    BenchNumber,
    shown_with,
    with_parts,
)
from bellhousing.road.cars import draw_cars
from bellhousing.road.shown import show_cars
from bellhousing.tasks.bench_evidence import OnBench, heard_from_bench, heard_on_job, on_bench_of_job
from bellhousing.tasks.bench_readings import Foretold, also_shown, beside, drips, in_one_sentence
from bellhousing.tasks.bench_shapes import BenchAnswer, BenchNumberAnswer
from bellhousing.tasks.file_answers import read_bench_case
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.shop import Shop
from bellhousing.words.loss import read_loss

CARS, SEED = 1000, 17
RULE = (
    "A reading in the middle 95 of 100 cars with these parts, its own error counted, is explained; one that "
    "a sound box shows too leaves nothing to explain; parts that go at least a quarter of the way from a "
    "sound box to it explain part; all else does not: keep looking."
)
MOVES_NOTHING = (
    "Nothing measured so far explains a reading: it is judged, and each number says what it shows."
)


def bench_of_file(path: Path, *, box: str | None = None) -> BenchAnswer:
    """What the parts measured in a findings file explain of its findings; `box` stands in for its own.

    Raises
    ------
    InputFileError : a malformed file, or nothing measured and no plates judged in it.
    BoxFileError : a box that does not exist or cannot be used.
    """
    case, numbers = read_bench_case(path, box)
    return _answer(case.prepared, case.heard, numbers, str(path), case.file.assumed)


def bench_of_job(shop: Shop, job: int) -> BenchAnswer:
    """What the parts measured on a job explain of what its car showed.

    Raises
    ------
    RecordError : no such job.
    InputFileError : nothing was measured and no plates judged on it.
    BoxFileError : the box of the car cannot be used.
    """
    prepared = shop.prepared(shop.store.car(shop.store.job(job).car))
    return _answer(prepared, heard_on_job(shop, job), on_bench_of_job(shop, job), f"job {job}", ())


def _answer(
    prepared: Prepared, heard: Sequence[Heard], numbers: Sequence[OnBench], where: str, assumed: Sequence[str]
) -> BenchAnswer:
    last = {entry.measured.id: entry for entry in numbers}
    found = {entry.evidence.finding: entry for entry in heard if entry.evidence is not None}
    plates = _plates(found)
    if not last and not plates:
        raise InputFileError(
            "nothing was measured on the bench",
            where=where,
            remedy="write for example pump face clearance 0.0045 in under `measured`",
        )
    told = _foretold(prepared, [entry.measured for entry in last.values()], plates)
    readings = [
        reading
        for name, entry in found.items()
        if (reading := beside(prepared.catalogue.finding(name), entry, told)) is not None
    ]
    dripped = drips(prepared.box, list(last.values()), heard)
    readings += [] if dripped is None else [dripped]
    counted = heard_from_bench(list(last.values()), prepared.box, prepared.catalogue)
    return BenchAnswer(
        box=prepared.box.slug,
        box_name=prepared.box.name,
        numbers=tuple(_number(entry) for entry in last.values()),
        plates=tuple(f"{prepared.catalogue.finding(name).name}: {state}" for name, state in plates.items()),
        readings=tuple(readings),
        foretold=also_shown(prepared, told, {reading.finding for reading in readings}),
        counted=tuple(entry.answer.understood or "" for entry in counted),
        text=in_one_sentence(readings) if plates or any(_changes(name) for name in last) else MOVES_NOTHING,
        rule=RULE,
        notes=tuple(
            entry.answer.said
            for entry in heard
            if entry.evidence is None and read_loss(entry.answer.said) is None and not _is_bench(entry, last)
        ),
        assumed=tuple(assumed),
    )


def _is_bench(entry: Heard, numbers: Mapping[str, OnBench]) -> bool:
    return any(entry.answer.said == number.said for number in numbers.values())


def _plates(found: Mapping[str, Heard]) -> dict[str, str]:
    """Plates that were judged otherwise than sound, by their finding."""
    judged = {}
    for name in PLATES:
        evidence = None if name not in found else found[name].evidence
        if evidence is not None and evidence.states == ("burnt",):
            judged[name] = "burnt"
    return judged


def _foretold(prepared: Prepared, numbers: Sequence[BenchNumber], plates: Mapping[str, str]) -> Foretold:
    cars = draw_cars(prepared.box, CARS, np.random.default_rng(SEED))
    car = prepared.model.vehicle
    taken = [number for number in numbers if number.id in MEASURED]
    parts = with_parts(cars, taken, plates, sound=sound_middles(prepared.box))
    return Foretold(show_cars(cars, car), shown_with(parts, car))


def sound_middles(box: Box) -> dict[str, float]:
    """Middle of the box's window of everything whose law starts from it [m]."""
    middles = {}
    for name in SOUND:
        bench = box.measurements.get(name)
        if bench is None or bench.window is None:
            continue
        low, high = bench.window.low, bench.window.high
        if math.isfinite(low) and math.isfinite(high):
            middles[name] = 0.5 * (low + high)
    return middles


def _number(entry: OnBench) -> BenchNumberAnswer:
    zero = from_si(0.0, entry.unit)
    u, expanded = (
        float(f"{from_si(width, entry.unit) - zero:.3g}")
        for width in (entry.measured.standard_uncertainty, entry.expanded)
    )
    return BenchNumberAnswer(
        said=entry.said,
        measure=entry.measured.id,
        name=entry.name,
        value=float(f"{from_si(entry.measured.value, entry.unit):.6g}"),
        uncertainty=u,
        expanded=expanded,
        unit=entry.unit,
        changes=(changes := _changes(entry.measured.id)),
        explains_nothing="" if changes else _shows(entry.measured.id),
        number=entry.number,
    )


def _changes(name: str) -> str:
    groups = (
        (PUMP, "what leaks inside the pump"),
        (RINGS, "what leaks past the hub rings"),
        (tuple(PACKS), "how much fluid the clutch takes"),
        (tuple(LIPS), "what leaks past the piston's lip, hot and cold"),
        (("friction-plate-thickness",), "how much fluid the clutches take"),
        (("modulator-force",), "the throttle signal"),
    )
    found = next((says for names, says in groups if name in names), "")
    return found or ("what drips parked" if name.endswith("-ring-reach") else "")


def _shows(name: str) -> str:
    known = shipped_measures().get(name)
    return (known.shows if known is not None else "") or "judged by its window; nobody says what it changes"
