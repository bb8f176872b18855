"""The shapes of the answer from the bench to the road: numbers, and what they foretell beside readings."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class BenchNumberAnswer(Shape):
    """One number of the bench in the unit as entered.

    `uncertainty` is one standard deviation, `expanded` holds 95 in 100.
    `changes` says what it changes of what is foretold; where that is nothing it is empty, and
    `explains_nothing` says why and what it shows instead.
    """

    said: str
    measure: str
    name: str
    value: float
    uncertainty: float
    expanded: float
    unit: str
    changes: str
    explains_nothing: str = ""
    number: int | None = None


class BenchReading(Shape):
    """What the car showed beside what these parts and sound ones foretell, 95 of 100 cars between the ends.

    `outcome` is explains it, explains part, does not or nothing to explain; `share` is how much of the way
    from a sound box to the reading the parts go.  An end that is null is never.  For a state the figures are
    chances of seeing it and `unit` is empty.  `parts_text` and `sound_text` say both in words.
    """

    finding: str
    name: str
    said: str
    shown: str
    outcome: str
    text: str
    unit: str
    low: float | None
    middle: float | None
    high: float | None
    sound_low: float | None
    sound_middle: float | None
    sound_high: float | None
    share: float | None
    parts_text: str = ""
    sound_text: str = ""


class BenchForetold(Shape):
    """Something these parts would also show that nobody read yet; for a state the figures are chances."""

    finding: str
    name: str
    text: str
    unit: str
    low: float | None
    middle: float | None
    high: float | None
    sound_middle: float | None


class BenchAnswer(Shape):
    """What the measured parts explain of what the car showed; `counted` are findings they are worth."""

    box: str
    box_name: str
    numbers: tuple[BenchNumberAnswer, ...]
    plates: tuple[str, ...]
    readings: tuple[BenchReading, ...]
    foretold: tuple[BenchForetold, ...]
    counted: tuple[str, ...]
    text: str
    rule: str
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
