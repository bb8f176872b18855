"""The strip plan as every door hands it out."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class StripFlange(Shape):
    """Fasteners to undo: `fasteners` says how many of what, `particular` what single holes have of their own.

    `out_already` are holes whose bolt came out with a bracket before; `jack` tells of holes for puller bolts.
    """

    flange: str
    name: str
    fasteners: str
    particular: tuple[str, ...] = ()
    out_already: tuple[int, ...] = ()
    washers_one_use: int = 0
    jack: str | None = None
    note: str = ""


class StripChoice(Shape):
    """One thing a look may show: its short name and how it is said."""

    state: str
    name: str


class StripBaseline(Shape):
    """What must be measured before the part is undone; `done` once it was written down or declined.

    `unit` and `window` are of a figure, `choices` of a look; a figure may have no window.
    """

    measure: str
    name: str
    how: str
    why: str
    done: bool = False
    unit: str = ""
    window: str = ""
    choices: tuple[StripChoice, ...] = ()


class StripStep(Shape):
    """One part coming off.

    `opens` names later parts it alone makes way for, `instead` what would have made way as well at more work
    in all; `cautions` are whole sentences, to be shown at this step.
    """

    number: int
    part: str
    name: str
    minutes: float
    where: str
    wanted: bool
    tools: tuple[str, ...] = ()
    weight: str | None = None
    flange: StripFlange | None = None
    measure_before: tuple[StripBaseline, ...] = ()
    cautions: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()
    one_use: tuple[str, ...] = ()
    may_be_found: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    note: str = ""


class StripTarget(Shape):
    """A part aimed at, and why: as asked for, or the causes that sit there."""

    part: str
    name: str
    why: str


class StripElsewhere(Shape):
    """A leading cause that sits in no part of the box; its probability."""

    cause: str
    name: str
    probability: float


class StripAnswer(Shape):
    """The least work that reaches the parts aimed at.

    `off` names parts that are off already; `to_measure` counts what must still be measured or declined
    before its part is undone; `source` says where the parts tree comes from.
    """

    box: str
    box_name: str
    headline: str
    minutes: float
    targets: tuple[StripTarget, ...]
    steps: tuple[StripStep, ...]
    off: tuple[str, ...] = ()
    to_measure: int = 0
    elsewhere: tuple[StripElsewhere, ...] = ()
    source: str = ""
    notes: tuple[str, ...] = ()
