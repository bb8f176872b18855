"""The atmosphere and an engine's vacuum against figures printed elsewhere; the source stands beside each."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976

from bellhousing.hydraulics.atmosphere import SEA_LEVEL_PRESSURE, manifold_vacuum, standard_pressure
from tests.published.sources import (
    ATMOSPHERE_BY_FEET,
    BAROMETER_BY_FEET,
    ORDNANCE,
    STANDARD_ATMOSPHERE,
)

published = pytest.mark.published

INCH = 0.0254
POUND_FORCE = 4.4482216152605
PSI = POUND_FORCE / INCH**2
INHG = 3386.389
FOOT = 0.3048


class TestAtmosphere:
    """U.S. Standard Atmosphere, 1976, and tables made from it."""

    @published(
        quantity="pressure of the standard atmosphere",
        source=STANDARD_ATMOSPHERE,
        place="table by kilometre",
        code="hydraulics.atmosphere.standard_pressure",
    )
    @pytest.mark.parametrize(
        ("kilometres", "printed"), [(0.0, 101320.0), (2.0, 79501.0), (4.0, 61660.0), (6.0, 47218.0)]
    )
    def test_table_by_kilometre(self, kilometres: float, printed: float) -> None:
        """Geometric altitude; the table rounds to five figures."""
        assert standard_pressure(1000.0 * kilometres) == pytest.approx(printed, rel=5e-5)

    @published(
        quantity="pressure of the standard atmosphere",
        source=ATMOSPHERE_BY_FEET,
        place="whole table to 10 000 ft",
        code="hydraulics.atmosphere.standard_pressure",
    )
    @pytest.mark.parametrize(
        ("feet", "printed"),
        [
            (0, 14.696),
            (1000, 14.175),
            (2000, 13.664),
            (3000, 13.173),
            (5000, 12.230),
            (6000, 11.778),
            (8000, 10.914),
            (10000, 10.108),
        ],
    )
    def test_table_in_psi(self, feet: float, printed: float) -> None:
        """Table of standard atmospheric data by thousand feet."""
        assert standard_pressure(feet * FOOT) / PSI == pytest.approx(printed, abs=0.004)

    @published(
        quantity="pressure of the standard atmosphere",
        source=BAROMETER_BY_FEET,
        place="table to 10 000 ft",
        code="hydraulics.atmosphere.standard_pressure",
    )
    @pytest.mark.parametrize(
        ("thousand_feet", "printed"), [(2, 27.82), (4, 25.84), (6, 23.98), (8, 22.22), (10, 20.57)]
    )
    def test_table_in_inches_of_mercury(self, thousand_feet: float, printed: float) -> None:
        """Table of barometric pressure by altitude."""
        found = standard_pressure(1000.0 * thousand_feet * FOOT) / INHG
        assert found == pytest.approx(printed, abs=0.015)

    @pytest.mark.other_program("fluids")
    def test_another_library(self) -> None:
        """The `fluids` library computes the same atmosphere layer by layer."""
        for metres in (-500.0, 0.0, 500.0, 1000.0, 1500.0, 2000.0, 3000.0, 9000.0):
            assert standard_pressure(metres) == pytest.approx(ATMOSPHERE_1976(metres).P, abs=0.05)

    @pytest.mark.beside("a constant")
    def test_one_standard_atmosphere_of_mercury(self) -> None:
        """29.921 inHg is 101,325 Pa (U.S. Standard Atmosphere, 1976)."""
        assert standard_pressure(0.0) / INHG == pytest.approx(29.921, abs=1e-3)
        assert SEA_LEVEL_PRESSURE == 101325.0

    @pytest.mark.beside("another published form of the same law")
    def test_feet_formula(self) -> None:
        """P = P₀ (1 - h / 145,442)^5.255876, h in feet of geopotential altitude; geometric differs little."""
        feet = np.array([0.0, 2000.0, 5000.0, 8000.0])
        formula = 101325.0 * (1.0 - feet / 145442.0) ** 5.255876
        assert standard_pressure(feet * FOOT) == pytest.approx(formula, rel=2e-4)

    @published(
        quantity="manifold vacuum lost with altitude",
        source=ORDNANCE,
        place="p. 87",
        code="hydraulics.atmosphere.manifold_vacuum",
        figures=(0,),
    )
    def test_vacuum_lost_with_altitude(self) -> None:
        """US Army course OD1001, p. 87: 1 inHg per 1,000 ft; the exact loss is within 0.11 up to 6,000 ft."""
        feet = np.array([1000.0, 2000.0, 4000.0, 5000.0, 6000.0])
        lost = 18.0 - manifold_vacuum(18.0 * INHG, feet * FOOT) / INHG
        assert lost == pytest.approx(feet / 1000.0, abs=0.11)
        assert lost[:4] == pytest.approx([1.066, 2.100, 4.079, 5.024], abs=2e-3)
