"""When a service is due: whichever comes first, what cannot be told, in which order."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from bellhousing.work.mileage import MILE, Habit, Reading, habit_of
from bellhousing.work.service import Done, Rule, after_months, due, in_order, lay_up_advice, season_now

NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
RULE = Rule("service", "Service", "", months=24.0, distance=12000.0 * MILE)


def readings(*told: tuple[str, float]) -> list[Reading]:
    """Readings of an odometer: day and miles."""
    return [Reading(datetime.fromisoformat(f"{day}T12:00:00+00:00"), miles * MILE) for day, miles in told]


def done(day: str, miles: float | None = None) -> Done:
    """Something done on a day, at a reading in miles."""
    return Done(date.fromisoformat(day), None if miles is None else miles * MILE, "typed in")


QUIET = habit_of(
    readings(("2022-06-01", 60000), ("2023-06-01", 60800), ("2024-06-01", 61500), ("2026-05-01", 63000))
)
BUSY = habit_of(readings(("2024-06-01", 50000), ("2025-06-01", 59000), ("2026-05-20", 68000)))


@pytest.mark.parametrize(
    ("last", "habit", "state", "first"),
    [
        (done("2025-06-01", 62300), QUIET, "later", "time"),
        (done("2024-05-01", 61400), QUIET, "overdue", "time"),
        (done("2024-06-20", 61500), QUIET, "soon", "time"),
        (done("2025-06-01", 55900), BUSY, "overdue", "distance"),
        (done("2025-09-01", 57000), BUSY, "soon", "distance"),
        (done("2025-12-01", 64000), BUSY, "later", "distance"),
        (done("2024-05-01"), Habit(3.0, 1000.0 * MILE), "overdue", "time"),
        (None, BUSY, "cannot tell", ""),
    ],
)
def test_whichever_comes_first(last: Done | None, habit: Habit, state: str, first: str) -> None:
    """Time for a car that hardly moves, distance for one that does; nothing known is said to be so."""
    found = due(RULE, last, habit, NOW)
    assert (found.state, found.first) == (state, first)
    assert (found.state == "cannot tell") <= bool(found.would_tell)


def test_unread_odometer_cannot_be_told_and_says_what_would() -> None:
    """A year without a reading, 300 miles left when last read: neither passed nor not passed."""
    habit = habit_of(readings(("2023-06-01", 50000), ("2025-06-01", 51700)))
    found = due(RULE, done("2025-01-01", 40500), habit, NOW)
    assert found.state == "cannot tell"
    assert 0.05 < found.passed < 0.95
    assert found.would_tell == "read the odometer"


def test_missed_reading_never_hides_a_day_that_has_passed() -> None:
    """The same car, but its day is past: overdue, whatever the odometer may show."""
    habit = habit_of(readings(("2023-06-01", 50000), ("2025-06-01", 51700)))
    found = due(RULE, done("2024-01-01", 40500), habit, NOW)
    assert found.state == "overdue"
    assert found.by_day == date(2026, 1, 1)


def test_unknown_reading_when_it_was_done_is_counted_from_that_day() -> None:
    """Without the reading at the last service the habit alone tells, and no odometer figure is given."""
    found = due(RULE, done("2025-06-01"), QUIET, NOW)
    assert found.by_odometer is None
    assert found.state == "later"
    assert found.passed < 0.01


def test_forecast_is_wide_for_little_history_and_narrows() -> None:
    """One year of readings leaves a wider span of days than five with the same yearly way."""
    little = habit_of(readings(("2025-05-01", 60000), ("2026-05-01", 61000)))
    much = habit_of(readings(("2021-05-01", 56000), ("2026-05-01", 61000)))
    spans = [habit.distance(1.0, 0.95) - habit.distance(1.0, 0.05) for habit in (little, much)]
    assert spans[0] > 1.1 * spans[1]


def test_odometer_that_fell_counts_from_there() -> None:
    """Another odometer, or one that turned over: what came before is left out, and that is said."""
    habit = habit_of(readings(("2024-01-01", 99200), ("2025-01-01", 300), ("2026-01-01", 1300)))
    assert habit.fell
    assert habit.driven == pytest.approx(1000.0 * MILE)


@example(months=1.0, miles=48.24400856271461, age=0, way=48.24400856271461, unread=0)
@given(
    months=st.floats(min_value=0.1, max_value=240.0),
    miles=st.floats(min_value=10.0, max_value=1e5),
    age=st.integers(min_value=0, max_value=20000),
    way=st.floats(min_value=0.0, max_value=2e5),
    unread=st.integers(min_value=0, max_value=4000),
)
def test_what_is_past_its_day_or_its_read_distance_is_always_overdue(
    months: float, miles: float, age: int, way: float, unread: int
) -> None:
    """Of any rule and history: no reading missing or present changes that."""
    rule = Rule("r", "R", "", months=months, distance=miles * MILE)
    last = Done(NOW.date() - timedelta(days=age), 1000.0 * MILE, "")
    read = NOW - timedelta(days=min(unread, age))
    habit = habit_of([Reading(read, (1000.0 + way) * MILE)])
    found = due(rule, last, habit, NOW)
    assert found.by_day is not None
    if found.by_day < NOW.date() or (way >= miles and read.date() >= last.day):
        assert found.state == "overdue"
    days = [day for day in found.expected if day is not None]
    assert days == sorted(days)


@pytest.mark.parametrize(
    ("day", "months", "after"),
    [
        (date(2024, 8, 31), 6.0, date(2025, 2, 28)),
        (date(2024, 2, 29), 12.0, date(2025, 2, 28)),
        (date(2025, 12, 15), 1.0, date(2026, 1, 15)),
        (date(2026, 1, 1), 30.0 / 30.4375, date(2026, 1, 31)),
    ],
)
def test_months_end_on_the_last_day_there_is(day: date, months: float, after: date) -> None:
    """Half a year after the end of August is the end of February."""
    assert after_months(day, months) == after


def test_order_is_by_state_then_risk_then_season_then_day() -> None:
    """An overdue hose stands before an overdue service; before the season what the season asks for leads."""
    hose = Rule("hose", "Hose", "", 12.0, None, risk=3)
    spring = Rule("spring", "Spring", "", 12.0, None, risk=2, season="before-season")
    other = Rule("other", "Other", "", 12.0, None, risk=2)
    late, later = done("2024-01-01"), done("2026-05-01")
    items = [due(r, late, QUIET, NOW) for r in (other, spring, hose)] + [due(hose, later, QUIET, NOW)]
    ordered = in_order(items, date(2026, 3, 10), season=4, lay_up=11)
    assert [item.rule.slug for item in ordered] == ["hose", "spring", "other", "hose"]


@pytest.mark.parametrize(
    ("month", "season"), [(3, "before-season"), (4, "before-season"), (6, ""), (10, "before-lay-up")]
)
def test_season_begins_a_month_ahead(month: int, season: str) -> None:
    """March and April, October and November, where cars come out in April and are put away in November."""
    assert season_now(date(2026, month, 5), season=4, lay_up=11) == season


def test_standing_cars_get_advice() -> None:
    """After three months without a sign of life, and before they are put away."""
    assert not lay_up_advice(date(2026, 6, 1), date(2026, 5, 1), season=4, lay_up=11)
    assert (
        "before the first start" in lay_up_advice(date(2026, 6, 1), date(2026, 2, 1), season=4, lay_up=11)[0]
    )
    assert "paper" in lay_up_advice(date(2026, 10, 20), date(2026, 10, 1), season=4, lay_up=11)[0]
