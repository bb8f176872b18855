"""The shapes of the advice on adjusting, as every door hands them out."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class AdjustBand(Shape):
    """Low, middle and high holding 95 of 100 plausible cars; a shift above 110 mph never comes."""

    low: float
    middle: float
    high: float


class AdjustOutcome(Shape):
    """One reading now and after the adjustment, in `unit`, with the window it is held against."""

    finding: str
    name: str
    unit: str
    now: AdjustBand
    then: AdjustBand
    window: tuple[float, float] | None = None
    source: str | None = None


class AdjustAgainst(Shape):
    """A cause that comes before any adjustment, and the finding that speaks for it most."""

    cause: str
    name: str
    probability: float
    error: float
    finding: str | None = None
    said: str | None = None


class AdjustMeasure(Shape):
    """A reading to take before anything can be said."""

    finding: str
    name: str
    ask: str


class AdjustStep(Shape):
    """An adjustment already made, in `unit` of the answer: in or longer positive."""

    said: str
    amount: float
    counts: bool


class AdjustRate(Shape):
    """What one turn of the screw does to the spring, or a millimetre of rod to what the box file says."""

    low: float
    middle: float
    high: float
    unit: str
    source: str


class AdjustAnswer(Shape):
    """How far to turn the screw or change the rod, what results, or why not.

    `state` is "adjust", or what stands against it: "no-adjustment", "other-cause", "measure", "one-step",
    "on-map", "at-floor", "not-to-soften". `amount` is turns in or millimetres longer, negative out or
    shorter; `needed` the band of what this car may need; `outcomes` what comes of `amount`, or where the
    rate is not known, of as much as brings the car onto its map. `notes` were not understood.
    """

    state: str
    thing: str
    say: str
    why: tuple[str, ...]
    unit: str
    amount: float | None = None
    needed: AdjustBand | None = None
    rate: AdjustRate | None = None
    outcomes: tuple[AdjustOutcome, ...] = ()
    against: tuple[AdjustAgainst, ...] = ()
    measure: tuple[AdjustMeasure, ...] = ()
    steps: tuple[AdjustStep, ...] = ()
    chance: float = 0.0
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    box: str = ""
    box_name: str = ""
