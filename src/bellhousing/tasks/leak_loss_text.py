"""What a leak takes in a month and when the level leaves the marks of the stick, with the date in words."""

from __future__ import annotations

from datetime import date, timedelta
from math import isfinite

from bellhousing.diagnosis.leak_loss import (
    SPEED,
    USUAL_METRES,
    Outlook,
    Range,
    losses_are_whole,
    outlook,
)
from bellhousing.diagnosis.leaks import LeakTrace
from bellhousing.quantities.units import from_si
from bellhousing.tasks.leak_notes import LeakReading, loss_of, use_of
from bellhousing.tasks.leak_shapes import LossAnswer
from bellhousing.words.loss import LossWords

UNIT = "pint"
FARTHEST = 20 * 365.0
"""Days after which a date says nothing."""
STANDS_ABOVE = 0.3


def loss_answer(reading: LeakReading, found: LeakTrace, *, today: date) -> LossAnswer | None:
    """The loss and the day the level leaves the marks; None where nobody said how much is lost."""
    if not reading.losses:
        return None
    assumed: list[str] = []
    losses = [loss_of(words, running=_running(words, found, assumed)) for _, words in reading.losses]
    left = _left(reading, found, assumed)
    use = use_of(reading.use)
    whole = losses_are_whole(losses)
    if use.metres is None and use.running is None and any(loss.metres or loss.running for loss in losses):
        assumed.append(f"driven {USUAL_METRES / 1609.344:.0f} miles a month, within a factor of two")
    if use.running is None and any(loss.running for loss in losses):
        assumed.append(f"{SPEED / 0.44704:.0f} mph on average")
    if any(loss.kind == "spot" for loss in losses):
        assumed.append("absorbent card half a millimetre thick")
    height = None if whole else _hole(found, any(not loss.running for loss in losses))
    reckoned = outlook(losses, use, found.levels, left=left, site_height=height)
    month = [float(from_si(value, UNIT)) for value in _ends(reckoned.month)]
    days = [_day(value, today) for value in _ends(reckoned.days)]
    return LossAnswer(
        month=month[1],
        month_low=month[0],
        month_high=month[2],
        unit="US pint",
        day=days[1],
        day_early=days[0],
        day_late=days[2],
        never=reckoned.never,
        text=_text(month, reckoned, days, left),
        assumed=tuple(assumed),
    )


def _running(words: LossWords, found: LeakTrace, assumed: list[str]) -> bool:
    """Whether the drops fell with the engine running, where nobody said as the likeliest place drips."""
    if words.kind != "drops":
        return False
    if words.when:
        return words.when.startswith(("running", "driving"))
    drips = found.sites[0].drips
    running = drips.running > drips.parked
    assumed.append(f"the drops were counted {'with the engine running' if running else 'parked'}")
    return running


def _left(reading: LeakReading, found: LeakTrace, assumed: list[str]) -> float:
    """Share of the volume between the marks that is there."""
    use = reading.use
    if use.level is not None:
        return use.level
    if use.low is not None:
        return min(1.0, max(0.0, 1.0 - use.low / found.levels.stick_volume[0]))
    assumed.append("the level is at the upper mark now")
    return 1.0


def _hole(found: LeakTrace, parked: bool) -> float | None:
    """Height of the likeliest place that drips by standing fluid alone [m], None where none does."""
    if not parked:
        return None
    for belief in found.sites:
        if belief.probability < STANDS_ABOVE:
            break
        site = belief.site
        if site.height is not None and site.circuit == "sump" and "parked" in site.drips:
            return site.height.value
    return None


def _ends(found: Range) -> tuple[float, float, float]:
    return found.low, found.middle, found.high


def _day(days: float, today: date) -> str | None:
    if not isfinite(days) or days > FARTHEST:
        return None
    return (today + timedelta(days=round(days))).isoformat()


def _text(month: list[float], reckoned: Outlook, days: list[str | None], left: float) -> str:
    lost = f"About {month[1]:.2g} US pint ({month[0]:.2g} to {month[2]:.2g}) goes in the next month."
    if left <= 0.0:
        return f"{lost} The level is at the lower mark already: top up before driving."
    early, middle, late = days
    if middle is None:
        if reckoned.never > 0.5:
            return f"{lost} It most likely ends by itself when the level has fallen to the hole, above ADD."
        return f"{lost} The level stays on the stick for many years."
    shown = f"about {_shown(middle)}" + (f", {_shown(early)} at the earliest" if early else "")
    shown += f", {_shown(late)} at the latest" if late else ", or never"
    return f"{lost} Not topped up, the level is at ADD, the lower mark, {shown}."


def _shown(iso: str) -> str:
    day = date.fromisoformat(iso)
    return f"{day.day} {day:%b %Y}"
