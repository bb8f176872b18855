"""What is said of the fit of one car: its parameters, rows, drift, and what it foretells."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class SeenAnswer(Shape):
    """A parameter as it was fitted on a day."""

    date: str
    value: float
    low: float
    high: float


class DriftAnswer(Shape):
    """How a parameter drifts over the fits of a car.

    `per_year` is a share of its value with its standard uncertainty, null where that cannot be told; `leaves`
    the year it leaves its window, earliest, middle and latest of 95 in 100, null for not in the next twenty
    years; `text` says it all.
    """

    text: str
    per_year: float | None
    uncertainty: float | None
    leaves: tuple[float | None, float | None, float | None] | None
    seen: tuple[SeenAnswer, ...]


class EarlierAnswer(Shape):
    """An earlier fit of this car: its day, and its job or file."""

    date: str
    name: str


class ParameterAnswer(Shape):
    """A parameter: value with where 95 in 100 lie, the sound unit's window, and whether it is told at all."""

    id: str
    name: str
    unit: str
    value: float
    low: float
    high: float
    window: tuple[float, float]
    inside: float
    told: bool
    drift: DriftAnswer | None


class RowAnswer(Shape):
    """A row as said, as the fitted car shows it, and how far off it is in standard deviations."""

    said: str
    value: float
    fitted: float
    unit: str
    off: float
    odd: bool


class ForetoldAnswer(Shape):
    """An upshift under other conditions [mph], where 95 in 100 lie, and now the middle; null: never."""

    shift: str
    now: float | None = None
    low: float | None
    middle: float | None
    high: float | None


class FitAnswer(Shape):
    """The fit of one car on one date; a later fit takes this answer as an earlier one.

    `earlier` are the fits its drift is reckoned from, `kept` whether it stands in the car's records.
    `hose_off` are the upshifts without vacuum hose, of a three-speed; `rod_longer` those at half throttle
    with the throttle rod a sixteenth of an inch longer, of a four-speed.
    """

    box: str
    date: str
    rows: tuple[RowAnswer, ...]
    parameters: tuple[ParameterAnswer, ...]
    cannot_tell: tuple[str, ...]
    together: tuple[tuple[str, str], ...]
    hose_off: tuple[ForetoldAnswer, ...] = ()
    rod_longer: tuple[ForetoldAnswer, ...] = ()
    effective_share: float
    notes: tuple[str, ...]
    earlier: tuple[EarlierAnswer, ...] = ()
    kept: bool = False
