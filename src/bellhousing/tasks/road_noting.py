"""What a log tells, noted on a job: each thing once, put right when the log is read otherwise."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.evidence import Evidence, check_evidence
from bellhousing.errors import FindingError
from bellhousing.records.entries import Entry
from bellhousing.tasks.shop import Shop

WHO = "log"
READ_AGAIN = "the log was read again, with other columns"


def note_findings(shop: Shop, job: int, box: Box, log: str, entries: Sequence[Entry]) -> None:
    """Note what a log tells; what an earlier reading of it told is kept, corrected or withdrawn.

    What somebody took back by hand is not noted again, unless the log now tells something else.

    Raises
    ------
    RecordError : no such job.
    """
    catalogue = shop.listener.catalogues[box.kind]
    standing = {
        entry.finding: entry
        for entry in shop.store.current_findings(job)
        if entry.who == WHO and entry.conditions.get("log") == log
    }
    for entry in entries:
        assert entry.finding is not None
        try:
            check_evidence(_evidence(entry), catalogue, box)
        except FindingError:
            continue
        old = standing.pop(entry.finding, None)
        if old is None:
            _add(shop, job, entry, log)
        elif old.said != entry.said:
            shop.store.correct_finding(old.id, entry, at=shop.clock(), who=WHO)
    for old in standing.values():
        shop.store.withdraw_finding(old.id, at=shop.clock(), who=WHO, reason=READ_AGAIN)


def _add(shop: Shop, job: int, entry: Entry, log: str) -> None:
    told = hashlib.sha256(entry.said.encode()).hexdigest()[:8]
    key = f"log/{log.removesuffix('.parquet')}/{job}/{entry.finding}/{told}"
    added = shop.store.add_finding(job, entry, at=shop.clock(), who=WHO, key=key)
    later = [other for other in shop.store.findings(job) if other.supersedes == added.id]
    if any(other.who == WHO for other in later):
        # It was told before, and another reading in between had put something else in its place.
        shop.store.add_finding(job, entry, at=shop.clock(), who=WHO)


def _evidence(entry: Entry) -> Evidence:
    return Evidence(entry.finding or "", entry.states, None, entry.value_si, entry.standard_uncertainty)
