"""Learning from closed jobs: what moved, the setting, jobs forgotten, tallies out and in."""

from __future__ import annotations

import json
from pathlib import Path

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.learning import (
    BACKGROUND_CARS,
    CAUSE_CARS,
    STRENGTH_CARS,
    Moved,
    learnt,
)
from bellhousing.diagnosis.tally import LARGEST, Counts, Tally, added, plain_tally, read_tally, tally_digest
from bellhousing.errors import InputFileError, RecordError
from bellhousing.tasks import counting
from bellhousing.tasks.learn_shapes import LearnAnswer, LearnJob, LearnKind, LearnMoved, LearnTally
from bellhousing.tasks.new_file import write_new
from bellhousing.tasks.shop import Shop

PRIOR = (
    f"The catalogue’s figures count as {CAUSE_CARS:.0f} cars for how common each cause is, as "
    f"{STRENGTH_CARS:.0f} cars with the fault for what each finding shows, and as {BACKGROUND_CARS:.0f} cars "
    "for what is seen without a fault; each closed job counts as one."
)
MOST_TALLIES = 200


def learning(shop: Shop, said: str = "") -> LearnAnswer:
    """What is used of closed jobs and what it moved; `said` is what was just done."""
    state = counting.decided(shop.store.learning_events())
    own = own_tally(shop)
    taken = counting.taken_in(shop.catalogue, state)
    used = added([*([own] if state.own else []), *taken.values()])
    kinds = []
    for kind in FAMILIES:
        counts = used.get(kind, Counts())
        mine = own.get(kind, Counts())
        if not counts.cars and not mine.cars:
            continue
        catalogue, moved = learnt(shop.catalogue, counts, kind)
        kinds.append(
            LearnKind(
                kind=kind,
                cars=counts.cars,
                own=mine.cars,
                digest=catalogue.digest,
                moved=tuple(_moved(shop, entry) for entry in moved),
            )
        )
    return LearnAnswer(
        own_used=state.own,
        kinds=tuple(kinds),
        jobs=tuple(
            LearnJob(job=job.number, car=job.car, causes=job.causes, forgotten=job.number in state.forgotten)
            for job in shop.store.closed_jobs()
        ),
        tallies=tuple(
            LearnTally(digest=digest, cars=_cars(taken.get(digest, {})), counts=digest in taken)
            for digest in state.tallies
        ),
        prior=PRIOR,
        said=said,
    )


def own_tally(shop: Shop) -> Tally:
    """What the shop's own closed jobs hold, whether or not it is used."""
    state = counting.decided(shop.store.learning_events())
    return shop.own_count.tally(shop.store, state)


def use_own(shop: Shop, use: bool) -> LearnAnswer:
    """Use the shop's own closed jobs from now on, or leave them; nothing is lost either way."""
    event = counting.USE if use else counting.LEAVE
    shop.store.add_learning_event(event, at=shop.clock(), who=shop.who)
    said = "are used from now on" if use else "are left aside from now on; nothing is lost"
    return learning(shop, f"The shop’s own closed jobs {said}.")


def forget(shop: Shop, job: int) -> LearnAnswer:
    """Learn no more from a job: the figures are what they would be had it never been closed with its causes.

    Raises
    ------
    RecordError : no such job, or one that is not learnt from.
    """
    state = counting.decided(shop.store.learning_events())
    if job in state.forgotten or all(closed.number != job for closed in shop.store.closed_jobs()):
        shop.store.job(job)
        raise RecordError(f"job {job} is not learnt from", remedy="see which are: bellhousing learn")
    shop.store.add_learning_event(counting.FORGET, at=shop.clock(), who=shop.who, job=job)
    return learning(shop, f"Job {job} is forgotten; bellhousing learn --recall {job} takes that back.")


