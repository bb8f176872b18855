"""The book of work of a job as tasks use it: read with the parts of its box, and written once."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from difflib import get_close_matches
from typing import Any, TypedDict, TypeVar

from bellhousing.boxes.box import Box
from bellhousing.boxes.parts_tree import Flange, Part, PartsTree
from bellhousing.errors import BellhousingError, BoxFileError, FindingError, RecordError
from bellhousing.records.entries import CLOSED
from bellhousing.records.work_book import BookMoved
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.hearing import need_letters
from bellhousing.tasks.measuring import MEASURED
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.settings_terms import settings_terms
from bellhousing.tasks.shop import Shop
from bellhousing.work.account import Terms, terms_of
from bellhousing.work.entries import AS_DRAWN, WITHDRAWN, WorkEntry, chain_of, number_of, standing
from bellhousing.work.ledger import ledger
from bellhousing.work.naming import find_parts, plain

MOST = 99
# How often something is held against the book anew when others write in it at the same moment.
MOST_ANEW = 40
LONGEST_TAG = 24
Kept = TypeVar("Kept")


class BookLine(Shape):
    """One entry of the book of work; `stands` is false once it was corrected or withdrawn."""

    number: int
    at: str
    who: str
    kind: str
    subject: str
    data: Mapping[str, Any]
    supersedes: int | None
    stands: bool
    text: str


class Sender(TypedDict, total=False):
    """Who did it, the sender's key, and the entry it is put in place of."""

    who: str
    key: str | None
    corrects: int | None


@dataclass(frozen=True)
class Book:
    """A job, the parts of its box (None if its file lists none), all of its book, and what was measured."""

    shop: Shop
    job: int
    box: Box | None
    tree: PartsTree | None
    entries: tuple[WorkEntry, ...]
    usual: Terms
    taken: Mapping[str, datetime]

    @property
    def newest(self) -> int:
        """The number of the newest entry, 0 where there is none."""
        return max((number_of(entry) for entry in self.entries), default=0)

    def need_box(self) -> Box:
        """Return the box; raises as `need_tree`."""
        self.need_tree()
        assert self.box is not None
        return self.box

    def need_tree(self) -> PartsTree:
        """Return the parts of the box.

        Raises
        ------
        BoxFileError : its file lists none, or cannot be used any more
        """
        if self.tree is None:
            name = self.box.name if self.box is not None else f"the box of job {self.job}"
            raise BoxFileError(
                f"{name} has no list of its parts, so nothing can be counted",
                remedy="add `strip` to its file",
            )
        return self.tree


def read_book(shop: Shop, job: int) -> Book:
    """Return the book of work of a job; a box that can no longer be used has no parts.

    Raises
    ------
    RecordError : no such job
    """
    car = shop.store.car(shop.store.job(job).car)
    try:
        box = shop.box(car.box)
    except BellhousingError:
        box = None
    tree = box.parts_tree if box is not None else None
    return Book(shop, job, box, tree, shop.store.work_entries(job), usual_terms(shop), _taken(shop, job))


def _taken(shop: Shop, job: int) -> dict[str, datetime]:
    """What was measured or noted on the job by its short name, and when first."""
    first: dict[str, datetime] = {}
    for entry in shop.store.current_findings(job):
        at_bench = entry.conditions.get(MEASURED)
        name = at_bench.get("measure") if isinstance(at_bench, Mapping) else entry.finding
        if isinstance(name, str):
            first.setdefault(name, entry.at)
    return first


def usual_terms(shop: Shop) -> Terms:
    """Return the terms said last on any job, else those of the settings: they hold where a job says none."""
    last = shop.store.last_work_entry("terms")
    return settings_terms(shop) if last is None else terms_of([last], settings_terms(shop))


