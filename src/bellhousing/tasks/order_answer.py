"""The order of a job in words and shapes, for every door."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from bellhousing.tasks.ledger_answer import Said
from bellhousing.tasks.money import with_sign
from bellhousing.tasks.order_shapes import NeedAnswer, NumberAnswer, OrderLineAnswer, OrdersAnswer
from bellhousing.tasks.work_book import Book
from bellhousing.work.account import terms_of
from bellhousing.work.entries import standing
from bellhousing.work.orders import (
    AWAITED,
    Need,
    OrderLine,
    blocking,
    identification,
    old_parts_to_settle,
    order_lines,
)

_NOT_PAID = ("returned", "cancelled")


def orders_answer(
    book: Book, wanted: Sequence[Need], notes: Sequence[str] = (), said: Said | None = None
) -> OrdersAnswer:
    """Return the whole order of a job, with what is wanted and on no line yet."""
    lines = order_lines(book.entries)
    waits = blocking(lines)
    today = today_of(book)
    told = said or Said()
    priced = [line.price for line in lines if line.price is not None and line.status not in _NOT_PAID]
    return OrdersAnswer(
        job=book.job,
        box=book.box.name if book.box is not None else "",
        numbers=tuple(
            NumberAnswer(name=name, value=value)
            for name, value in identification(book.tree, book.entries).items()
        ),
        wanted=tuple(_need_answer(need) for need in wanted),
        lines=tuple(_line_answer(line, waits, today, book) for line in lines),
        blocking=tuple(_line_answer(line, waits, today, book) for line in waits),
        offer_back=tuple(line.name for line in old_parts_to_settle(lines)),
        price=sum(priced, Decimal("0.00")),
        blocked=_blocked(waits, today),
        notes=tuple(notes),
        said=told.text,
        warnings=told.warnings,
        entry=told.entry,
    )


def _need_answer(need: Need) -> NeedAnswer:
    return NeedAnswer(
        line=need.line,
        name=need.name,
        count=need.count,
        hardness=need.hardness,
        why=need.why,
        text=f"{need.count} × {need.name} ({need.hardness}): {need.why}",
    )


def _line_answer(line: OrderLine, waits: Iterable[OrderLine], today: date, book: Book) -> OrderLineAnswer:
    return OrderLineAnswer(
        line=line.line,
        name=line.name,
        count=line.count,
        hardness=line.hardness,
        why=line.why,
        status=line.status,
        supplier=line.supplier,
        note=line.note,
        price=line.price,
        promised=line.promised.isoformat() if line.promised is not None else "",
        late=_days_late(line, today),
        check=line.check,
        check_note=line.check_note,
        old_part=line.old_part,
        blocks=line in tuple(waits),
        entries=line.entries,
        text=line_text(line, today, book),
    )


def _days_late(line: OrderLine, today: date) -> int:
    return (today - line.promised).days if line.promised is not None and line.late(today) else 0


def line_text(line: OrderLine, today: date, book: Book) -> str:
    """Return how a line stands, in a sentence."""
    terms = terms_of(standing(book.entries), book.usual)
    told = [line.status.replace("-", " ")]
    if line.supplier:
        told.append(f"from {line.supplier}")
    if line.price is not None:
        told.append(with_sign(line.price, terms.before, terms.after))
    if line.promised is not None and line.status in AWAITED:
        late = _days_late(line, today)
        told.append(f"promised for {line.promised.isoformat()}" + (f", {late} days late" if late else ""))
    if line.check:
        told.append(f"laid against the old: {line.check.replace('-', ' ')}")
    if line.check_note:
        told.append(line.check_note)
    if line.old_part:
        told.append(f"old part {line.old_part.replace('-', ' ')}")
    if line.note:
        told.append(line.note)
    return f"{line.count} × {line.name}: {', '.join(told)}"


def _blocked(waits: Sequence[OrderLine], today: date) -> str:
    if not waits:
        return "No part blocks the job."
    days = [line.promised for line in waits if line.promised is not None]
    unsure = [line for line in waits if line.promised is None or line.came_different or line.late(today)]
    count = f"{len(waits)} {'line blocks' if len(waits) == 1 else 'lines block'} the job"
    if unsure:
        return f"{count}; nobody can say until when, because of {unsure[0].name}."
    return f"{count}, until {max(days).isoformat()} as promised."


def today_of(book: Book) -> date:
    """Return the day it is in the shop."""
    return book.shop.clock().astimezone().date()