def recall(shop: Shop, job: int) -> LearnAnswer:
    """Learn again from a job that was forgotten; RecordError if it was not."""
    if job not in counting.decided(shop.store.learning_events()).forgotten:
        shop.store.job(job)
        raise RecordError(f"job {job} was not forgotten", remedy="see which were: bellhousing learn")
    shop.store.add_learning_event(counting.RECALL, at=shop.clock(), who=shop.who, job=job)
    return learning(shop, f"Job {job} is learnt from again.")


def tally_text(shop: Shop) -> str:
    """The shop's own counts as a file: faults, findings and how often; no names, dates or job numbers."""
    return json.dumps(plain_tally(own_tally(shop)), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def export_tally(shop: Shop, path: Path) -> LearnAnswer:
    """Write the shop's own counts to a new file.

    Raises
    ------
    InputFileError : a file that is there already, or cannot be written.
    """
    write_new(path, tally_text(shop).encode(), what="the tally")
    count = _cars(own_tally(shop))
    return learning(shop, f"The tally of {count} closed {'job' if count == 1 else 'jobs'} is in {path}.")


def import_tally(shop: Shop, path: Path) -> LearnAnswer:
    """Take in the counts of a file.

    Raises
    ------
    InputFileError : no tally, a count that cannot be, one taken in before, or the shop's own.
    """
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST + 1)
    except OSError as error:
        raise InputFileError(
            f"the file cannot be read, {error.strerror}", where=str(path), remedy="give a tally file"
        ) from None
    return take_in(shop, content, str(path))


def take_in(shop: Shop, content: bytes, where: str) -> LearnAnswer:
    """Take in the counts that were sent; raises as `import_tally`."""
    tally = read_tally(content, shop.catalogue, where)
    digest = tally_digest(tally)
    state = counting.decided(shop.store.learning_events())
    if not _cars(tally):
        raise InputFileError("that tally counts no cars", where=where)
    if digest in state.tallies:
        raise InputFileError(
            "that tally was taken in before, and counts once",
            where=where,
            remedy=f"bellhousing learn --take-back {digest[:12]} takes it back",
        )
    if digest == tally_digest(own_tally(shop)):
        raise InputFileError("that is this shop’s own tally, and its jobs count already", where=where)
    if len(state.tallies) >= MOST_TALLIES:
        raise InputFileError("too many tallies are in already", where=where, remedy="take some back first")
    shop.store.add_learning_event(
        counting.IN, at=shop.clock(), who=shop.who, digest=digest, data=plain_tally(tally)
    )
    return learning(shop, f"Taken in: {_cars(tally)} closed jobs of others, tally {digest[:12]}.")


def take_back(shop: Shop, digest: str) -> LearnAnswer:
    """Take a tally back by the start of its digest; RecordError unless exactly one begins so."""
    standing = counting.decided(shop.store.learning_events()).tallies
    found = [known for known in standing if digest and known.startswith(digest.casefold())]
    if len(found) != 1:
        raise RecordError(
            "no tally begins so" if not found else "several tallies begin so",
            where=digest[:64],
            remedy="see the tallies: bellhousing learn",
        )
    shop.store.add_learning_event(counting.OUT, at=shop.clock(), who=shop.who, digest=found[0])
    return learning(shop, f"Tally {found[0][:12]} is taken back; its cars count no more.")


def _cars(tally: Tally) -> int:
    return sum(counts.cars for counts in tally.values())


def _moved(shop: Shop, entry: Moved) -> LearnMoved:
    faults, findings = shop.catalogue.faults, shop.catalogue.findings
    fault = None if entry.fault is None else faults[entry.fault].name
    shown = ""
    if entry.finding is not None and entry.state is not None:
        finding = findings[entry.finding]
        shown = f"{finding.name}: {finding.state_names.get(entry.state, entry.state)}"
    what = (
        f"{fault} shows {shown}" if fault and shown else fault or f"{shown}, without a fault that bears on it"
    )
    return LearnMoved(
        what=what,
        kind=entry.kind,
        cause=entry.fault,
        finding=entry.finding,
        state=entry.state,
        before=entry.before,
        after=entry.after,
        spread=entry.spread,
        counted=entry.counted,
        of=entry.of,
    )
