"""The shapes of an answer about leaks."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class LeakNote(Shape):
    """One sentence that tells of a leak, and what was understood of it.

    `counts` is false where it is counted among the findings instead, or replaced by a later one.
    """

    said: str
    understood: str
    counts: bool = True
    number: int | None = None


class LeakReason(Shape):
    """What one sentence says of one site, empty where it says nothing."""

    said: str
    why: str


class LeakSiteAnswer(Shape):
    """A place that may leak: how likely, with and without the places seen, and when it would drip.

    `under_fluid` is how far fluid stands above it in mm, running, parked and overnight, negative above the
    fluid; null where its height is unknown.  `position` is in words.
    """

    site: str
    name: str
    probability: float
    before: float
    factor: float
    faults: tuple[str, ...]
    position: str
    drips: str
    under_fluid: tuple[float, float, float] | None
    source: str
    reasons: tuple[LeakReason, ...] = ()


class LeakSet(Shape):
    """Sites that leak at once; none: nothing on the box leaks."""

    sites: tuple[str, ...]
    probability: float
    names: tuple[str, ...]


class LeakFactor(Shape):
    """How many times likelier the places seen are with a fault than without it, as a natural logarithm."""

    fault: str
    name: str
    ln_factor: float


class LossAnswer(Shape):
    """What is lost in the next month [US pint] and when the level is at the lower mark of the stick.

    The ends hold ninety in a hundred.  A date is null where the level does not come there; `never` is the
    probability of that.  `assumed` says what nobody told.
    """

    month: float
    month_low: float
    month_high: float
    unit: str
    day: str | None
    day_early: str | None
    day_late: str | None
    never: float
    text: str
    assumed: tuple[str, ...]


class LeakAnswer(Shape):
    """Where it leaks and how fast: sites, most probable first, what to do first, and the loss."""

    box: str
    box_name: str
    note: str
    notes: tuple[LeakNote, ...]
    first: str
    sites: tuple[LeakSiteAnswer, ...]
    together: tuple[LeakSet, ...]
    factors: tuple[LeakFactor, ...]
    unexplained: float
    unweighed: float
    levels: str
    loss: LossAnswer | None
    places: tuple[str, ...]
