"""The shapes of answers from the bench: what was measured, and which parts go where."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class BudgetLine(Shape):
    """One line of an uncertainty budget, in the unit of the reading; `share` is its part of the variance."""

    name: str
    kind: str
    shape: str
    uncertainty: float
    freedom: float | None
    share: float


class MeasuredAnswer(Shape):
    """One quantity measured at the bench, in the unit as entered.

    `uncertainty` is one standard deviation, `expanded` holds 95 in 100.  `freedom`, its degrees of freedom,
    is null where they have no end; `low` and `high` where the window has no such end; `source` is empty where
    there is no window.  `outcome` is inside, outside or cannot tell; `text` says it in a sentence.
    `too_coarse` names what makes the instrument unfit for the window and which would do, empty if it is fit.
    `risks` says what rule and instrument do to many such parts, empty where the window has one end only.
    """

    number: int | None
    measure: str
    name: str
    said: str
    readings: tuple[float, ...]
    unit: str
    value: float
    uncertainty: float
    expanded: float
    freedom: float | None
    instrument: str
    budget: tuple[BudgetLine, ...]
    low: float | None
    high: float | None
    source: str
    probability: float | None
    outcome: str | None
    verdict: str
    rule: str
    text: str
    would_tell: str = ""
    too_coarse: str = ""
    risks: str = ""
    ring: str = ""
    action: str = ""
    at: str = ""
    counts: bool = True


class PieceAnswer(Shape):
    """Pieces of one size: how many, from the shelf, on order, and to buy at a price each.

    `shown` is the size with its unit, to as many places as the part's other sizes.
    """

    part: str
    name: str
    size: float
    shown: str
    unit: str
    mark: str
    count: int
    from_stock: int
    on_order: int
    bought: int
    price: float


class OrderAnswer(Shape):
    """What an open stack needs: `size` is the best (`shown` with its unit), `low` to `high` would fit."""

    part: str
    name: str
    count: int
    size: float
    shown: str
    low: float
    high: float
    unit: str
    text: str


class MemberShare(Shape):
    """One member of a stack and its part of the variance [1]; `acts` +1 opens the gap, -1 closes it."""

    name: str
    acts: float
    size: float
    tolerance: float
    measured: bool
    share: float


class SpreadAnswer(Shape):
    """What the sizes of a stack alone leave open, each a half-width in the unit of the stack.

    `low` and `high` are the shortest interval that holds 95 in 100 of the clearances drawn at random, about
    the clearance that results; `inside` is the part of all drawn that lies in the window [1].
    """

    worst: float
    root_sum_square: float
    inside: float
    low: float
    high: float
    members: tuple[MemberShare, ...]
    text: str


class StackAnswer(Shape):
    """One stack: filled with `parts`, or open with the reason and what to order.

    `clearance` is the one that results, or the nearest there is (`shown` with its unit); `probability` that
    of its lying inside. `arithmetic` shows the sum from the old part to the new one in sentences; `spread`
    the stack-up where the clearance was not measured.
    """

    stack: str
    name: str
    fits: bool
    parts: tuple[PieceAnswer, ...]
    clearance: float | None
    shown: str | None
    unit: str
    low: float
    high: float
    target: float
    uncertainty: float | None
    probability: float | None
    verdict: str
    arithmetic: tuple[str, ...]
    why: str
    orders: tuple[OrderAnswer, ...]
    basis: str
    spread: SpreadAnswer | None = None


class FitsAnswer(Shape):
    """All stacks at once: `joint` is the probability that every filled one lies in its window.

    `buy` lists what to buy for the filled stacks, `proven` says that nothing better exists, `left_out` names
    worn pieces that are not fitted again, `notes` what could not be worked out.
    """

    stacks: tuple[StackAnswer, ...]
    joint: float
    buy: tuple[PieceAnswer, ...]
    bought: int
    price: float
    proven: bool
    left_out: tuple[str, ...]
    rule: str
    notes: tuple[str, ...]
