"""The shapes of the ledger: flanges with their holes, parts, bags, what is open, the job in five lines."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class SlotException(Shape):
    """Something that was not as drawn at a hole or pocket; `answered` is empty while it is open."""

    what: str
    in_words: str
    note: str
    where_now: str
    who: str
    at: str
    entry: int
    answered: str = ""


class SlotAnswer(Shape):
    """One hole or pocket: `place` is in, out, bagged, back or none; `x`, `y` from 0 to 1 on the drawing."""

    number: int
    x: float
    y: float
    place: str
    tag: str
    length: str
    shared_with: str
    hidden: str
    washer: str
    sealant: str
    note: str
    supplied: int
    set_aside: int
    exceptions: tuple[SlotException, ...]
    entries: tuple[int, ...]
    text: str


class CountAnswer(Shape):
    """How many there are: drawn, and where they are now; `balances` when all is accounted for."""

    drawn: int
    missing: int
    supplied: int
    set_aside: int
    never_out: int
    out: int
    bagged: int
    back: int
    empty: int
    balances: bool
    text: str


class FlangeAnswer(Shape):
    """One flange with its drawing; `touched` once anything happened to it."""

    slug: str
    name: str
    fastener: str
    thread: str
    seen_from: str
    outline: tuple[tuple[float, float], ...]
    holds: tuple[str, ...]
    count: CountAnswer
    holes: tuple[SlotAnswer, ...]
    jack_holes: int
    jack_bolts: int
    washers_needed: int
    washers_new: int
    touched: bool
    note: str = ""


class SealCount(Shape):
    """A seal of a part: how many must be new, how many are."""

    slug: str
    name: str
    needed: int
    new: int


class PartAnswer(Shape):
    """One part: whether it is off, since when and by whom; its balls and one-use seals once it was off."""

    slug: str
    name: str
    off: bool
    since: str
    by: str
    flange: str
    balls: CountAnswer | None
    pockets: tuple[SlotAnswer, ...]
    seals: tuple[SealCount, ...]
    to_measure: tuple[str, ...]


class BagAnswer(Shape):
    """A bag: what is in it and where it lies."""

    tag: str
    flange: str
    flange_name: str
    place: str
    count: int


class OpenAnswer(Shape):
    """One thing that keeps the job open, and what answers it; `reason` closes it in writing."""

    id: str
    what: str
    where: str
    why: str
    next: str
    reason: str = ""


class IgnoredAnswer(Shape):
    """An entry, or a number of it, that moved nothing, and why."""

    entry: int
    subject: str
    why: str


class LedgerAnswer(Shape):
    """Everything counted on one job: what `ledger show --json` gives.

    `five` are the five lines for whoever opens the job after weeks; `said` tells what the last command did.
    """

    job: int
    car: str
    box: str
    balances: bool
    five: tuple[str, ...]
    flanges: tuple[FlangeAnswer, ...]
    parts: tuple[PartAnswer, ...]
    bags: tuple[BagAnswer, ...]
    open: tuple[OpenAnswer, ...]
    closed_by_reason: tuple[OpenAnswer, ...]
    ignored: tuple[IgnoredAnswer, ...]
    said: str = ""
    warnings: tuple[str, ...] = ()
    entry: int | None = None


class OpenListAnswer(Shape):
    """What keeps a job open, and what was closed by a written reason."""

    job: int
    open: tuple[OpenAnswer, ...]
    closed_by_reason: tuple[OpenAnswer, ...]


class TagAnswer(Shape):
    """A bag's tag: what stands on it in words, and the address its code opens."""

    tag: str
    car: str
    job: int
    flange: str
    flange_name: str
    count: int
    drawn: int
    lines: tuple[str, ...]
    address: str
