"""Line pressure, leaks and filling: exact roots against bracketing, and how they must move."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from bellhousing.hydraulics.engagement import feed_flow, fill_time, filling_flow
from bellhousing.hydraulics.leakage import clutch_pressure, orifice_flow, pipe_flow, sealing_ring_flow
from bellhousing.hydraulics.line import circuit_flow, held_pressure, line_pressure, regulated_pressure
from bellhousing.hydraulics.pump import pump_leakage
from bellhousing.hydraulics.root import bracket_root

PSI = 6894.757293168
RNG = np.random.default_rng(3)
N = 300
TARGET = RNG.uniform(50.0, 250.0, N) * PSI
DROOP = RNG.uniform(0.0, 3.0e8, N)
DELIVERY = RNG.uniform(5e-5, 1.2e-3, N)
LAMINAR = RNG.uniform(0.0, 8e-10, N)
ORIFICE = RNG.uniform(1e-8, 4e-7, N)
LOSS = RNG.uniform(0.0, 4e-10, N)


def test_line_pressure_is_the_root_of_the_whole() -> None:
    """p = min(T - droop Q(p), hold) by the exact root, by our bracketing and by another solver."""
    exact = line_pressure(TARGET, DROOP, DELIVERY, LAMINAR, ORIFICE, LOSS)

    def gap(p: np.ndarray) -> np.ndarray:
        flow = circuit_flow(p, LAMINAR, ORIFICE)
        regulator = TARGET - DROOP * flow - p
        pump = (DELIVERY - LOSS * p - flow) * 1e9
        return np.asarray(np.minimum(regulator, pump))

    np.testing.assert_allclose(bracket_root(gap, np.zeros(N), TARGET), exact, rtol=1e-9)
    held = held_pressure(DELIVERY, LAMINAR, ORIFICE, LOSS)
    assert np.any(held < TARGET)
    assert np.any(held > TARGET)
    for i in range(0, N, 10):
        other = brentq(
            lambda p, i=i: DELIVERY[i] - (LAMINAR[i] + LOSS[i]) * p - ORIFICE[i] * np.sqrt(p),
            0.0,
            1e9,
            rtol=1e-13,
        )
        assert held[i] == pytest.approx(other, rel=1e-9)


@pytest.mark.parametrize(
    ("name", "sign"),
    [("target", 1), ("delivery", 1), ("droop", -1), ("laminar", -1), ("orifice", -1), ("loss", -1)],
)
def test_line_pressure_moves_one_way(name: str, sign: int) -> None:
    """More leak, droop or loss never raises the line; more delivery or target never lowers it."""
    names = ("target", "droop", "delivery", "laminar", "orifice", "loss")
    before = dict(zip(names, (TARGET, DROOP, DELIVERY, LAMINAR, ORIFICE, LOSS), strict=True))
    after = {**before, name: before[name] * 1.3}
    change = line_pressure(*after.values()) - line_pressure(*before.values())
    assert np.all(sign * change >= -1e-6)
    assert np.any(sign * change > 1.0)


def test_line_without_leaks_or_pump() -> None:
    """Nothing taken: the target whole; no delivery: no pressure; nothing to hold against: no limit."""
    assert regulated_pressure(60.0 * PSI, 1e8, 0.0, 0.0) == pytest.approx(60.0 * PSI, rel=1e-14)
    assert line_pressure(60.0 * PSI, 0.0, 0.0, 1e-10, 1e-7) == 0.0
    assert held_pressure(1e-4, 0.0, 0.0) == np.inf


def test_clutch_behind_its_feed_orifice() -> None:
    """Feed flow equals leak flow at the pressure found, and another solver finds the same."""
    feed, leak = RNG.uniform(1e-8, 3e-7, N), RNG.uniform(1e-13, 3e-9, N)
    p = clutch_pressure(TARGET, feed, leak)
    np.testing.assert_allclose(feed * np.sqrt(TARGET - p), leak * p, rtol=1e-6)
    for i in range(0, N, 10):
        other = brentq(
            lambda x, i=i: feed[i] * np.sqrt(TARGET[i] - x) - leak[i] * x, 0.0, TARGET[i], rtol=1e-13
        )
        assert p[i] == pytest.approx(other, rel=1e-9)
    assert clutch_pressure(1e5, 1e-7, 0.0) == 1e5
    assert clutch_pressure(1e5, 0.0, 0.0) == 1e5
    assert clutch_pressure(1e5, 0.0, 1e-10) == 0.0


def test_feed_is_orifice_hot_and_passage_cold() -> None:
    """The series law meets the orifice law without viscosity and the pipe law with a great deal of it."""
    area = 0.25 * np.pi * 0.003**2
    thin = feed_flow(0.003, 4e5, 850.0, 1e-9, 0.3, 0.62)
    assert thin == pytest.approx(float(orifice_flow(0.62, area, 4e5, 850.0)), rel=1e-6)
    thick = feed_flow(0.003, 4e5, 850.0, 100.0, 0.3, 0.62)
    assert thick == pytest.approx(float(pipe_flow(0.003, 4e5, 100.0, 0.3)), rel=1e-6)


def test_filling_takes_the_whole_delivery_when_the_pump_is_short() -> None:
    """Flow into the clutch and the circuits adds up to the delivery, or the line stays at its target."""
    fluid = {"density": 850.0, "viscosity": 0.008}
    back = 5.0 * PSI
    flow = filling_flow(
        TARGET, DELIVERY, LAMINAR, ORIFICE, 0.003, pump_leakage=LOSS, return_pressure=back, **fluid
    )
    full = feed_flow(0.003, TARGET - back, 850.0, 0.008)
    spare = DELIVERY - circuit_flow(TARGET, LAMINAR + LOSS, ORIFICE)
    enough = spare >= full
    assert enough.any()
    assert (~enough).any()
    np.testing.assert_allclose(flow[enough], full[enough])
    assert np.all(flow[~enough] < full[~enough])
    for i in np.flatnonzero(~enough)[:30]:
        p = brentq(
            lambda x, i=i: float(
                DELIVERY[i]
                - circuit_flow(x, LAMINAR[i] + LOSS[i], ORIFICE[i])
                - feed_flow(0.003, x - back, 850.0, 0.008)
            ),
            0.0,
            TARGET[i],
            rtol=1e-13,
        )
        assert flow[i] == pytest.approx(float(feed_flow(0.003, p - back, 850.0, 0.008)), rel=1e-6, abs=1e-12)


def test_filling_is_slower_cold_drained_or_leaking() -> None:
    """Thick oil, extra volume and a leak each lengthen the fill; a leak that takes all never fills."""
    args = (4e5, 5e-4, 1e-10, 1e-7, 0.004)
    warm = filling_flow(*args, density=850.0, viscosity=0.008)
    cold = filling_flow(*args, density=880.0, viscosity=0.3)
    assert fill_time(7e-5, cold) > 1.5 * fill_time(7e-5, warm)
    assert fill_time(7e-5, warm, extra_volume=7e-5) == pytest.approx(2.0 * fill_time(7e-5, warm))
    assert fill_time(7e-5, warm, leak=0.5 * warm) == pytest.approx(2.0 * fill_time(7e-5, warm))
    assert fill_time(7e-5, warm, leak=2.0 * warm) == np.inf
    assert (
        fill_time(7e-5, filling_flow(4e5, 0.0, 1e-10, 1e-7, 0.004, density=850.0, viscosity=0.01)) == np.inf
    )


def test_sealing_ring_holds_most_of_the_fluid_never_all() -> None:
    """A perfect ring still leaks; side clearance and end gap add to it; a missing ring leaks far more."""
    perfect = sealing_ring_flow(0.05, 0.0, 0.0, 4e5, 0.008)
    usual = sealing_ring_flow(0.05, 8e-5, 2e-4, 4e5, 0.008)
    side = sealing_ring_flow(0.05, 3e-4, 2e-4, 4e5, 0.008)
    gap = sealing_ring_flow(0.05, 8e-5, 1e-3, 4e5, 0.008)
    assert 0.0 < perfect < usual < min(side, gap)
    bare = np.pi * 0.05 * (1e-4) ** 3 * 4e5 / (12.0 * 0.008 * 2.4e-3)
    assert usual < 0.05 * bare


def test_pump_loses_more_with_clearance_and_with_thin_oil() -> None:
    """Losses grow as the cube of the side clearance once the faces dominate, and as one over viscosity."""
    shape = {"seal_length": 0.01, "seal_width": 0.05, "gear_width": 0.02, "tip_length": 0.01}
    one = pump_leakage(4e-5, 0.0, viscosity=0.01, **shape)
    assert pump_leakage(8e-5, 0.0, viscosity=0.01, **shape) == pytest.approx(8.0 * one)
    assert one == pytest.approx(2.0 * 0.05 * (4e-5) ** 3 / (12.0 * 0.01 * 0.01))
    tip = pump_leakage(4e-5, 1e-4, viscosity=0.01, **shape) - one
    assert tip == pytest.approx(0.02 * (1e-4) ** 3 / (12.0 * 0.01 * 0.01))
    assert pump_leakage(4e-5, 0.0, viscosity=0.005, **shape) == pytest.approx(2.0 * one)