def write(
    book: Book,
    kind: str,
    subject: str,
    data: Mapping[str, Any] | Callable[[Book], Mapping[str, Any]],
    *,
    who: str = WHO,
    key: str | None = None,
    corrects: int | None = None,
) -> WorkEntry:
    """Keep one entry; `corrects` is the entry it is put in place of, `data` may be worked out of the book.

    Where somebody else writes in the book meanwhile, in whatever program, the entry is held against the book
    as it then is: what one finds free another cannot take at the same moment.

    Raises
    ------
    RecordError : it cannot be kept, or it does not fit what the book says; then nothing was written
    """

    def attempt(now: Book) -> WorkEntry:
        return _write(now, kind, subject, data(now) if callable(data) else data, who, key, corrects)

    return until_kept(book, attempt)


def until_kept(book: Book, attempt: Callable[[Book], Kept]) -> Kept:
    """What an attempt on the book gives; on the book as it then is, where others wrote in it meanwhile.

    Raises
    ------
    BookMoved : somebody wrote at every attempt
    """
    for _ in range(MOST_ANEW - 1):
        try:
            return attempt(book)
        except BookMoved:
            book = read_book(book.shop, book.job)
    return attempt(book)


def _write(
    book: Book,
    kind: str,
    subject: str,
    data: Mapping[str, Any],
    who: str,
    key: str | None,
    corrects: int | None,
) -> WorkEntry:
    if book.shop.store.job(book.job).status == CLOSED:
        raise RecordError(
            f"job {book.job} is closed", remedy=f"open it again first (bellhousing job reopen {book.job})"
        )
    for text in (subject, who, *(value for value in data.values() if isinstance(value, str))):
        need_letters(text)
    entry = WorkEntry(
        job=book.job,
        at=book.shop.clock(),
        who=" ".join(book.shop.signed(who).split()),
        kind=kind,
        subject=subject,
        data={name: value for name, value in data.items() if value not in ("", None)},
        supersedes=corrects,
        key=key,
    )
    if book.tree is not None and not any(key is not None and known.key == key for known in book.entries):
        _need_fit(book, book.tree, entry)
    return book.shop.store.add_work_entry(entry, after=book.newest)


def _need_fit(book: Book, tree: PartsTree, entry: WorkEntry) -> None:
    last = max((number_of(known) for known in book.entries), default=0)
    after = ledger(tree, (*book.entries, replace(entry, id=last + 1)))
    # A correction takes the place of the old entry, so what it says stands under either number.
    for ignored in after.ignored:
        if ignored.entry == last + 1:
            raise RecordError(ignored.why, where=entry.subject, remedy="nothing was written")


def withdraw_work(shop: Shop, job: int, entry: int, reason: str, *, who: str = WHO) -> tuple[BookLine, ...]:
    """Note that an entry no longer counts, with the reason; its chain from the first to the withdrawal.

    Raises
    ------
    RecordError : no such entry, no reason, or it was corrected or withdrawn before
    """
    book = read_book(shop, job)
    old = chain_of(book.entries, entry)
    subject = next(known.subject for known in old if known.id == entry)
    if not reason.strip():
        raise RecordError(
            "a withdrawal needs a reason", where=f"entry {entry}", remedy="say why it does not hold"
        )
    write(book, WITHDRAWN, subject, {"reason": reason}, who=who, corrects=entry)
    return book_lines(shop, job, entry)


def book_lines(shop: Shop, job: int, entry: int | None = None) -> tuple[BookLine, ...]:
    """Return the whole book of a job, or the chain of corrections one entry belongs to.

    Raises
    ------
    RecordError : no such job or entry
    """
    book = read_book(shop, job)
    counted = {known.id for known in standing(book.entries)}
    wanted = book.entries if entry is None else chain_of(book.entries, entry)
    return tuple(_line(known, known.id in counted) for known in wanted)


def _line(entry: WorkEntry, stands: bool) -> BookLine:
    told = [f"{name.replace('_', ' ')} {_said(value)}" for name, value in entry.data.items()]
    pointed = f" (in place of {entry.supersedes})" if entry.supersedes is not None else ""
    return BookLine(
        number=number_of(entry),
        at=entry.at.astimezone(UTC).isoformat(timespec="seconds"),
        who=entry.who,
        kind=entry.kind,
        subject=entry.subject,
        data=entry.data,
        supersedes=entry.supersedes,
        stands=stands,
        text=f"{entry.kind.replace('-', ' ')}, {entry.subject}: {', '.join(told) or 'done'}{pointed}",
    )


