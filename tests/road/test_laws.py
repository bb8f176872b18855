"""More of this never gives less of that: the model's directions, and what a change must leave alone."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from bellhousing.road.cars import CONDITION, Cars
from bellhousing.road.driving import down_speed, up_speed
from tests.road.cars_of import COUNT, INHG, changed, scaled, shows, sound

VALVES = ("first_second", "second_third")
GRID = [16.0, 14.0, 11.0, 8.0, 5.0, 2.0, 0.0]


def up(cars: Cars, valve: str, vacuum: float) -> np.ndarray:
    """Upshift speeds at a vacuum felt [inHg]."""
    return up_speed(cars, sound()[1], valve, np.full(COUNT, vacuum * INHG))


def down(cars: Cars, valve: str, vacuum: float) -> np.ndarray:
    """Downshift speeds at a vacuum felt [inHg]."""
    return down_speed(cars, sound()[1], valve, np.full(COUNT, vacuum * INHG))


@pytest.mark.parametrize("valve", VALVES)
def test_wider_throttle_never_shifts_up_earlier(valve: str) -> None:
    """Nor down later; and a gear once taken is held below its upshift."""
    cars, _ = sound()
    for wider, closed in zip(GRID[1:], GRID[:-1], strict=True):
        assert np.all(up(cars, valve, wider) >= up(cars, valve, closed) - 1e-9)
        assert np.all(down(cars, valve, wider) >= down(cars, valve, closed) - 1e-9)
    for vacuum in GRID:
        assert np.all(down(cars, valve, vacuum) < up(cars, valve, vacuum))


LATER: dict[str, Callable[[], Cars]] = {
    "weak governor": lambda: scaled(governor__scale=0.7),
    "strong modulator spring": lambda: scaled(modulator__spring_force=1.2),
    "half a hose": lambda: changed(hose__share=0.5),
    "torn diaphragm": lambda: changed(diaphragm__share=0.1),
    "tired engine": lambda: changed(engine__vacuum_loss=4.0 * INHG),
    "sticking governor": lambda: changed(governor__friction=20000.0),
    "kickdown stuck on": lambda: changed(detent__always=1.0),
}


@pytest.mark.parametrize("name", LATER)
def test_faults_that_shift_late(name: str) -> None:
    """No shift earlier in any car, and the light 1-2 later in nearly all."""
    late, usual = shows(LATER[name]()).readings, shows(sound()[0]).readings
    for shift in ("12", "23"):
        for throttle in ("light", "medium", "full"):
            finding = f"upshift-{shift}-{throttle}"
            assert np.all(late[finding] >= usual[finding] * (1.0 - 1e-6)), finding
    assert np.mean(late["upshift-12-light"] > usual["upshift-12-light"] * 1.02) > 0.9


@pytest.mark.parametrize("weak", [0.9, 0.75, 0.6])
def test_weaker_spring_in_the_modulator_shifts_early_and_lowers_the_line(weak: float) -> None:
    """In every car."""
    found, usual = shows(scaled(modulator__spring_force=weak)).readings, shows(sound()[0]).readings
    assert np.all(found["upshift-12-medium"] <= usual["upshift-12-medium"])
    assert np.all(found["line-drive-hose-off"] <= usual["line-drive-hose-off"])


def test_hose_off_shifts_at_the_same_speed_at_any_throttle() -> None:
    """The engine's vacuum no longer matters; only the pedal's last inch, the kickdown, still does."""
    found = shows(changed(hose__share=0.0, detent__works=0.0)).readings
    for shift in ("12", "23"):
        light = found[f"upshift-{shift}-light"]
        for throttle in ("medium", "full"):
            np.testing.assert_array_equal(found[f"upshift-{shift}-{throttle}"], light)
    with_kickdown = shows(changed(hose__share=0.0)).readings
    assert np.all(with_kickdown["upshift-12-full"] >= with_kickdown["upshift-12-light"])


def test_hose_off_and_torn_diaphragm_differ_only_at_the_gauge() -> None:
    """Both lose the signal's vacuum; only the hose takes it from the gauge at the modulator."""
    hose, torn = shows(changed(hose__share=0.0)).readings, shows(changed(diaphragm__share=0.0)).readings
    for finding in ("line-drive-idle", "line-drive-1000", "upshift-12-light", "upshift-23-medium"):
        np.testing.assert_allclose(torn[finding], hose[finding], rtol=1e-6)
    assert np.all(hose["modulator-vacuum-idle"] == 0.0)
    np.testing.assert_array_equal(
        torn["modulator-vacuum-idle"], shows(sound()[0]).readings["modulator-vacuum-idle"]
    )


