"""The shapes of what to do: works, options, steps, waiting, and what to ask the owner for."""

from __future__ import annotations

from decimal import Decimal

from bellhousing.tasks.answers import Shape


class WorkAnswer(Shape):
    """One piece of work: `hours` by itself, `now` within what is proposed [h]; parts in hours of labour."""

    work: str
    name: str
    access: str
    hours: float
    now: float
    parts: tuple[str, ...]
    parts_worth: float
    come_back: float
    cautions: tuple[str, ...] = ()


class OptionAnswer(Shape):
    """One thing the owner may choose; prices are null where no rate is known.

    `cures` is the chance that nothing the findings speak for is left, `needless` that the box comes out for
    nothing, `in_the_end` [h] what it comes to on average with second visits and come-backs.
    """

    kind: str
    name: str
    works: tuple[str, ...]
    hours: float
    parts_worth: float
    in_the_end: float
    cures: float
    needless: float
    price: Decimal | None = None


class StepAnswer(Shape):
    """Works before the car is driven again, and the chance that it comes to them."""

    works: tuple[str, ...]
    names: tuple[str, ...]
    hours: float
    needed: float
    price: Decimal | None = None


class InPassingAnswer(Shape):
    """A work that is cheap while the way is open: hours now and later by itself [h]."""

    work: str
    name: str
    now: float
    later: float
    chance: float
    why: str
    price_now: Decimal | None = None
    price_later: Decimal | None = None


class WatchAnswer(Shape):
    """A fault that weighs in waiting: what it does, and what to look at meanwhile."""

    cause: str
    name: str
    text: str
    watch: str


class WaitingAnswer(Shape):
    """Leave and watch: may the car be driven, what gets worse, and the day to look again."""

    may_drive: str
    must_stand: float
    gently: float
    worse_in_a_month: float
    worse_in_a_season: float
    adds_hours: float
    recheck: str
    watch: tuple[WatchAnswer, ...]
    adds_price: Decimal | None = None


class LookAnswer(Shape):
    """A test that pays before anything is undone: hours it saves on average and costs [h]."""

    finding: str
    ask: str
    minutes: float
    saves_hours: float
    changes: float
    cautions: tuple[str, ...] = ()


class OutcomeAnswer(Shape):
    """What the repair may come to, with its chance; without works it is what is left over."""

    name: str
    works: tuple[str, ...]
    chance: float
    hours_low: float
    hours_high: float
    price_low: Decimal | None = None
    price_high: Decimal | None = None


class AuthorityAnswer(Shape):
    """One thing to ask the owner's leave for (diagnose, open, repair), with its range [h] and price."""

    kind: str
    name: str
    text: str
    chance: float
    hours_low: float
    hours_high: float
    price_low: Decimal | None = None
    price_high: Decimal | None = None
    outcomes: tuple[OutcomeAnswer, ...] = ()


class PlanAnswer(Shape):
    """What to do on one job: what `plan --json` gives.

    `decision` is "nothing-found", "look-first", "in-car", "box-out" or "leave"; `proposed` are the works of
    least expected cost whatever the decision, and `removal` the chance that the box must come out. `rate` is
    what an hour costs; the sign of its currency stands before or after every price.
    """

    decision: str
    headline: str
    why: str
    removal: float
    proposed: tuple[WorkAnswer, ...]
    cautions: tuple[str, ...]
    options: tuple[OptionAnswer, ...]
    steps: tuple[StepAnswer, ...]
    in_passing: tuple[InPassingAnswer, ...]
    waiting: WaitingAnswer | None
    looks: tuple[LookAnswer, ...]
    authorities: tuple[AuthorityAnswer, ...]
    rate: Decimal | None = None
    sign_before: str = ""
    sign_after: str = ""
    box: str = ""
    box_name: str = ""
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