def _said(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(str(one) for one in value)
    return str(value)


def find_flange(tree: PartsTree, said: str) -> Flange:
    """Return the flange somebody means, by its own name or that of the one part it holds.

    Raises
    ------
    FindingError : it could be none, or several
    """
    if said in tree.flanges:
        return tree.flanges[said]
    wanted = plain(said)
    named = [flange for flange in tree.flanges.values() if wanted in (plain(flange.name), plain(flange.slug))]
    if not named:
        named = [
            flange
            for flange in tree.flanges.values()
            for part in tree.held_by(flange.slug)
            if wanted in {plain(name) for name in (part.name, part.slug, *part.words)}
        ]
    if not named and wanted:
        words = set(wanted.split())
        named = [flange for flange in tree.flanges.values() if words <= set(plain(flange.name).split())]
    found = list(dict.fromkeys(flange.slug for flange in named))
    if len(found) == 1:
        return tree.flanges[found[0]]
    if found:
        raise FindingError(f"'{said[:60]}' could be several flanges", remedy=f"say which: {', '.join(found)}")
    near = get_close_matches(said.lower(), list(tree.flanges), n=3, cutoff=0.4) or list(tree.flanges)[:6]
    raise FindingError(f"this box has no flange '{said[:60]}'", remedy=f"say one of: {', '.join(near)}")


def find_part(tree: PartsTree, said: str) -> Part:
    """Return the one part somebody means.

    Raises
    ------
    FindingError : it could be none, or several
    """
    found = find_parts(tree, said)
    if len(found) > 1:
        raise FindingError(f"'{said[:60]}' means several parts", remedy=f"say which: {', '.join(found)}")
    return tree.parts[found[0]]


def read_numbers(said: str) -> list[int] | str:
    """Read numbers of holes or pockets: "all", "as drawn", "1,2,5", "1-4 6".

    Raises
    ------
    FindingError : it is neither
    """
    text = said.strip().lower()
    if text in ("", "all", "as drawn", AS_DRAWN):
        return AS_DRAWN
    found: list[int] = []
    for piece in text.replace(",", " ").replace(";", " ").split():
        first, dash, last = piece.partition("-")
        if not (first.isdecimal() and (last.isdecimal() or not dash)) or max(len(first), len(last)) > 2:
            raise FindingError(
                f"'{said[:60]}' are no numbers of holes", remedy="write them like 1,2,5 or 1-4"
            )
        low, high = int(first), int(last or first)
        if not 1 <= low <= high <= MOST:
            raise FindingError(f"'{piece}' is no number of a hole", remedy="they count from 1, clockwise")
        found += range(low, high + 1)
    return list(dict.fromkeys(found))


def read_tag(said: str) -> str:
    """Return a bag's tag, short and plain enough to be written on it by hand.

    Raises
    ------
    FindingError : it is too long, or holds signs
    """
    tag = " ".join(said.split())
    if re.fullmatch(r"\w[\w .-]*", tag) is None or len(tag) > LONGEST_TAG:
        raise FindingError(
            f"'{said[:LONGEST_TAG]}' is no tag", remedy=f"letters and figures, at most {LONGEST_TAG}, like B1"
        )
    return tag


def one_of(said: str, choices: Sequence[str], what: str) -> str:
    """Return the choice somebody means, spelt with spaces or hyphens.

    Raises
    ------
    FindingError : it is none of them
    """
    wanted = "-".join(said.lower().split())
    if wanted in choices:
        return wanted
    begun = [choice for choice in choices if wanted and choice.startswith(wanted)]
    if len(begun) == 1:
        return begun[0]
    raise FindingError(f"'{said[:40]}' is no {what}", remedy=f"say one of: {', '.join(choices)}")
