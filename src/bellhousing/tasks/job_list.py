"""The list of jobs, a page at a time: what each waits for and what is next on it, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from bellhousing.records.entries import OPEN
from bellhousing.records.job_list import Listed
from bellhousing.tasks.answers import CarAnswer, JobAnswer, Shape
from bellhousing.tasks.money import with_sign
from bellhousing.tasks.opening import car_answer, job_answer_of
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import usual_terms
from bellhousing.work.account import Terms, account
from bellhousing.work.orders import AWAITED, OrderLine, blocking, order_lines

A_PAGE = 20
NAMED = 2
"""Parts a line of the list names before it only counts them."""


class WaitAnswer(Shape):
    """What a job waits for: "parts", "owner", "look", "test", "work" or "nothing"; in words."""

    what: str
    text: str


class ListedJobAnswer(JobAnswer):
    """A job on the list with what it waits for, what holds it up longest first; a closed one for nothing."""

    waits: tuple[WaitAnswer, ...] = ()


class JobPageAnswer(Shape):
    """One page of the list: `found` jobs in all, of `jobs_in_all` the shop has; pages count from 1."""

    jobs: tuple[ListedJobAnswer, ...]
    found: int
    jobs_in_all: int
    open: int
    page: int
    pages: int
    asked: str = ""
    all: bool = False


def job_page(
    shop: Shop, *, page: int = 1, asked: str = "", all: bool = False, size: int = A_PAGE
) -> JobPageAnswer:
    """One page of the open jobs, of all, or of those whose number, complaint or car holds `asked`."""
    store = shop.store.job_list
    opened, total = store.open_numbers(), store.count()
    wanted = " ".join(asked.split())[:200]
    matching = store.search(wanted) if wanted else opened
    found = total if all and not wanted else len(matching)
    pages = max(1, -(-found // size))
    here = min(max(1, page), pages)
    skipped = (here - 1) * size
    if all and not wanted:
        numbers = store.newest(limit=size, offset=skipped)
    else:
        numbers = matching[skipped : skipped + size]
    return JobPageAnswer(
        jobs=listed(shop, numbers),
        found=found,
        jobs_in_all=total,
        open=len(opened),
        page=here,
        pages=pages,
        asked=wanted,
        all=all,
    )


def listed(shop: Shop, numbers: Sequence[int]) -> tuple[ListedJobAnswer, ...]:
    """Some jobs as the list shows them, in the order asked for."""
    found = shop.store.job_list.listed(numbers)
    usual = usual_terms(shop) if any(one.work for one in found) else Terms()
    today = shop.clock().astimezone().date()
    return tuple(_listed(one, usual, today) for one in found)


def _listed(one: Listed, usual: Terms, today: date) -> ListedJobAnswer:
    waits = _waits(one, usual, today) if one.job.status == OPEN else ()
    leading = None
    if one.verdict is not None and one.verdict.causes and one.noted:
        leading = one.verdict.causes[0].get("name")
    plain = job_answer_of(one.job, car_answer(one.car), one.noted, leading)
    return ListedJobAnswer(**dict(plain), waits=waits)


def _waits(one: Listed, usual: Terms, today: date) -> tuple[WaitAnswer, ...]:
    found = [*_for_parts(order_lines(one.work), today), *_for_owner(one, usual)]
    coming = _next(one)
    return (*found, coming) if coming is not None else tuple(found)


def _for_parts(lines: Sequence[OrderLine], today: date) -> list[WaitAnswer]:
    waiting = blocking(lines)
    coming = [line for line in waiting if line.status in AWAITED and not line.came_different]
    to_order = [line for line in waiting if line not in coming and not line.came_different]
    wrong = [line for line in waiting if line.came_different]
    said = [("Parts awaited", coming), ("To order", to_order), ("Came different from the old", wrong)]
    return [WaitAnswer(what="parts", text=f"{head}: {_named(rows, today)}") for head, rows in said if rows]


def _named(lines: Sequence[OrderLine], today: date) -> str:
    told = [_line(line, today) for line in lines[:NAMED]]
    more = len(lines) - NAMED
    return ", ".join(told) + (f" and {more} more" if more > 0 else "")


def _line(line: OrderLine, today: date) -> str:
    called = line.name if line.count == 1 else f"{line.count} × {line.name}"
    if line.status not in AWAITED or line.came_different:
        return called
    if line.promised is None:
        return f"{called} (no day promised)"
    late = (today - line.promised).days
    days = f", {late} {'day' if late == 1 else 'days'} late" if late > 0 else ""
    return f"{called} (promised for {_day(line.promised)}{days})"


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def _for_owner(one: Listed, usual: Terms) -> list[WaitAnswer]:
    """The owner's yes, where work goes beyond it or is about to."""
    money = account(one.work, usual)
    stages = {yes.stage for yes in money.authorities}
    if money.authorities and money.over > 0:
        beyond = with_sign(money.over, money.terms.before, money.terms.after)
        return [WaitAnswer(what="owner", text=f"The owner’s yes: {beyond} beyond what was authorised")]
    decision = _kept_next(one).get("decision")
    if decision == "box-out" and not stages & {"open", "repair"}:
        return [WaitAnswer(what="owner", text="The owner’s yes to opening up is not written down")]
    if decision == "in-car" and "repair" not in stages:
        return [WaitAnswer(what="owner", text="The owner’s yes to the repair is not written down")]
    return []


def _next(one: Listed) -> WaitAnswer | None:
    kept = _kept_next(one)
    if not one.noted:
        return WaitAnswer(what="look", text="Nothing noted yet: ask the owner, then look at the fluid")
    what, text = kept.get("what"), kept.get("text")
    if not isinstance(what, str) or not isinstance(text, str):
        return None
    return WaitAnswer(what=what, text=text)


def _kept_next(one: Listed) -> Mapping[str, object]:
    kept = {} if one.verdict is None else one.verdict.details.get("next")
    return kept if isinstance(kept, Mapping) else {}


# Cars


class CarPageAnswer(Shape):
    """One page of the cars by name, or those whose name, note or box holds `asked`."""

    cars: tuple[CarAnswer, ...]
    found: int
    cars_in_all: int
    page: int
    pages: int
    asked: str = ""


def car_page(shop: Shop, *, page: int = 1, asked: str = "", size: int = A_PAGE) -> CarPageAnswer:
    """One page of the shop's cars."""
    store, wanted = shop.store.job_list, " ".join(asked.split())[:200]
    total = store.car_count()
    found = store.car_count(wanted) if wanted else total
    pages = max(1, -(-found // size))
    here = min(max(1, page), pages)
    cars = store.cars(wanted, limit=size, offset=(here - 1) * size)
    answers = tuple(car_answer(car) for car in cars)
    return CarPageAnswer(cars=answers, found=found, cars_in_all=total, page=here, pages=pages, asked=wanted)


def cars_lately(shop: Shop, most: int) -> tuple[CarAnswer, ...]:
    """The cars a job was opened on last, newest first."""
    return tuple(car_answer(car) for car in shop.store.job_list.cars_lately(most))
