"""One car's parameters fitted to its own shifts and pressures."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.errors import FindingError
from bellhousing.road.cars import Cars
from bellhousing.road.one_car.drift import Seen, drift, straight_line
from bellhousing.road.one_car.fit import CarFit, fit_car
from bellhousing.road.one_car.observed import Observed, foretold
from bellhousing.road.one_car.parameters import PARAMETERS, prior_of
from bellhousing.road.shifts import shift_speeds
from bellhousing.road.shown import vehicle
from bellhousing.road.vehicle import Vehicle

MPH, PSI, INHG = 0.44704, 6894.757, 3386.389
SPEED, PRESSURE = 0.6 * MPH, 1.5 * PSI


@cache
def box_a() -> tuple[Box, Vehicle]:
    """Box A in its car."""
    box = load_box("box-a")
    return box, vehicle(box, 3.08, 0.345, 0.0)


def plan(*, gauge: bool = True) -> list[Observed]:
    """What is driven and read, with nothing in it yet."""
    rows = [
        Observed(f"{shift} at {inhg} inHg", 1.0, SPEED, shift=shift, vacuum=inhg * INHG)
        for shift in ("1-2", "2-3")
        for inhg in (16.0, 13.0, 10.0, 6.0)
    ]
    rows += [
        Observed("coast 3-2", 1.0, SPEED, reading="coast-down-32"),
        Observed("1-2 floor", 1.0, SPEED, shift="1-2", floor=True),
        Observed("forced 3-2", 1.0, SPEED, shift="3-2", floor=True),
    ]
    if gauge:
        names = ("line-drive-idle", "line-drive-hose-off", "line-reverse-idle", "governor-20", "governor-50")
        rows += [Observed(name, 1.0, PRESSURE, reading=name) for name in names]
    return rows


def driven(rows: list[Observed], truth: Cars, rng: np.random.Generator) -> list[Observed]:
    """The plan with what one true car shows, and its errors."""
    _, car = box_a()
    shown = foretold(rows, truth, car)[0]
    return [
        Observed(
            row.name,
            float(value + rng.normal() * row.uncertainty),
            row.uncertainty,
            row.shift,
            row.vacuum,
            row.floor,
            row.reading,
        )
        for row, value in zip(rows, shown, strict=True)
    ]


def true_car(rng: np.random.Generator) -> Cars:
    """An aged car."""
    prior = prior_of(box_a()[0])
    z = np.clip(rng.standard_normal((1, len(PARAMETERS) + 4)), -2.0, 2.0)
    return prior.cars(z)


@cache
def thirty() -> list[tuple[Cars, CarFit]]:
    """Thirty aged cars and the fit of what each shows."""
    rng = np.random.default_rng(8)
    truths = []
    for _ in range(30):
        truth = true_car(rng)
        truths.append((truth, fit_car(*box_a(), driven(plan(), truth, rng))))
    return truths


def test_a_hose_pulled_in_the_model_foretells_the_drive_without_hose() -> None:
    """Over thirty aged cars the true 1-2 and 2-3 without vacuum lie within what 95 draws in 100 say."""
    _, car = box_a()
    rng = np.random.default_rng(3)
    inside, wide = [], []
    for truth, fit in thirty():
        draws = shift_speeds(fit.draw(300, rng), car, 0.0)
        actual = shift_speeds(truth, car, 0.0)
        for shift in ("1-2", "2-3"):
            low, high = np.quantile(draws[shift], [0.025, 0.975])
            inside.append(low <= actual[shift][0] <= high)
            wide.append((high - low) / MPH)
    # 60 trials at 0.95: fewer than 50 happens once in a thousand times.
    assert sum(inside) >= 50
    assert np.median(wide) < 12.0


def test_parameters_lie_within_their_stated_scatter() -> None:
    """Standardised errors of thirty cars spread as a normal's: between 0.7 and 1.25 in the mean square."""
    errors = []
    for truth, fit in thirty():
        for known in fit.known:
            actual = float(truth[known.parameter.key][0]) / known.parameter.scale
            errors.append(np.log(known.value / actual) / known.scatter)
    assert 0.7 < float(np.mean(np.square(errors))) < 1.25


def test_shifts_alone_cannot_tell_what_only_a_gauge_does() -> None:
    """Without a gauge the regulator is not told at all and the governor's level hardly; with one they are."""
    box, car = box_a()
    rng = np.random.default_rng(2)
    truth = true_car(rng)
    bare = {one.parameter.id: one for one in fit_car(box, car, driven(plan(gauge=False), truth, rng)).known}
    full = {one.parameter.id: one for one in fit_car(box, car, driven(plan(), truth, rng)).known}
    assert not bare["regulator-base"].told
    assert full["regulator-base"].told
    assert full["governor-level"].scatter < 0.7 * bare["governor-level"].scatter


