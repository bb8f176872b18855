"""The car on the road against figures and laws printed elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.hydraulics.shift_map import road_speed
from bellhousing.quantities.units import from_si, to_si
from bellhousing.road.converter import efficiency, size_torque
from bellhousing.road.drive.road_load import Body, coast_speed, road_force

MPH = 0.44704


class TestConverterTable:
    """A table of an open-source vehicle model (VehicleInterfaces, Task/TCmatchingWithFrontdrive.mo)."""

    RATIOS = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.89])
    TORQUE = np.array([1.93, 1.89, 1.80, 1.71, 1.58, 1.43, 1.35, 1.23, 1.12, 1.00])
    PRINTED = np.array([0.0, 19.0, 36.0, 51.0, 63.0, 72.0, 81.0, 86.0, 89.0, 89.0])

    def test_efficiency_is_speed_ratio_times_torque_ratio(self) -> None:
        """Each printed efficiency within a point."""
        assert 100.0 * efficiency(self.RATIOS, self.TORQUE) == pytest.approx(self.PRINTED, abs=1.0)

    def test_torque_from_size_and_speed(self) -> None:
        """T = rho g lambda n² D⁵, n in rpm: 771.9 N m at 1000 rpm, 0.43 m."""
        found = size_torque(860.0, 6.23e-6, float(to_si(1000.0, "rpm")), 0.43, gravity=9.8)
        assert found == pytest.approx(771.9, abs=0.2)

    def test_torque_goes_as_the_fifth_power_of_size(self) -> None:
        """12 against 10.75 in: 1.733 times the torque (scaling; US Army TM 9-8000, chapter 21)."""
        small, large = (size_torque(860.0, 6e-6, 100.0, 0.0254 * inches) for inches in (10.75, 12.0))
        assert large / small == pytest.approx(1.733, abs=1e-3)


class TestRoadSpeed:
    """mph = rpm · D / (ratio · 336.135), D in inches (race-track.com prints 336); 60 π and 63 360 exact."""

    def test_road_speed_of_the_output(self) -> None:
        """2000 rpm at the output, axle 3.08, a tyre of 27.16 in."""
        speed = road_speed(float(to_si(2000.0, "rpm")), 3.08, 0.5 * 27.16 * 0.0254)
        assert float(speed) / MPH == pytest.approx(2000.0 * 27.16 / (3.08 * 336.135), rel=1e-5)

    def test_revolutions_a_mile(self) -> None:
        """20 168 / D: at 60 mph, revolutions a minute (dieseltalk.com prints 775 for a tyre of 26 in)."""
        rpm = 60.0 * MPH / (0.5 * 26.0 * 0.0254)
        assert float(from_si(rpm, "rpm")) == pytest.approx(20168.1 / 26.0, rel=1e-4)
        assert float(from_si(rpm, "rpm")) == pytest.approx(775.0, abs=1.0)


class TestCoastDown:
    """F = A + C V² and its closed form: method of US EPA, G. Thompson, The Vehicle Road Load Problem."""

    def test_speed_after_a_minute(self) -> None:
        """A 150 N, C 0.45, 1500 kg, from 30 m/s: 15.2368 m/s after 60 s."""
        assert float(coast_speed(30.0, 60.0, 150.0, 0.45, 1500.0)) == pytest.approx(15.2368, abs=1e-4)

    def test_the_car_of_the_drives_coasts_by_the_same_law(self) -> None:
        """Its road force, integrated by small steps in neutral, against the closed form."""
        body = Body(mass=1500.0, drag_area=2 * 0.45 / 1.225, rolling=150.0 / (1500.0 * 9.80665))
        speed, h = np.array(30.0), 0.01
        for _ in range(6000):
            half = speed - 0.5 * h * road_force(body, speed, 0.0) / body.mass
            speed = speed - h * road_force(body, half, 0.0) / body.mass
        assert float(speed) == pytest.approx(15.2368, abs=1e-3)

    def test_rolling_coefficient_is_a_usual_one(self) -> None:
        """0.012 to 0.015 for cars on concrete (slideplayer 15954103)."""
        assert 0.012 <= Body().rolling <= 0.015
