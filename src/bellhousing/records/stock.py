"""The statements behind the stock: moves are only ever added, what there is now is their sum."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, insert, select

from bellhousing.errors import RecordError
from bellhousing.records import queries, rows, tables

MOST = 10_000
SAME = 5e-6
"""Sizes closer than this are one size [m]."""


@dataclass(frozen=True, kw_only=True)
class StockMove:
    """What came or went: of which box and part, which size [m] and mark, how many on shelf and on order."""

    box: str
    part: str
    size_m: float
    unit: str
    mark: str = ""
    shelf: int = 0
    on_order: int = 0
    job: int | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class InStock:
    """How many of one size lie on the shelf and are on order now."""

    box: str
    part: str
    size_m: float
    unit: str
    mark: str
    shelf: int
    on_order: int


def add(connection: Connection, move: StockMove, *, at: datetime, who: str) -> InStock:
    """Keep a move, and say how many there are now.

    Raises
    ------
    RecordError : it moves nothing, it would leave fewer than none, or a figure cannot be kept
    """
    _check(move)
    at = rows.check_moment(at)
    if move.job is not None:
        queries.need_job(connection, move.job)
    now = next(
        (one for one in in_stock(connection, move.box) if _same(one, move)),
        None,
    )
    shelf, order = (now.shelf, now.on_order) if now else (0, 0)
    if shelf + move.shelf < 0:
        raise RecordError(f"there are {shelf} of them on the shelf", where=move.part, remedy="use no more")
    if order + move.on_order < 0:
        raise RecordError(f"there are {order} of them on order", where=move.part, remedy="take in no more")
    # One size is kept as it was first written, so that later moves add up with it.
    size = now.size_m if now else move.size_m
    connection.execute(
        insert(tables.stock_moves).values(
            at=at,
            who=who,
            box=move.box,
            part=move.part,
            size_m=size,
            unit=move.unit,
            mark=move.mark,
            shelf=move.shelf,
            on_order=move.on_order,
            job=move.job,
            note=move.note,
        )
    )
    return InStock(
        box=move.box,
        part=move.part,
        size_m=size,
        unit=move.unit,
        mark=move.mark,
        shelf=shelf + move.shelf,
        on_order=order + move.on_order,
    )


def in_stock(connection: Connection, box: str | None = None) -> tuple[InStock, ...]:
    """Every size that ever was in stock with how many there are now, by box, part and size."""
    table = tables.stock_moves
    kinds = (table.c.box, table.c.part, table.c.size_m, table.c.mark)
    wanted = select(
        *kinds,
        func.min(table.c.unit).label("unit"),
        func.sum(table.c.shelf).label("shelf"),
        func.sum(table.c.on_order).label("on_order"),
    )
    if box is not None:
        wanted = wanted.where(table.c.box == box)
    found = [InStock(**row._mapping) for row in connection.execute(wanted.group_by(*kinds))]
    # Sorted here, since each database has its own order of letters.
    return tuple(sorted(found, key=lambda one: (one.box, one.part, one.size_m, one.mark)))


def _same(one: InStock, move: StockMove) -> bool:
    return one.part == move.part and one.mark == move.mark and abs(one.size_m - move.size_m) < SAME


def _check(move: StockMove) -> None:
    if not (math.isfinite(move.size_m) and move.size_m > 0.0):
        raise RecordError("that size cannot be kept", where=move.part)
    if move.shelf == 0 and move.on_order == 0:
        raise RecordError("nothing comes and nothing goes", where=move.part, remedy="say how many")
    if max(abs(move.shelf), abs(move.on_order)) > MOST:
        raise RecordError("that is more than any shelf holds", where=move.part, remedy="look at the count")
    if not (move.box and move.part) or any(len(text) > 120 for text in (move.box, move.part, move.mark)):
        raise RecordError("a part is known by box and name", where=move.part[:40])
