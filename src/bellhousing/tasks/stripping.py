"""What must come off, in which order, to reach some parts of a box, or where a job's leading causes sit."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Unpack

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.boxes.parts_tree import PartsTree
from bellhousing.diagnosis.posterior import SOUND, Cause
from bellhousing.errors import BoxFileError, FindingError
from bellhousing.quantities.odds import in_100
from bellhousing.tasks.file_answers import box_and_looks, read_case
from bellhousing.tasks.on_job import on_job
from bellhousing.tasks.reckoning import Reckoning
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.strip_shapes import StripAnswer, StripElsewhere, StripTarget
from bellhousing.tasks.strip_words import StripTeller, time_text
from bellhousing.tasks.tries import combined
from bellhousing.tasks.work_book import Book, Sender, read_book, write
from bellhousing.work.ledger import ledger
from bellhousing.work.naming import find_parts
from bellhousing.work.strip import aimed_at, strip_plan

LEADING = 0.15
"""Probability from which a cause is worth reaching for; common practice, no source."""

MOST_LEADING = 4
_FINDINGS = re.compile(rb"^findings\s*:", re.MULTILINE)
_SNIFFED = 65536


@dataclass(frozen=True)
class Aim:
    """A part to reach and why."""

    part: str
    why: str


def strip(
    box: Box,
    aims: Sequence[Aim],
    *,
    off: Collection[str] = (),
    measured: Mapping[str, Collection[str]] | None = None,
    elsewhere: Sequence[StripElsewhere] = (),
    notes: Sequence[str] = (),
) -> StripAnswer:
    """The least work that reaches some parts of a box.

    `off` are parts that are off already; `measured` what was measured, or declined, before a part is undone.

    Raises
    ------
    BoxFileError : the box file has no parts tree.
    FindingError : nothing is aimed at, or a part that never comes off.
    """
    tree = need_tree(box)
    plan = strip_plan(tree, [aim.part for aim in aims], off)
    steps = StripTeller(box, tree, plan, measured or {}).steps()
    targets = tuple(_target(tree, aims, slug) for slug in plan.targets)
    return StripAnswer(
        box=box.slug,
        box_name=box.name,
        headline=_headline(tree, plan.targets, len(steps), plan.minutes),
        minutes=plan.minutes,
        targets=targets,
        steps=steps,
        off=tuple(part.name for part in tree.parts.values() if part.slug in off),
        to_measure=sum(not row.done for step in steps for row in step.measure_before),
        elsewhere=tuple(elsewhere),
        source=tree.source,
        notes=tuple(notes),
    )


def strip_of_box(name: str, to: Sequence[str]) -> StripAnswer:
    """What comes off a box, by name or by path of its file, to reach parts named in plain words.

    Raises
    ------
    BoxFileError : no such box, or one without a parts tree.
    FindingError : no part is named, or one that the box does not have, with the nearest names.
    """
    box = load_box(name)
    return strip(box, aims_of(need_tree(box), to))


def strip_of_job(shop: Shop, job: int, to: Sequence[str] = ()) -> StripAnswer:
    """What comes off the box of a job, from where its strip stands now.

    Without `to` it is to the parts chosen last, or where none were to the seats of the leading causes.

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box cannot be used, or has no parts tree.
    FindingError : a part the box does not have, or no leading cause that sits in a part of the box.
    """
    box = shop.box(shop.store.car(shop.store.job(job).car).box)
    tree = need_tree(box)
    elsewhere: tuple[StripElsewhere, ...] = ()
    book = read_book(shop, job)
    chosen = tuple(to) or aimed_at(book.entries)
    if chosen:
        aims = aims_of(tree, chosen)
    else:
        aims, elsewhere = leading_aims(tree, on_job(shop, job).reckoning.diagnosis.causes)
    parts = ledger(tree, book.entries).parts
    asked = {part.slug: [row.measure for row in part.measure_before] for part in tree.parts.values()}
    return strip(
        box,
        aims,
        off={slug for slug, state in parts.items() if state.off},
        measured={
            slug: [one for one in asked[slug] if state.measured(one, book.taken)]
            for slug, state in parts.items()
        },
        elsewhere=elsewhere,
    )


def choose_aims(shop: Shop, job: int, to: Sequence[str], **sender: Unpack[Sender]) -> StripAnswer:
    """Choose the parts the strip of a job is to reach; they hold until others are chosen.

    Raises
    ------
    RecordError : no such job, or a closed one.
    BoxFileError : the box has no parts tree.
    FindingError : no part is named, or one the box does not have, with the nearest names.
    """
    book: Book = read_book(shop, job)
    aims = dict.fromkeys(aim.part for aim in aims_of(book.need_tree(), to))
    write(book, "aim", "strip", {"parts": ", ".join(aims)}, **sender)
    return strip_of_job(shop, job)


def strip_of_file(path: Path, to: Sequence[str] = ()) -> StripAnswer:
    """What comes off the box of a findings file; without `to` to the causes that lead after its findings.

    What the file tells of need not be measured before a part is undone.

    Raises
    ------
    InputFileError : a malformed file, a finding that cannot be, naming its line.
    BoxFileError : the box cannot be used, or has no parts tree.
    FindingError : as `strip_of_job`; nothing at all was understood.
    """
    box, looks = box_and_looks(path)
    tree = need_tree(box)
    measured = {
        slug: [row.measure for row in part.measure_before if row.measure in looks]
        for slug, part in tree.parts.items()
    }
    if to:
        return strip(box, aims_of(tree, to), measured=measured)
    case = read_case(path)
    taken = combined(case.heard, case.prepared.catalogue)
    evidence = tuple(entry.evidence for entry in taken if entry.evidence is not None)
    aims, elsewhere = leading_aims(tree, Reckoning(case.prepared, evidence).diagnosis.causes)
    notes = [entry.answer.said for entry in case.heard if entry.evidence is None]
    return strip(box, aims, measured=measured, elsewhere=elsewhere, notes=notes)


def is_findings_file(name: str) -> bool:
    """Whether a name is that of a file of findings and not of a box."""
    try:
        with Path(name).open("rb") as stream:
            return _FINDINGS.search(stream.read(_SNIFFED)) is not None
    except (OSError, ValueError):
        return False


def need_tree(box: Box) -> PartsTree:
    """The parts tree of a box.

    Raises
    ------
    BoxFileError : its file has none.
    """
    if box.parts_tree is None:
        raise BoxFileError(
            f"{box.name} has no parts tree, so nothing is known of what comes off before what",
            where=box.slug,
            remedy="type the section `strip` into its box file; the blank box files show how",
        )
    return box.parts_tree


def aims_of(tree: PartsTree, to: Sequence[str]) -> tuple[Aim, ...]:
    """The parts that plain words name.

    Raises
    ------
    FindingError : no part is named, or one the box does not have, with the nearest names.
    """
    if not to:
        raise FindingError("no part is aimed at", remedy='name one with --to, such as --to "front pump"')
    return tuple(Aim(slug, f"asked for: {text}") for text in to for slug in find_parts(tree, text))


def leading_aims(
    tree: PartsTree, causes: Sequence[Cause]
) -> tuple[tuple[Aim, ...], tuple[StripElsewhere, ...]]:
    """The seats of the leading causes, and those leading causes that sit in no part of the box.

    Raises
    ------
    FindingError : no cause leads, or none of them sits in a part of the box.
    """
    leading = [cause for cause in causes if cause.id != SOUND and cause.probability >= LEADING]
    aims: list[Aim] = []
    elsewhere: list[StripElsewhere] = []
    for cause in leading[:MOST_LEADING]:
        seats = tree.seats_of(cause.id)
        why = f"{cause.name}, {in_100(cause.probability)}"
        aims += [Aim(part.slug, why) for part in seats]
        if not seats:
            elsewhere.append(StripElsewhere(cause=cause.id, name=cause.name, probability=cause.probability))
    if not aims:
        outside = ", ".join(entry.name for entry in elsewhere)
        said = f"what leads sits in no part of the box: {outside}" if outside else "no cause leads yet"
        raise FindingError(said, remedy="look further, or name the parts to reach with --to")
    return tuple(aims), tuple(elsewhere)


def _target(tree: PartsTree, aims: Sequence[Aim], slug: str) -> StripTarget:
    why = dict.fromkeys(aim.why for aim in aims if aim.part == slug)
    return StripTarget(part=slug, name=tree.parts[slug].name, why="; ".join(why))


def _headline(tree: PartsTree, targets: Sequence[str], steps: int, minutes: float) -> str:
    names = ", ".join(tree.parts[slug].name for slug in targets)
    if not steps:
        return f"To {names}: off already"
    return f"To {names}: {steps} step{'s' if steps > 1 else ''}, {time_text(minutes)}"
