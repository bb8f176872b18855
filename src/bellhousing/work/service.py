"""When a service is due: by time or by distance, whichever comes first, from when it was last done.

States are overdue, soon, later, or cannot tell, and then what would tell. A missed reading of the odometer
never hides a day that has passed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from bellhousing.work.mileage import YEAR, Habit, years_between

State = Literal["overdue", "soon", "cannot tell", "later"]
STATES: tuple[State, ...] = ("overdue", "soon", "cannot tell", "later")
SOON_DAYS = 30
"""Days before which a service is due soon; common practice, no source."""

SOON_PART = 0.1
"""Part of its distance before which a service is due soon; common practice, no source."""

SURE = 0.95
"""How surely a distance has passed unread before it counts as passed [1]; judgement, no source."""

UNSURE = 0.1
"""From which chance that it has passed nobody can tell without a reading [1]; judgement, no source."""

ROUNDED = 1.0
"""Distance that no odometer shows [m]."""

MONTH = YEAR / 12.0
STOOD = 90
"""Days without a sign of life after which a car counts as laid up; common practice, no source."""


@dataclass(frozen=True)
class Rule:
    """One service: what, how often, why, and how it ranks.

    Parameters
    ----------
    slug, name, todo, why, source : in words
    months : time between [months], None if time does not count
    distance : distance between [m], None if distance does not count
    opens : for a look after work, the distance from which it makes sense [m]
    risk : 3 what may strand the car or hurt it, 2 what costs if late, 1 what can wait
    season : "before-season", "before-lay-up" or ""
    minutes : time it takes
    after_work : whether it is counted from work done, and once
    kinds : kinds of box it holds for; empty for all
    words : what in the book of work says that it was done, each phrase by all of its words
    """

    slug: str
    name: str
    todo: str
    months: float | None
    distance: float | None
    risk: int = 2
    season: str = ""
    minutes: float = 60.0
    why: str = ""
    source: str = "common practice"
    opens: float | None = None
    after_work: bool = False
    kinds: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class Done:
    """When something was last done, at which reading [m] (None: not read), and where that is known from."""

    day: date
    odometer: float | None
    source: str


@dataclass(frozen=True)
class Due:
    """How one service of one car stands.

    Parameters
    ----------
    rule, last : what, and when last
    state : overdue, soon, cannot tell or later
    by_day : the day by which it is due, None if time does not count or nothing is known
    by_odometer : the reading at which it is due [m], None if distance does not count or nothing is known
    expected : days on which that reading is expected: 1 in 20 before the first, half before the second, 1 in
        20 after the third; each None where it is beyond all planning
    passed : probability that the distance has passed by now [1]
    day : the day to plan for: the earlier of `by_day` and the middle of `expected`
    first : what comes first: "time", "distance" or ""
    why : the state in words
    would_tell : what would settle it, empty where nothing is open
    """

    rule: Rule
    last: Done | None
    state: State
    by_day: date | None = None
    by_odometer: float | None = None
    expected: tuple[date | None, date | None, date | None] = (None, None, None)
    passed: float = 0.0
    day: date | None = None
    first: str = ""
    why: str = ""
    would_tell: str = ""


def due(rule: Rule, last: Done | None, habit: Habit, now: datetime) -> Due:
    """How a service stands now."""
    today = now.date()
    if last is None:
        return Due(
            rule,
            None,
            "cannot tell",
            why="when it was last done is not known",
            would_tell="note when it was last done, or do it now and count from there",
        )
    by_day = None if rule.months is None else after_months(last.day, rule.months)
    by_time = "later" if by_day is None else _by_day(by_day, today)
    way = None if rule.distance is None else _by_way(rule.distance, last, habit, now)
    state, first = _joined(by_time, None if way is None else way.state)
    day = _earlier(by_day, None if way is None else way.expected[1])
    if by_day is not None and day == by_day:
        first = first or "time"
    elif day is not None:
        first = first or "distance"
    return Due(
        rule,
        last,
        state,
        by_day=by_day,
        by_odometer=None if way is None else way.odometer,
        expected=(None, None, None) if way is None else way.expected,
        passed=0.0 if way is None else way.passed,
        day=day,
        first=first,
        why=_why(by_day, today, way),
        would_tell="" if way is None else way.would_tell,
    )


@dataclass(frozen=True)
class _Way:
    state: State
    odometer: float | None
    expected: tuple[date | None, date | None, date | None]
    passed: float
    would_tell: str


def _by_way(distance: float, last: Done, habit: Habit, now: datetime) -> _Way:
    """How a service stands by its distance: counted from the last reading, else from the day it was done."""
    odometer = None if last.odometer is None else last.odometer + distance
    start, left = _noon(last.day, now), distance
    read = habit.last
    if odometer is not None and read is not None and read.at.date() >= last.day:
        start, left = read.at, odometer - read.distance
        # Read at the very distance it is due, it is due, whatever the sums were rounded to.
        left = min(left, 0.0) if left < ROUNDED else left
    since = max(0.0, years_between(start, now))
    passed = habit.chance(left, since)
    ends = [habit.years_until(left, part) for part in (0.05, 0.5, 0.95)]
    early, middle, late = (
        None if years == float("inf") else start.date() + timedelta(days=round(years * YEAR))
        for years in ends
    )
    would_tell = ""
    if passed >= SURE:
        state: State = "overdue"
    elif passed > UNSURE:
        state, would_tell = "cannot tell", "read the odometer"
    elif _nearly(left, distance, habit, since):
        state = "soon"
    else:
        state = "later"
    if odometer is None and state != "later":
        would_tell = "what the odometer showed when it was done is not known: look it up, and read it now"
    return _Way(state, odometer, (early, middle, late), passed, would_tell)


def _nearly(left: float, distance: float, habit: Habit, since: float) -> bool:
    """Whether the distance is nearly used up, or more likely than not will be within the days of "soon"."""
    driven = habit.distance(since, 0.5)
    ahead = SOON_DAYS / YEAR
    return left - driven <= SOON_PART * distance or habit.chance(left, since + ahead) >= 0.5


def _noon(day: date, now: datetime) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=now.tzinfo)


def _by_day(by_day: date, today: date) -> State:
    if by_day < today:
        return "overdue"
    return "soon" if (by_day - today).days <= SOON_DAYS else "later"


def _joined(by_time: State, by_way: State | None) -> tuple[State, str]:
    """The more pressing of both, and which it is; a known day is never hidden by an unread odometer."""
    if by_way is None:
        return by_time, "time" if by_time != "later" else ""
    if STATES.index(by_way) < STATES.index(by_time):
        return by_way, "distance"
    return by_time, "time" if by_time != "later" else ""


def _earlier(first: date | None, second: date | None) -> date | None:
    return min((day for day in (first, second) if day is not None), default=None)


def _why(by_day: date | None, today: date, way: _Way | None) -> str:
    told = []
    if by_day is not None:
        days = (by_day - today).days
        told.append(f"{-days} days past its day" if days < 0 else f"{days} days to its day")
    if way is not None:
        if way.passed >= 1.0:
            told.append("past its distance")
        elif way.passed >= SURE:
            told.append("past its distance by the car’s habit, more than 95 in 100")
        elif way.passed > UNSURE:
            told.append(f"past its distance by now: {100.0 * way.passed:.0f} in 100")
    return "; ".join(told)


def after_months(day: date, months: float) -> date:
    """The same day some months later, the last of the month where there is no such day; parts in days."""
    whole = int(months)
    place = day.month - 1 + whole
    year, month = day.year + place // 12, place % 12 + 1
    last = (date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)).day
    return date(year, month, min(day.day, last)) + timedelta(days=round((months - whole) * MONTH))


def in_order(items: Sequence[Due], today: date, *, season: int, lay_up: int) -> tuple[Due, ...]:
    """The order to work in: by state, by risk, what the season asks for first, then by day.

    `season` and `lay_up` are the months in which cars come out and are put away.
    """
    wanted = season_now(today, season=season, lay_up=lay_up)
    return tuple(
        sorted(
            items,
            key=lambda item: (
                STATES.index(item.state),
                -item.rule.risk,
                0 if wanted and item.rule.season == wanted else 1,
                item.day or date.max,
                item.rule.slug,
            ),
        )
    )


def season_now(today: date, *, season: int, lay_up: int) -> str:
    """What lies ahead: "before-season" or "before-lay-up" in that month and the one before it, else ""."""
    if today.month in (season, (season - 2) % 12 + 1):
        return "before-season"
    return "before-lay-up" if today.month in (lay_up, (lay_up - 2) % 12 + 1) else ""


def lay_up_advice(today: date, seen: date | None, *, season: int, lay_up: int) -> tuple[str, ...]:
    """What standing asks for: before it is put away, and after it has stood; common practice, no source.

    `seen` is the last day anything was noted of the car.
    """
    told = []
    if seen is not None and (today - seen).days >= STOOD:
        told.append(
            f"Nothing was noted of it for {(today - seen).days} days. If it stood: look at the level before "
            "the first start, let it idle through every range with the brake held, then drive until it is "
            "fully warm; short runs leave water in the fluid."
        )
    if season_now(today, season=season, lay_up=lay_up) == "before-lay-up":
        told.append(
            "Before it is put away: drive it fully warm, note level and odometer, move it through every "
            "range, and lay clean paper under it, so that spring shows what it lost."
        )
    return tuple(told)
