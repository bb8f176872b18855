"""Friction faces and linings against figures printed elsewhere; the source stands beside each."""

from __future__ import annotations

import pytest

from bellhousing.friction.linings import FACINGS, LININGS, face_power, power_margin
from bellhousing.friction.plate_clutch import torque_of_uneven_friction
from tests.published.sources import GATE

published = pytest.mark.published


@published(
    quantity="torque with friction that grows with the radius",
    source=GATE,
    place="single plate, μ = 0.01 r",
    code="friction.plate_clutch.torque_of_uneven_friction",
)
def test_friction_that_grows_with_the_radius() -> None:
    """GATE examination item: μ = 0.01 r (r in mm), 20 and 40 mm, even pressure, 18.85 N·m: 0.5 MPa."""
    torque = torque_of_uneven_friction(0.5e6, 0.2, 0.4, 0.020, 0.040)
    assert torque == pytest.approx(18.85, abs=0.01)
    one = float(torque_of_uneven_friction(1.0, 0.2, 0.4, 0.020, 0.040))
    assert 18.85 / one == pytest.approx(0.5e6, rel=1e-3)


@pytest.mark.beside("a look-up")
@pytest.mark.parametrize(
    ("name", "friction", "sliding", "highest", "power"),
    [
        ("paper", 0.11, 0.11, 1750e3, 2.3e6),
        ("woven", 0.08, 0.08, 1750e3, 1.8e6),
        ("moulded", 0.04, 0.04, 1750e3, 0.6e6),
        ("moulded, grooved", 0.06, 0.06, 1750e3, 0.6e6),
        ("sintered", 0.10, 0.05, 4200e3, 2.3e6),
        ("sintered, grooved", 0.10, 0.06, 4200e3, 2.3e6),
    ],
)
def test_linings_in_oil(name: str, friction: float, sliding: float, highest: float, power: float) -> None:
    """Neale, *The Tribology Handbook*, table 7.4, p. B7.8 (last digits uncertain in the copy read)."""
    lining = LININGS[name]
    assert (lining.friction, lining.sliding_friction) == (friction, sliding)
    assert (lining.pressure[1], lining.power) == (highest, power)
    # 2.3 W on each square millimetre, put there in half a second, is 1.15 J/mm².
    put = face_power(power * 0.5 * 0.01, 0.5, 1.0, 0.01)
    assert power_margin(name, put) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.beside("a look-up")
@pytest.mark.parametrize(
    ("name", "heat", "conductivity", "density"),
    [("woven", 1250, 0.80, 1600), ("moulded", 1250, 0.80, 2800), ("sintered", 420, 16.0, 6000)],
)
def test_facings(name: str, heat: float, conductivity: float, density: float) -> None:
    """Neale, *The Tribology Handbook*, table 7.5: specific heat, conductivity, density."""
    facing = FACINGS[name]
    assert (facing.specific_heat, facing.conductivity, facing.density) == (heat, conductivity, density)
