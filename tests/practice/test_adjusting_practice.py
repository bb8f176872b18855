"""Adjusting advice against a reduced model of a three-speed written out here, which shares nothing with it.

Pressures in psi, speeds in mph, vacuum in inHg. The figures are a calibration by judgement of the trade:
common practice, no source. The screw shifts the spring, so it adds to the signal and leaves its slope.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.adjusting import Setting, Step, bench
from bellhousing.diagnosis.adjusting_advice import Advice, advise
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.quantities.units import from_si, to_si
from bellhousing.road.pressures import line, standing_signal
from tests.shipped import catalogue_as_shipped

SPEED = np.linspace(1.0, 110.0, 4000)
PSI_A_TURN = 2.0
VACUUM = {"light": 15.5, "medium": 9.5, "full": 0.5}


@dataclass(frozen=True)
class Reduced:
    """The reduced model with its spring `shift` psi of signal away from right."""

    shift: float = 0.0

    def governor(self) -> NDArray[np.float64]:
        return np.asarray(np.where(SPEED < 20.0, 0.055 * SPEED**2, 18.4 + 0.009 * SPEED**2))

    def signal(self, vacuum: float, governor: NDArray[np.float64] | float = 0.0) -> NDArray[np.float64]:
        standing = 85.0 + self.shift - 85.0 / 16.0 * vacuum
        return np.asarray(np.maximum(standing, 0.0) - np.minimum(0.5 * governor, np.maximum(standing, 0.0)))

    def line(self, vacuum: float) -> float:
        return float(65.0 + 1.06 * self.signal(vacuum))

    def up(self, shift: str, throttle: str) -> float:
        gain, offset = {"12": (0.49, 7.0), "23": (1.14, 18.0)}[shift]
        g = self.governor()
        over = g > offset + gain * self.signal(VACUUM[throttle], g)
        return float(SPEED[over][0]) if over.any() else 110.0

    def turned(self, turns: float) -> Reduced:
        return Reduced(self.shift + PSI_A_TURN * turns)

    def hose_off(self) -> Evidence:
        return _read("line-drive-hose-off", self.line(0.0), "psi", 1.5)

    def readings(self) -> list[Evidence]:
        changes = [
            _read(f"upshift-{shift}-{throttle}", self.up(shift, throttle), "mph", 1.0)
            for shift in ("12", "23")
            for throttle in ("light", "medium")
        ]
        vacuum = _read("modulator-vacuum-idle", 18.0, "inHg", 0.25)
        return [vacuum, self.hose_off(), _read("line-drive-1000", self.line(18.0), "psi", 1.5), *changes]


def _read(finding: str, value: float, unit: str, spread: float) -> Evidence:
    width = float(to_si(spread, unit)) - float(to_si(0.0, unit))
    return Evidence(finding, value=float(to_si(value, unit)), standard_uncertainty=width)


@cache
def prepared(box: str) -> Prepared:
    """A library box in its usual car."""
    return prepare(load_box(box), CarFacts(), catalogue_as_shipped(), cars=100)


def setting(advice: Advice) -> Setting:
    assert advice.setting is not None
    return advice.setting


def then(advice: Advice, finding: str, unit: str) -> tuple[float, float, float]:
    """What a reading will be after the adjustment: low, middle, high."""
    band = next(entry.then for entry in setting(advice).outcomes if entry.finding == finding)
    low, middle, high = (float(from_si(end, unit)) for end in (band.low, band.middle, band.high))
    return low, middle, high


def test_line_falls_with_vacuum_as_the_reduced_model_says() -> None:
    """Line slope of the reduced model is 5.6 psi an inch of mercury, and box A's lies with it in 4 to 6."""
    sound = Reduced()
    assert (sound.line(4.0) - sound.line(10.0)) / 6.0 == pytest.approx(5.63, abs=0.01)
    cars = prepared("box-a").model.cars
    low, high = (
        line(cars, "D1", standing_signal(cars, float(to_si(inches, "inHg"))), float(to_si(1500.0, "rpm")))
        for inches in (10.0, 4.0)
    )
    assert 4.0 < float(from_si(np.median(high - low), "psi")) / 6.0 < 6.0


def test_a_turn_moves_line_and_shifts_as_in_the_reduced_model() -> None:
    """What ten psi of spring do to box A they do to the reduced model, within their scatter."""
    table = bench(prepared("box-a"))
    newton = 10.0 * 6894.757 * 2.2e-4
    at = np.array([0.0, newton / 115.0])
    for vacuum_name, unit, low, high in (
        ("line-drive-hose-off", "psi", 9.0, 12.0),
        ("upshift-23-medium", "mph", 6.0, 12.0),
        ("upshift-12-medium", "mph", 3.0, 12.0),
    ):
        middle = [
            float(np.median(table.at(vacuum_name, np.full(100, place), np.arange(100)))) for place in at
        ]
        moved = float(from_si(middle[1], unit)) - float(from_si(middle[0], unit))
        sound, turned = Reduced(), Reduced(10.0)
        if unit == "psi":
            theirs = turned.line(0.0) - sound.line(0.0)
        else:
            theirs = turned.up(vacuum_name[8:10], "medium") - sound.up(vacuum_name[8:10], "medium")
        assert low < moved < high
        assert low < theirs < high


@pytest.mark.parametrize("shift", [-14.0, 12.0, 20.0])
def test_the_advice_brings_a_reduced_car_onto_its_own_map(shift: float) -> None:
    """Read, turn once, read again, turn as told: the car ends on its map, and no rate was given."""
    car, evidence = Reduced(shift), Reduced(shift).readings()
    steps: list[Step] = []
    box = prepared("box-by-readings")
    for _ in range(6):
        advice = advise(box, evidence, steps)
        if advice.state not in ("adjust", "one-step"):
            break
        turns = (
            float(np.sign(setting(advice).amount)) if advice.state == "one-step" else setting(advice).amount
        )
        assert np.sign(turns) == -np.sign(shift)
        predicted = then(advice, "line-drive-hose-off", "psi") if advice.state == "adjust" else None
        car = car.turned(turns)
        if predicted is not None:
            assert predicted[0] - 3.0 < car.line(0.0) < predicted[2] + 3.0
        steps.append(Step(len(evidence), turns))
        evidence.append(car.hose_off())
    assert advice.state == "on-map"
    assert abs(car.shift) <= 8.0  # the spread between good cars: common practice, no source
    sound = Reduced()
    for change, throttle, scatter in (("12", "light", 3.0), ("23", "light", 5.0), ("23", "medium", 7.0)):
        assert car.up(change, throttle) == pytest.approx(sound.up(change, throttle), abs=scatter)


def test_the_rate_is_learnt_within_its_uncertainty() -> None:
    """The rate told after some turns holds the reduced model's 2 psi a turn."""
    car = Reduced(16.0)
    evidence, steps = car.readings(), []
    for turns in (-1.0, -3.0):
        car = car.turned(turns)
        steps.append(Step(len(evidence), turns))
        evidence.append(car.hose_off())
    box = prepared("box-by-readings")
    learnt = setting(advise(box, evidence, steps)).rate
    area = box.model.cars["modulator.valve_area"].mean()
    true = PSI_A_TURN * 6894.757 * area
    assert abs(np.log(true / (learnt.usual * learnt.middle))) < 2.0 * learnt.spread
    assert learnt.spread < 0.45
