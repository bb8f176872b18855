"""Viscosity, viscosity index and density against the standards."""

from __future__ import annotations

import numpy as np
import pytest
from chemicals.viscosity import viscosity_index as table_viscosity_index

from bellhousing.hydraulics.fluid import (
    density,
    kinematic_viscosity,
    reference_viscosities,
    viscosity_index,
    walther_constants,
)
from tests.published.sources import D341, D2270

published = pytest.mark.published

CST = 1.0e-6


@published(
    quantity="viscosity index, procedure A",
    source=D2270,
    place="section 5.1.4",
    code="hydraulics.fluid.viscosity_index",
)
def test_procedure_a() -> None:
    """ASTM D2270, section 5.1.4: U 73.30, Y 8.86 (L 119.94, H 69.48): 92."""
    index = viscosity_index(73.30 * CST, 8.86 * CST, (119.94 * CST, 69.48 * CST))
    assert np.rint(index) == pytest.approx(92, abs=0)
    assert np.rint(viscosity_index(73.30 * CST, 8.86 * CST)) == pytest.approx(92, abs=0)


@published(
    quantity="viscosity index, procedure B",
    source=D2270,
    place="section 6.1.4",
    code="hydraulics.fluid.viscosity_index",
)
def test_procedure_b() -> None:
    """ASTM D2270, section 6.1.4: U 22.83, Y 5.05 (H 28.97): 156."""
    index = viscosity_index(22.83 * CST, 5.05 * CST, (40.0 * CST, 28.97 * CST))
    assert np.rint(index) == pytest.approx(156, abs=0)
    assert np.rint(viscosity_index(22.83 * CST, 5.05 * CST)) == pytest.approx(156, abs=0)


@pytest.mark.beside("the standard's own formula again")
@pytest.mark.parametrize("y", [70.0, 85.0, 120.0])
def test_thick_oils(y: float) -> None:
    """ASTM D2270, section 5.1.2: L = 0.8353 Y² + 14.67 Y - 216, H = 0.1684 Y² + 11.85 Y - 97."""
    low, high = reference_viscosities(y * CST)
    assert low / CST == pytest.approx(0.8353 * y * y + 14.67 * y - 216.0, rel=1e-12)
    assert high / CST == pytest.approx(0.1684 * y * y + 11.85 * y - 97.0, rel=1e-12)


@pytest.mark.other_program("chemicals")
def test_whole_table() -> None:
    """Quadratics of ASTM D2270 table X2.1 against its table 1, as another library holds it."""
    worst = 0.0
    for y in np.linspace(2.1, 90.0, 300):
        for share in (0.45, 0.6, 0.8):
            u = float(y * (3.0 + 6.0 * share))
            ours = float(viscosity_index(u * CST, y * CST))
            theirs = table_viscosity_index(u * CST, y * CST)
            assert theirs is not None
            if 0.0 < theirs < 250.0:
                worst = max(worst, abs(ours - theirs))
    assert 0.0 < worst < 1.0


@published(
    quantity="viscosity at another temperature",
    source=D341,
    place="example from 32 and 5.4 cSt",
    code="hydraulics.fluid.kinematic_viscosity",
    figures=(0,),
)
@published(
    quantity="constants of the viscosity line",
    source=D341,
    place="example from 32 and 5.4 cSt",
    code="hydraulics.fluid.walther_constants",
    figures=(1, 2),
)
def test_walther() -> None:
    """ASTM D341 worksheet: 32 cSt at 40 °C and 5.4 at 100 °C give 8.5 at 80 °C."""
    assert kinematic_viscosity(80.0, 32.0 * CST, 5.4 * CST) / CST == pytest.approx(8.53, abs=5e-3)
    a, b = walther_constants(32.0 * CST, 5.4 * CST)
    # The worksheet counts kelvin from 273, which moves its constants (9.5259, 3.7449) a little.
    assert a == pytest.approx(9.5259, abs=6e-3)
    assert b == pytest.approx(3.7449, abs=2e-3)


@pytest.mark.beside("a published formula with figures worked out from it")
def test_density_of_crude() -> None:
    """ASTM D1250 form with the constants of crude oil (K₀ 613.9723, K₁ 0): 870 falls to 808.95 at 100 °C."""
    assert density(870.0, 100.0, 613.9723, 0.0) == pytest.approx(808.95, abs=0.05)