def test_more_rows_leave_less_scatter() -> None:
    """No parameter is known worse after more readings."""
    box, car = box_a()
    rows = driven(plan(), true_car(np.random.default_rng(5)), np.random.default_rng(6))
    few, many = fit_car(box, car, rows[:6]), fit_car(box, car, rows)
    narrower = [b.scatter <= a.scatter * 1.1 for a, b in zip(few.known, many.known, strict=True)]
    assert all(narrower)


def test_a_misread_row_is_named_as_odd() -> None:
    """A governor pressure read off the wrong scale stands out; the others do not."""
    box, car = box_a()
    rows = driven(plan(), true_car(np.random.default_rng(5)), np.random.default_rng(6))
    last = rows[-1]
    rows[-1] = Observed(last.name, 1.6 * last.value, last.uncertainty, reading=last.reading)
    odd = [row.observed.name for row in fit_car(box, car, rows).rows if row.odd]
    assert last.name in odd


def test_nothing_to_fit_is_refused() -> None:
    """With what to note."""
    box, car = box_a()
    with pytest.raises(FindingError, match="nothing to fit"):
        fit_car(box, car, [])


class TestDrift:
    """A straight line over the years."""

    def test_two_dates_cannot_tell(self) -> None:
        """A line through two points says nothing of itself."""
        found = drift([Seen(2020.0, 1.0, 0.02), Seen(2022.0, 0.95, 0.02)], (0.9, 1.1))
        assert found.leaves is None
        assert "cannot tell" in found.text

    def test_a_steady_loss_names_its_year(self) -> None:
        """One hundredth a year from 1.00 in 2018 passes 0.90 in 2028."""
        seen = [Seen(2018.0 + n, 1.0 - 0.01 * n, 0.003) for n in range(6)]
        found = drift(seen, (0.9, 1.1))
        assert found.leaves is not None
        assert found.leaves[1] == pytest.approx(2028.0, abs=0.7)
        assert found.leaves[0] < 2028.0 < found.leaves[2]

    def test_no_drift_names_none(self) -> None:
        """Readings that wander about one value."""
        seen = [Seen(2018.0 + n, 1.0 + 0.01 * (-1) ** n, 0.02) for n in range(6)]
        found = drift(seen, (0.9, 1.1))
        assert found.leaves is None
        assert found.text == "does not leave its window in the next 20 years (62 in 100)"

    def test_a_long_quiet_record_leaves_no_window_for_twenty_years(self) -> None:
        """Twelve years of readings that stay where they were, with the small chance that it does leave."""
        seen = [Seen(2014.0 + 2 * n, 1.0 + 0.001 * (-1) ** n, 0.004) for n in range(7)]
        found = drift(seen, (0.9, 1.1))
        assert found.leaves is None
        assert found.text == "does not leave its window in the next 20 years (over 99 in 100)"

    def test_too_few_readings_say_no_way(self) -> None:
        """Three poor readings would leave the window soon by either side."""
        seen = [Seen(2024.0 + n, 1.0 + 0.01 * (-1) ** n, 0.05) for n in range(3)]
        assert "which way it drifts is not sure" in drift(seen, (0.9, 1.1)).text

    def test_a_year_beyond_the_horizon_is_not_named(self) -> None:
        """The latest of 95 in 100 is said to be further off than anything is foretold."""
        seen = [Seen(2014.0 + 4 * n, 1.0 - 0.006 * 4 * n, 0.02) for n in range(4)]
        found = drift(seen, (0.85, 1.15))
        assert found.leaves is not None
        assert np.isinf(found.leaves[2])
        assert "on, perhaps not in the next 20 years" in found.text

    def test_what_is_outside_is_said_to_be(self) -> None:
        """No year is foretold for what has left already."""
        seen = [Seen(2018.0 + n, 0.85 - 0.01 * n, 0.003) for n in range(4)]
        assert drift(seen, (0.9, 1.1)).text == "already outside its window"

    def test_the_line_is_that_of_weighted_least_squares(self) -> None:
        """Three points with weights 1, 4, 1 by hand: b = 0.5, a = 2/3 + at the weighted middle."""
        middle, a, b, covariance = straight_line(
            [Seen(0.0, 0.0, 1.0), Seen(1.0, 1.0, 0.5), Seen(2.0, 1.0, 1.0)]
        )
        assert middle == pytest.approx(1.0)
        assert a == pytest.approx(5.0 / 6.0)
        assert b == pytest.approx(0.5)
        assert covariance[1, 1] == pytest.approx(0.5)
