"""The shapes of hours and money: exact sums, as text in JSON."""

from __future__ import annotations

from decimal import Decimal

from bellhousing.tasks.answers import Shape


class YesAnswer(Shape):
    """A yes of the owner: an authorisation of a stage, or a variation with its reason."""

    kind: str
    stage: str
    sum: Decimal
    by: str
    how: str
    when: str
    who: str
    why: str
    entry: int
    text: str


class ChargeAnswer(Shape):
    """One line of the bill; `sum` is null where no rate is known or no price was said."""

    kind: str
    what: str
    stage: str
    hours: Decimal | None
    sum: Decimal | None
    entry: int
    text: str


class StageAnswer(Shape):
    """Hours of a stage against what was said; `low` and `high` are null where nothing was."""

    stage: str
    hours: Decimal
    low: Decimal | None
    high: Decimal | None
    over: Decimal
    text: str


class AccountAnswer(Shape):
    """Hours and money of a job: what `hours show --json` gives.

    `total` is with tax, and so is `authorised`: it is what the owner pays.  `over` is how far the total is
    beyond it, `would_be_over` with what is still to be ordered.
    """

    job: int
    rate: Decimal | None
    tax_percent: Decimal
    sign_before: str
    sign_after: str
    authorities: tuple[YesAnswer, ...]
    variations: tuple[YesAnswer, ...]
    charges: tuple[ChargeAnswer, ...]
    stages: tuple[StageAnswer, ...]
    net: Decimal
    tax: Decimal
    total: Decimal
    authorised: Decimal
    over: Decimal
    would_be_over: Decimal
    text: str
    assumed: tuple[str, ...] = ()
    said: str = ""
    warnings: tuple[str, ...] = ()
    entry: int | None = None
