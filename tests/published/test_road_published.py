"""The car on the road against figures and laws printed elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.hydraulics.shift_map import road_speed
from bellhousing.quantities.units import to_si
from bellhousing.road.drive.mechanics import Converter
from bellhousing.road.drive.road_load import Body, RoadOnShaft
from tests.published.sources import TYRES

published = pytest.mark.published

MPH = 0.44704


class TestConverterTable:
    """A table of an open-source vehicle model (VehicleInterfaces, Task/TCmatchingWithFrontdrive.mo)."""

    RATIOS = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.89])
    TORQUE = np.array([1.93, 1.89, 1.80, 1.71, 1.58, 1.43, 1.35, 1.23, 1.12, 1.00])
    PRINTED = np.array([0.0, 19.0, 36.0, 51.0, 63.0, 72.0, 81.0, 86.0, 89.0, 89.0])

    @pytest.mark.beside("a band of three points about a table")
    def test_converter_of_the_drives_has_nearly_that_efficiency(self) -> None:
        """Power out over power in, from the printed stall ratio and coupling point alone, within 3 points.

        The drive's torque ratio falls on a straight line, the printed one sags below it.
        """
        one = np.ones(len(self.RATIOS))
        converter = Converter(0.01 * one, self.TORQUE[0] * one, self.RATIOS[-1] * one, one)
        engine = 150.0 * one
        pump, turbine = converter.torques(engine, self.RATIOS * engine)
        assert 100.0 * turbine * self.RATIOS / pump == pytest.approx(self.PRINTED, abs=3.0)

    @pytest.mark.beside("a law of scaling")
    def test_torque_goes_as_the_square_of_speed(self) -> None:
        """T ~ n² at the same speed ratio (scaling; US Army TM 9-8000, chapter 21)."""
        one = np.ones(1)
        converter = Converter(0.01 * one, 2.0 * one, 0.88 * one, one)
        (slow, _), (fast, _) = (converter.torques(w * one, 0.6 * w * one) for w in (100.0, 200.0))
        assert fast == pytest.approx(4.0 * slow)


class TestRoadSpeed:
    """mph = rpm · D / (ratio · 336.135), D in inches (race-track.com prints 336); 60 π and 63 360 exact."""

    @pytest.mark.beside("a published formula again")
    def test_road_speed_of_the_output(self) -> None:
        """2000 rpm at the output, axle 3.08, a tyre of 27.16 in."""
        speed = road_speed(float(to_si(2000.0, "rpm")), 3.08, 0.5 * 27.16 * 0.0254)
        assert float(speed) / MPH == pytest.approx(2000.0 * 27.16 / (3.08 * 336.135), rel=1e-5)

    @published(
        quantity="road speed from the speed of a shaft",
        source=TYRES,
        place="tyre of 26 in",
        code="hydraulics.shift_map.road_speed",
    )
    def test_revolutions_a_mile(self) -> None:
        """A tyre of 26 in turns 775 times a mile (dieseltalk.com): so many turns a minute are 60 mph."""
        speed = road_speed(float(to_si(775.0, "rpm")), 1.0, 0.5 * 26.0 * 0.0254)
        assert float(speed) / MPH == pytest.approx(60.0, abs=60.0 * 1.0 / 775.0)


class TestCoastDown:
    """F = A + C V² and its closed form: method of US EPA, G. Thompson, The Vehicle Road Load Problem."""

    @pytest.mark.beside(
        "a published method with figures of our own",
        code=(
            "road.drive.road_load.resistance",
            "road.drive.road_load.RoadOnShaft.load",
            "road.drive.road_load.RoadOnShaft.against",
        ),
    )
    def test_speed_after_a_minute(self) -> None:
        """A 150 N, C 0.45, 1500 kg, from 30 m/s: 15.2368 m/s after 60 s, by the road load of the drives."""
        body = Body(mass=1500.0, drag_area=2 * 0.45 / 1.225, rolling=150.0 / (1500.0 * 9.80665))
        road = RoadOnShaft(body, 1.0, 1.225)
        constant, slope = road.against(np.zeros(1), np.zeros(1))
        speed, h = np.full(1, 30.0), 0.01
        for _ in range(6000):
            half = speed - 0.5 * h * road.load(speed, constant, slope) / body.mass
            speed = speed - h * road.load(half, constant, slope) / body.mass
        assert float(speed[0]) == pytest.approx(15.2368, abs=1e-3)

    @pytest.mark.beside("a band")
    def test_rolling_coefficient_is_a_usual_one(self) -> None:
        """0.012 to 0.015 for cars on concrete, as lecture slides on rolling have it."""
        assert 0.012 <= Body().rolling <= 0.015
