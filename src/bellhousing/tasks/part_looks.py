"""What a part looks like once it is off: decided on in the ledger, and taken into the diagnosis."""

from __future__ import annotations

from functools import partial
from typing import Unpack

from bellhousing.tasks import noting
from bellhousing.tasks.answers import NoteAnswer
from bellhousing.tasks.ledger_parts import note_part
from bellhousing.tasks.ledger_shapes import LedgerAnswer
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Sender, find_part, read_book

IN_THE_HAND = ("pan", "bench")
"""Stages of the findings that are seen on a part in the hand."""


def look_at_part(
    shop: Shop,
    job: int,
    part: str,
    condition: str,
    decision: str,
    *,
    reason: str = "",
    number: str = "",
    **sender: Unpack[Sender],
) -> LedgerAnswer:
    """Note a part as `note_part`, and among the job's findings where its condition is understood as one.

    The answer says what was understood; a finding is put right or taken back on the sheet as any other.

    Raises
    ------
    FindingError, BoxFileError : as `note_part`
    RecordError : no such job, or a closed one
    """
    kept = note_part(shop, job, part, condition, decision, reason=reason, number=number, **sender)
    book = read_book(shop, job)
    if book.box is None:
        return kept
    name = find_part(book.need_tree(), part).name
    key, who = sender.get("key"), sender.get("who", noting.WHO)
    own_key = None if key is None else f"{key}-look"
    wanted = partial(_seen_in_the_hand, shop)
    for line in (f"{name} {condition.strip()}", condition.strip()):
        noted = noting.note_where(shop, job, line, wanted, who=who, key=own_key)
        if noted is not None:
            counts = "; ".join(str(one.understood) for one in noted.findings)
            return kept.model_copy(update={"said": f"{kept.said} It counts among the causes: {counts}."})
    told = "The causes do not know these words; what is to count there is written on the sheet."
    return kept.model_copy(update={"said": f"{kept.said} {told}"})


def _seen_in_the_hand(shop: Shop, heard: NoteAnswer) -> bool:
    found = [one.finding for one in heard.findings]
    return not heard.problems and all(
        name is not None and shop.catalogue.findings[name].stage in IN_THE_HAND for name in found
    )
