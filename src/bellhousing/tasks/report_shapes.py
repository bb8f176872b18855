"""The shape of the owner's report: one for the estimate and the final report, for page, PDF and JSON."""

from __future__ import annotations

from decimal import Decimal

from bellhousing.tasks.answers import Shape


class ReportFact(Shape):
    """One fact at the head: "Car", "grey saloon"."""

    name: str
    value: str


class ReportReading(Shape):
    """One test or measurement: its value, the window it is held against, and the verdict in words.

    `low`, `high`, `figure` and `spread` draw its limit line, in the unit of the value; an end that is null
    is open, and `figure` is null where there is nothing to draw.  `when` is empty or a day.
    """

    name: str
    value: str
    window: str
    source: str
    verdict: str
    figure: float | None = None
    spread: float = 0.0
    low: float | None = None
    high: float | None = None
    low_text: str = ""
    high_text: str = ""
    when: str = ""


class ReportCause(Shape):
    """One cause: how sure, what it does, and what speaks for or against it."""

    name: str
    confidence: str
    mechanism: str
    because: tuple[str, ...]
    confirmed: bool = False


class ReportPart(Shape):
    """A part and what became of it: new, used again, machined, back as it was, returned."""

    name: str
    count: int
    state: str
    note: str


class ReportChange(Shape):
    """The same reading before and after the work, with its window."""

    name: str
    before: str
    after: str
    window: str
    verdict: str


class ReportPhoto(Shape):
    """A photo and what it shows."""

    number: int
    digest: str
    caption: str
    taken: str
    width: int
    height: int


class ReportSum(Shape):
    """One line of money; `sum` is null where no price is known."""

    what: str
    sum: Decimal | None
    text: str


class ReportOption(Shape):
    """One way the repair may go, in plain odds."""

    odds: str
    what: str
    hours: str
    price: str


class ReportDue(Shape):
    """A service that comes next: what, by which day and which reading of the odometer, and its state."""

    what: str
    by: str
    state: str


class ReportPlan(Shape):
    """What an estimate proposes: the decision, ways it may go, the steps to agree to, and waiting."""

    headline: str
    why: str
    options: tuple[ReportOption, ...]
    stages: tuple[ReportOption, ...]
    may_drive: str
    waiting: tuple[str, ...]


class OwnerReport(Shape):
    """Everything an owner is told of one job, estimate or final report, from the same records.

    `in_short` is the first thing to read; `not_done` says what was not measured or not done; `assumed` what
    was taken as usual.  `picture` says the shift map in words, and is empty where there is none.
    """

    job: int
    kind: str
    title: str
    shop: str
    shop_lines: tuple[str, ...]
    paper: str
    units: str
    as_of: str
    facts: tuple[ReportFact, ...]
    in_short: tuple[str, ...]
    complaint: str
    tests: tuple[ReportReading, ...]
    causes: tuple[ReportCause, ...]
    ruled_out: tuple[ReportCause, ...]
    plan: ReportPlan | None
    work: tuple[str, ...]
    parts: tuple[ReportPart, ...]
    measurements: tuple[ReportReading, ...]
    changes: tuple[ReportChange, ...]
    proof: str
    picture: str
    photos: tuple[ReportPhoto, ...]
    more_photos: int
    not_done: tuple[str, ...]
    watch: tuple[str, ...]
    next_due: tuple[ReportDue, ...]
    fluid: str
    money: tuple[ReportSum, ...]
    agreed: tuple[str, ...]
    warranty: str
    cautions: tuple[str, ...]
    assumed: tuple[str, ...] = ()
