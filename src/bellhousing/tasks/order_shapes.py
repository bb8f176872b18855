"""The shapes of what has to be got for a job: numbers the supplier asks for, what is wanted, the lines."""

from __future__ import annotations

from decimal import Decimal

from bellhousing.tasks.answers import Shape


class NumberAnswer(Shape):
    """A number the supplier asks for; `value` is empty until it was read off."""

    name: str
    value: str


class NeedAnswer(Shape):
    """Something that has to be got and is on no line yet."""

    line: str
    name: str
    count: int
    hardness: str
    why: str
    text: str


class OrderLineAnswer(Shape):
    """One line of the order; `late` is how many days it is late, `blocks` whether the job waits for it."""

    line: str
    name: str
    count: int
    hardness: str
    why: str
    status: str
    supplier: str
    note: str
    price: Decimal | None
    promised: str
    late: int
    check: str
    check_note: str
    old_part: str
    blocks: bool
    entries: tuple[int, ...]
    text: str


class OrdersAnswer(Shape):
    """What has to be got for a job: what `order list --json` gives.

    `blocking` are the lines the job waits for, those without a day first, then the latest day.
    """

    job: int
    box: str
    numbers: tuple[NumberAnswer, ...]
    wanted: tuple[NeedAnswer, ...]
    lines: tuple[OrderLineAnswer, ...]
    blocking: tuple[OrderLineAnswer, ...]
    offer_back: tuple[str, ...]
    price: Decimal
    blocked: str
    notes: tuple[str, ...] = ()
    said: str = ""
    warnings: tuple[str, ...] = ()
    entry: int | None = None
