"""From drops to a month's loss and the day the level leaves the marks of the stick."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.leak_levels import levels_of
from bellhousing.diagnosis.leak_loss import MILE, MONTH, Loss, Use, outlook

LEVELS = levels_of(load_box("box-a"))
DAY = 86_400.0


def test_one_drop_an_hour_parked_is_730_drops_a_month() -> None:
    """The middle loss is the middle drop times the hours of a month that the car stands."""
    found = outlook([Loss("drops", 1 / 3600.0)], Use(metres=0.0, running=0.0), LEVELS)
    assert found.parked.middle == pytest.approx(found.drop.middle * MONTH / 3600.0, rel=0.03)
    assert found.running.high == 0.0


def test_a_drop_of_fluid_is_smaller_than_a_taps() -> None:
    """Nine of ten drops lie between 0.015 and 0.08 ml; a tap's are a quarter of a millilitre."""
    drop = outlook([Loss("drops", 1e-3)], Use(), LEVELS).drop
    assert 0.015e-6 < drop.low < drop.middle < drop.high < 0.08e-6


def test_a_running_drip_counts_only_the_hours_run() -> None:
    """Twice the running hours lose twice as much; the days halve."""
    once, twice = (
        outlook([Loss("drops", 0.1, running=True)], Use(running=hours * 3600.0), LEVELS) for hours in (5, 10)
    )
    assert twice.month.middle == pytest.approx(2 * once.month.middle, rel=1e-6)
    assert twice.days.middle == pytest.approx(once.days.middle / 2, rel=1e-6)


@pytest.mark.beside(
    "by hand", code=("diagnosis.leak_loss.outlook:month.middle", "diagnosis.leak_loss.outlook:days.middle")
)
def test_half_a_pint_in_300_miles() -> None:
    """Driven 300 miles a month, half a pint goes a month and the pint between the marks lasts two."""
    pint = 0.473176473e-3
    found = outlook([Loss("volume", pint / 2, metres=300 * MILE)], Use(metres=300 * MILE), LEVELS)
    assert found.month.middle == pytest.approx(pint / 2, rel=0.05)
    assert found.days.middle == pytest.approx(2 * MONTH / DAY, rel=0.05)


def test_half_the_level_lasts_half_as_long() -> None:
    """A steady loss takes half the days from half way between the marks, and none from the lower mark."""
    loss = [Loss("volume", 1e-4, seconds=MONTH)]
    full, half, none = (outlook(loss, Use(), LEVELS, left=left).days.middle for left in (1.0, 0.5, 0.0))
    assert half == pytest.approx(full / 2)
    assert none == 0.0


def test_a_drip_under_standing_fluid_slackens_and_may_end_above_the_lower_mark() -> None:
    """Under a falling level it takes longer than at a steady rate, and a high hole ends it in most cars."""
    loss = [Loss("drops", 0.01)]
    steady = outlook(loss, Use(), LEVELS)
    low = outlook(loss, Use(), LEVELS, site_height=0.0)
    high = outlook(loss, Use(), LEVELS, site_height=0.040)
    assert low.days.middle > steady.days.middle
    assert low.never < 0.01
    assert high.never > 0.5
    assert np.isinf(high.days.high)


def test_a_wider_spot_holds_more_and_says_less_the_older_it_is() -> None:
    """Loss goes with the square of the diameter, and with one over the time it grew."""
    one, two = (outlook([Loss("spot", size, 43_200.0)], Use(), LEVELS) for size in (0.03, 0.06))
    assert two.month.middle == pytest.approx(4 * one.month.middle, rel=1e-6)
    slower = outlook([Loss("spot", 0.03, 86_400.0)], Use(), LEVELS)
    assert slower.month.middle == pytest.approx(one.month.middle / 2, rel=1e-6)


def test_the_range_holds_what_nobody_measured() -> None:
    """Drops of unknown size leave a wide range; a pint read off the stick a narrower one."""
    drops = outlook([Loss("drops", 1e-3)], Use(running=0.0), LEVELS).month
    pints = outlook([Loss("volume", 0.4e-3, seconds=MONTH)], Use(), LEVELS).month
    assert drops.high / drops.low > 2.5
    assert pints.high / pints.low < drops.high / drops.low
