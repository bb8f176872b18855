"""Closing a job: nothing closes while something is open, unless the reason stands in writing."""

from __future__ import annotations

from bellhousing.errors import RecordError, StillOpenError
from bellhousing.records.entries import CLOSED
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.work_book import Book, read_book, write
from bellhousing.work.open_items import OpenItem, open_items

MOST = 40


def settle(book: Book, despite: str = "", *, who: str = WHO) -> int:
    """Refuse to close a job on which something is open; a reason in `despite` is written for each of it.

    It gives the number of the newest entry of the book that was looked at, 0 for none.

    Raises
    ------
    StillOpenError : something is open and no reason is given; it lists each with what answers it
    RecordError : no such job, or it is closed already
    """
    shop, job = book.shop, book.job
    if shop.store.job(job).status == CLOSED:
        raise RecordError(f"job {job} is {CLOSED} already")
    given: set[tuple[str, str]] = set()
    while True:
        found = open_items(book.tree, book.entries, book.usual, book.taken) if book.entries else ()
        left = [item for item in found if (item.id, item.what) not in given]
        if not left:
            return book.newest
        if not despite.strip():
            more = f"and {len(left) - MOST} more" if len(left) > MOST else ""
            raise StillOpenError(
                f"{len(left)} {'thing is' if len(left) == 1 else 'things are'} still open",
                problems=[*(told(item) for item in left[:MOST]), *([more] if more else [])],
                where=f"job {job}",
                remedy="answer each, or give the reason in writing why it is closed despite them",
            )
        for item in left:
            write(book, "reason", item.id, {"text": despite.strip(), "covers": item.what}, who=who)
            given.add((item.id, item.what))
            # Read again after each reason: what others wrote meanwhile is looked at as well.
            book = read_book(shop, job)


def told(item: OpenItem) -> str:
    """Return one open item in a line, with where it lies and what answers it."""
    where = f" ({item.where})" if item.where else ""
    return f"{item.what}{where}: {item.next}  [{item.id}]"