def test_leak_never_raises_the_line() -> None:
    """Pump, circuits and air: the more is lost, the lower the line in every range."""
    lines = [
        name for name in shows(sound()[0]).readings if name.startswith("line-") and "-against-" not in name
    ]
    lines.remove("line-drive-below-neutral")
    for name in ("pump__leakage", "forward_clutch__leakage", "direct_clutch__leakage"):
        before = shows(sound()[0]).readings
        for factor in (2.0, 5.0, 15.0):
            after = shows(scaled(**{name: factor})).readings
            for line in lines:
                assert np.all(after[line] <= before[line] * (1.0 + 1e-6)), (name, line)
            before = after


def test_leaking_direct_circuit_shows_in_its_own_ranges() -> None:
    """Third and reverse lose line, drive in first does not."""
    leaking, usual = shows(scaled(direct_clutch__leakage=40.0)), shows(sound()[0])
    assert leaking.chances["line-third-below-second"][:, 1].mean() > 0.8
    np.testing.assert_array_equal(leaking.readings["line-drive-idle"], usual.readings["line-drive-idle"])
    assert np.mean(leaking.readings["line-reverse-idle"] < 0.9 * usual.readings["line-reverse-idle"]) > 0.9


def test_stuck_valves() -> None:
    """Stuck down never shifts, stuck up starts in the higher gear."""
    down_stuck = shows(changed(shift_valves__first_second__stuck=-1.0)).readings
    assert np.all(np.isinf(down_stuck["upshift-12-light"]))
    up_stuck = shows(changed(shift_valves__first_second__stuck=1.0)).readings
    assert np.all(up_stuck["upshift-12-light"] == 0.0)
    third = shows(changed(shift_valves__second_third__stuck=-1.0)).readings
    assert np.all(np.isinf(third["upshift-23-light"]))
    assert np.all(np.isfinite(third["upshift-12-light"]))


def test_states_are_chances_and_readings_are_numbers_whatever_the_condition() -> None:
    """A random car with any condition at all: chances sum to one, no reading is not a number."""
    rng = np.random.default_rng(2)
    span = dict.fromkeys(CONDITION, (0.0, 1.0)) | {
        "regulator.stuck_at": (0.0, 1.5e6),
        "engine.vacuum_loss": (0.0, 7e4),
        "throttle.short": (0.0, 3e4),
        "governor.residual": (0.0, 2e5),
        "converter.drained": (0.0, 9.0),
        "low_reverse_band.leakage": (0.0, 0.0),
    }
    cars, _ = sound()
    for _ in range(20):
        drawn = {
            name: np.where(rng.random(COUNT) < 0.5, rng.uniform(low, high, COUNT), CONDITION[name])
            for name, (low, high) in span.items()
        }
        found = shows(cars.with_values(drawn))
        for name, chances in found.chances.items():
            assert chances.sum(axis=1) == pytest.approx(1.0, abs=1e-5), name
            assert np.all(chances >= -1e-6), name
        for name, reading in found.readings.items():
            assert not np.any(np.isnan(reading)), name
            assert np.all(reading[np.isfinite(reading)] > -1e6), name
