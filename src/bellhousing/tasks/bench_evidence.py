"""What was measured on the bench as something heard: numbers of a job or a file that findings ask for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.bench_findings import bench_findings
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.evidence import check_evidence
from bellhousing.errors import BellhousingError
from bellhousing.fits.measurement import Heat, measure
from bellhousing.road.bench import BenchNumber
from bellhousing.tasks.hearing import Heard, usable
from bellhousing.tasks.measured_words import read_measurement

if TYPE_CHECKING:
    from bellhousing.tasks.shop import Shop

HEAT_KNOWN_TO = 2.0
"""How far a temperature said may be off, either way [K]; common practice, no source."""


@dataclass(frozen=True)
class OnBench:
    """One number of the bench with its sentence, its name and the unit it was entered in.

    `expanded` is the half-width that holds 95 in 100 [SI].
    """

    measured: BenchNumber
    said: str
    name: str
    unit: str
    expanded: float
    number: int | None = None


def said_on_bench(text: str, box: Box) -> OnBench:
    """Read a sentence of what was measured, such as "pump face clearance 0.0045 in".

    Raises
    ------
    QuantityError : nothing that is measured on this box, no figure, or an impossible one.
    """
    read = read_measurement(text, box)
    heat = None if read.temperature is None else Heat(read.temperature, HEAT_KNOWN_TO)
    done = measure(read.readings, read.instrument, unit=read.unit, heat=heat)
    number = BenchNumber(read.measure.id, done.value, done.standard_uncertainty)
    return OnBench(number, text, read.measure.name, read.unit, done.budget.expanded())


def on_bench_of_job(shop: Shop, job: int) -> tuple[OnBench, ...]:
    """Numbers of a job that count, the last of each measure."""
    from bellhousing.tasks import measuring  # brings the records, which a findings file does not need

    return tuple(
        OnBench(
            BenchNumber(entry.measure, *measuring.value_si(entry)),
            entry.said,
            entry.name,
            entry.unit,
            measuring.width_si(entry.expanded, entry.unit),
            entry.number,
        )
        for entry in measuring.measured_on_job(shop, job)
        if entry.counts
    )


def heard_from_bench(numbers: Sequence[OnBench], box: Box, catalogue: Catalogue) -> tuple[Heard, ...]:
    """The findings that numbers of the bench are, each said as the number that decides it."""
    by_id = {entry.measured.id: entry for entry in numbers}
    kind = catalogue.of_family(box.kind)
    heard = []
    for found in bench_findings([entry.measured for entry in by_id.values()], box, kind):
        try:
            check_evidence(found.evidence, kind, box)
        except BellhousingError:
            continue  # of a part this box does not have
        entry = by_id[found.decided_by]
        heard.append(
            usable(
                said=entry.said,
                finding=kind.finding(found.evidence.finding),
                evidence=found.evidence,
                unit=entry.unit if found.evidence.value is not None else None,
                number=entry.number,
            )
        )
    return tuple(heard)


def heard_on_job(shop: Shop, job: int) -> tuple[Heard, ...]:
    """Everything that stands on a job in the order noted, what was measured counted as the finding it is."""
    from bellhousing.tasks import noting  # as above

    noted = noting.heard_on_job(shop, job)
    numbers = on_bench_of_job(shop, job)
    if not numbers:
        return noted
    box = shop.box(shop.store.car(shop.store.job(job).car).box)
    counted = {heard.answer.number: heard for heard in heard_from_bench(numbers, box, shop.catalogue)}
    return tuple(
        counted.get(entry.answer.number, entry) if entry.evidence is None else entry for entry in noted
    )
