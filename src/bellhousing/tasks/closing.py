"""Closing a job: nothing closes while something is open, unless the reason stands in writing."""

from __future__ import annotations

from bellhousing.errors import RecordError, StillOpenError
from bellhousing.records.entries import CLOSED
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import read_book, write
from bellhousing.work.open_items import OpenItem, open_items

MOST = 40


def settle(shop: Shop, job: int, despite: str = "", *, who: str = WHO) -> None:
    """Refuse to close a job on which something is open; a reason in `despite` is written for each of it.

    Raises
    ------
    StillOpenError : something is open and no reason is given; it lists each with what answers it
    RecordError : no such job, or it is closed already
    """
    if shop.store.job(job).status == CLOSED:
        raise RecordError(f"job {job} is {CLOSED} already")
    book = read_book(shop, job)
    if not book.entries:
        return
    found = open_items(book.tree, book.entries, book.usual, book.taken)
    if not found:
        return
    if not despite.strip():
        more = f"and {len(found) - MOST} more" if len(found) > MOST else ""
        raise StillOpenError(
            f"{len(found)} {'thing is' if len(found) == 1 else 'things are'} still open",
            problems=[*(told(item) for item in found[:MOST]), *([more] if more else [])],
            where=f"job {job}",
            remedy="answer each, or give the reason in writing why it is closed despite them",
        )
    for item in found:
        write(book, "reason", item.id, {"text": despite.strip(), "covers": item.what}, who=who)


def told(item: OpenItem) -> str:
    """Return one open item in a line, with where it lies and what answers it."""
    where = f" ({item.where})" if item.where else ""
    return f"{item.what}{where}: {item.next}  [{item.id}]"
