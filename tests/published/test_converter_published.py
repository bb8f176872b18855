"""The torque converter against definitions and figures printed elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.quantities.units import from_si, to_si
from bellhousing.road.converter import capacity_factor, engine_speed_on_converter, torque_ratio


def stall(torque: float, peak: float, factor: float) -> float:
    """Stall speed [rpm] of an engine with its peak torque [lb ft] at `peak` [rpm] on a converter [K]."""
    found = engine_speed_on_converter(
        np.array(to_si(torque, "lb ft")),
        np.array(to_si(peak, "rpm")),
        np.array(to_si(factor, "rpm/sqrt(lb ft)")),
    )
    return float(from_si(float(found), "rpm"))


class TestCapacityFactor:
    """K = N / √T, rpm and lb ft: the definition of SAE J643, as the National Renewable Energy Laboratory's
    notes on an automatic gearbox model of August 2000 give it. The figures are our own.
    """

    @pytest.mark.beside("the definition of SAE J643 with figures of our own")
    def test_engine_at_its_peak(self) -> None:
        """K 130 and 225 lb ft: 1950 rpm."""
        assert stall(225.0, 1950.0, 130.0) == pytest.approx(1950.0, rel=1e-9)

    @pytest.mark.beside("the definition of SAE J643 with figures of our own")
    @pytest.mark.parametrize(("torque", "peak", "factor"), [(180.0, 3200.0, 144.0), (400.0, 2800.0, 107.0)])
    def test_it_takes_what_the_engine_gives(self, torque: float, peak: float, factor: float) -> None:
        """At the speed found, (N / K)² is the engine's torque there."""
        speed = stall(torque, peak, factor)
        given = torque * (1.0 - 0.35 * ((speed - peak) / peak) ** 2)
        assert (speed / factor) ** 2 == pytest.approx(given, rel=1e-9)

    @pytest.mark.beside("a law of scaling")
    def test_torque_goes_as_the_square_of_speed(self) -> None:
        """At one speed ratio K is one number: twice the speed, four times the torque."""
        assert stall(4.0 * 225.0, 2.0 * 1950.0, 130.0) == pytest.approx(2.0 * stall(225.0, 1950.0, 130.0))


class TestCoupling:
    """Converter and coupling: US Army TM 9-8000, Principles of Automotive Vehicles, 1985, chapter 21."""

    @pytest.mark.beside("a statement without a figure, US Army TM 9-8000, chapter 21")
    def test_past_the_coupling_point_torque_is_no_longer_multiplied(self) -> None:
        """The ratio is 1 there and stays 1, so that efficiency is the speed ratio."""
        beyond = np.array([0.88, 0.9, 0.95])
        assert torque_ratio(np.array(2.05), np.array(0.88), beyond) == pytest.approx([1.0, 1.0, 1.0])

    @pytest.mark.beside("a statement without a figure, US Army TM 9-8000, chapter 21")
    def test_torque_is_multiplied_most_at_stall(self) -> None:
        """It falls steadily as the turbine catches up, and the converter takes less torque."""
        ratios = np.linspace(0.0, 0.88, 45)
        assert np.all(np.diff(torque_ratio(np.array(2.05), np.array(0.88), ratios)) < 0.0)
        assert np.all(np.diff(capacity_factor(np.array(1.0), ratios)) > 0.0)
