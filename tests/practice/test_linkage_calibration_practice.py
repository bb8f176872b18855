"""A four-speed known only by its table foretells the rows that were left out of it.

Common practice, no source: the tables are written from a reduced model whose formulas stand in
`tests/road/linkage_tables.py` and share nothing with the program.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import box_from_bytes, load_box
from bellhousing.road.calibration import Fit, calibrated, fit_table
from bellhousing.road.cars import draw_cars
from bellhousing.road.four_speed.driving import down_speed, up_speed
from bellhousing.road.vehicle import MPH, bare_vehicle
from tests.road.linkage_tables import FEET, FORCED, SOUND, Linkage, full_table, table_file
from tests.road.printed_tables import TYRE

VALVE = {"1-2": "first_second", "2-3": "second_third", "3-4": "third_fourth", "4-3": "third_fourth"}
OTHER = Linkage(rod=4.0, heavy=1.1, light=0.9)
"""A box of the same family with other weights and another linkage."""


@cache
def fitted(car: Linkage = SOUND) -> tuple[Box, Fit]:
    """The box of a car's full table, fitted, and its fit."""
    box = box_from_bytes(table_file(full_table(car)))
    return calibrated(box), fit_table(box)


def band(box: Box, shift: str, throttle: str) -> tuple[float, float]:
    """Where 90 of 100 cars with this box shift [mph]."""
    cars = draw_cars(box, 1500, np.random.default_rng(11))
    car = bare_vehicle(box, 3.1, TYRE / 1000.0, 0.0)
    speed = down_speed if shift == "4-3" else up_speed
    shown = speed(cars, car, VALVE[shift], FEET[throttle], floor=throttle == "full")
    low, high = np.quantile(shown, [0.05, 0.95], method="inverted_cdf") / MPH
    return float(low), float(high)


@pytest.mark.parametrize("car", [SOUND, OTHER])
def test_full_throttle_upshift_left_out(car: Linkage) -> None:
    """The 3-4 at full throttle comes inside the band of 90 in 100, a third narrower than the family's."""
    low, high = band(fitted(car)[0], "3-4", "full")
    assert low < car.upshift("3-4", 1.0) < high
    wide = band(load_box("four-speed-linkage"), "3-4", "full")
    assert high - low < 0.67 * (wide[1] - wide[0])


def test_forced_downshift_left_out() -> None:
    """The forced 4-3, of which no row tells, comes inside a band that stays wide as the family's."""
    low, high = band(fitted()[0], "4-3", "full")
    assert low < FORCED < high
    wide = band(load_box("four-speed-linkage"), "4-3", "full")
    assert high - low > 0.6 * (wide[1] - wide[0])


@pytest.mark.parametrize("car", [SOUND, OTHER])
def test_rows_are_met_and_the_normal_posterior_holds(car: Linkage) -> None:
    """No row lies further than 2.5 deviations off; weighted draws count and move the middle little."""
    fit = fitted(car)[1]
    assert np.abs(fit.residuals).max() < 2.5
    assert fit.effective_share > 0.01
    assert np.abs(fit.moved).max() < 0.75


def test_each_upshift_left_out_in_turn_is_foretold() -> None:
    """Of eight upshifts, each left out in turn, at least seven fall inside the band of 90 in 100."""
    rows = full_table(OTHER)
    shifts = [row for row in rows if "upshift" in row]
    inside = 0
    for left_out in shifts:
        box = calibrated(box_from_bytes(table_file([row for row in rows if row != left_out])))
        shift = left_out.split("shift: ")[1].split(",")[0]
        throttle = left_out.split("throttle: ")[1].split(",")[0]
        low, high = band(box, shift, throttle)
        inside += low < OTHER.upshift(shift, FEET[throttle]) < high
    assert len(shifts) == 8
    assert inside >= 7


def test_the_table_tells_the_other_box_by_its_weights() -> None:
    """Both governor signals follow the table: the heavy one a tenth up, the light one a tenth down."""
    family = load_box("four-speed-linkage")
    for key, share in (("governor.primary_mass", 1.1), ("governor.secondary_mass", 0.9)):
        level = 1.0
        for part, power in ((key, 1.0), ("governor.radius", 1.0), ("governor.valve_area", -1.0)):
            now, was = fitted(OTHER)[0].number(part).value, family.number(part).value
            assert now is not None
            assert was is not None
            level *= (now / was) ** power
        assert level == pytest.approx(share, abs=0.06)
