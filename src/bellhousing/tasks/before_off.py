"""What must be known before a part is undone: measured, looked at, or declined, and taken into the diagnosis.

A figure of the bench goes among the measurements of the job, a look among its findings, so that it counts
there as it would if it had been written there.
"""

from __future__ import annotations

from typing import Unpack

from bellhousing.boxes.parts_tree import Part
from bellhousing.diagnosis.catalogue import Finding
from bellhousing.errors import FindingError, QuantityError, RecordError
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.show import show
from bellhousing.tasks import noting
from bellhousing.tasks.ledger_parts import note_baseline
from bellhousing.tasks.ledger_shapes import LedgerAnswer
from bellhousing.tasks.measuring import measure_on_job
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Book, Sender, find_part, one_of, read_book
from bellhousing.work.ledger import ledger
from bellhousing.work.open_items import plain, the


def take_baseline(
    shop: Shop, job: int, part: str, measure: str, value: str, **sender: Unpack[Sender]
) -> LedgerAnswer:
    """Keep what was measured or seen before a part is undone, among the job's findings as well.

    `value` is a figure with or without its unit, or for a look the state seen.

    Raises
    ------
    FindingError, BoxFileError : nothing of that name is asked there, or no such state
    QuantityError : no figure, or one that cannot be
    RecordError : no such job, or a closed one
    """
    book = read_book(shop, job)
    found = find_part(book.need_tree(), part)
    name = one_of(measure, [row.measure for row in found.measure_before], f"measure of the {the(found.name)}")
    if not value.strip():
        raise FindingError("say what it showed", where=plain(name), remedy="or decline it with a reason")
    who, key = sender.get("who", noting.WHO), sender.get("key")
    own_key = None if key is None else f"{key}-before"
    bench = None if book.box is None else book.box.measurements.get(name)
    finding = shop.catalogue.findings.get(name)
    if bench is not None:
        said = value.strip()
        kept = measure_on_job(shop, job, f"{bench.measure.name} {said}", who=who, key=own_key)
        if kept.measure != name:
            raise QuantityError(f"'{said[:60]}' is no {bench.measure.name}", remedy="write only the figure")
        return note_baseline(shop, job, part, name, value=f"{kept.value:g} {kept.unit}", **sender)
    if finding is not None:
        said = _seen(shop, job, finding, value.strip(), who, own_key)
        return note_baseline(shop, job, part, name, value=said, **sender)
    return note_baseline(shop, job, part, name, value=value, **sender)


def _seen(shop: Shop, job: int, finding: Finding, value: str, who: str, key: str | None) -> str:
    """Note a finding by its figure or its state; how it is said."""
    states: tuple[str, ...] = ()
    if finding.kind == "states":
        states = (one_of(value, list(finding.state_names), finding.name),)
        said = finding.state_names[states[0]]
        line = f"{finding.name}: {said}"
    else:
        read = parse_measured(value, usual_unit=finding.unit, possible=finding.possible)
        said = show(read.value, finding.unit)
        line = f"{finding.name} {said}"
    kept = noting.note(shop, job, line, who=who, key=key).findings
    first = kept[0]
    right = first.finding == finding.id and (not states or first.value == states[0])
    if not right and first.number is not None:
        more = None if key is None else f"{key}-instead"
        noting.take_instead(shop, job, first.number, finding.id, states=states, who=who, key=more)
    return said


def need_measured(book: Book, parts: tuple[Part, ...]) -> None:
    """Refuse to go on while what is lost by undoing a part is neither known nor declined.

    Raises
    ------
    RecordError : what must be measured first, and of what
    """
    state = ledger(book.need_tree(), book.entries)
    for part in parts:
        left = [
            row for row in part.measure_before if not state.parts[part.slug].measured(row.measure, book.taken)
        ]
        if left and not state.parts[part.slug].ever_off:
            raise RecordError(
                f"first {plain(left[0].measure)}: {left[0].why}",
                where=part.name,
                remedy="write down what it shows, or decline it with a reason; afterwards it cannot be known",
            )
