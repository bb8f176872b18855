"""Proof of a repair against virtual cars whose truth is known."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.proof import not_tested, prove, together
from bellhousing.errors import FindingError
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.one_car.observed import Observed, foretold
from tests.shipped import ready

MPH, INHG = 0.44704, 3386.389


def prepared() -> Prepared:
    """Box A with few cars."""
    return ready("box-a")


PLAN = [
    Observed(f"{shift} at {inhg:.0f} inHg", 1.0, 0.6 * MPH, shift=shift, vacuum=inhg * INHG)
    for shift in ("1-2", "2-3")
    for inhg in (15.5, 9.5)
] + [Observed("3-2 on the coast", 1.0, 0.6 * MPH, shift="3-2", vacuum=20.0 * INHG)]


def driven(truth: Cars, rng: np.random.Generator) -> list[Observed]:
    """What one car does on the plan, with errors."""
    shown = foretold(PLAN, truth, prepared().model.vehicle)[0]
    return [
        Observed(row.name, float(v + rng.normal() * row.uncertainty), row.uncertainty, row.shift, row.vacuum)
        for row, v in zip(PLAN, shown, strict=True)
    ]


def car(fault: str | None, seed: int) -> Cars:
    """One sound car, or one with a fault of the catalogue."""
    ready = prepared()
    if fault is None:
        return draw_cars(ready.box, 1, np.random.default_rng(seed))
    place = ready.faults.index(fault)
    many = ready.model.afflicted([(place,)])
    return many.take(np.array([seed % len(many)]))


def test_a_hose_put_back_is_proved() -> None:
    """Before: late at every throttle; after: as a sound car."""
    rng = np.random.default_rng(1)
    found = prove(prepared(), driven(car("vacuum-hose-off", 3), rng), driven(car(None, 3), rng))
    assert found.before is not None
    assert found.before.as_sound < 0.02
    assert found.after.as_sound > 0.8
    assert all(one.as_sound > 0.8 for one in found.after.shifts)


def test_the_probability_is_honest() -> None:
    """Of forty cars, half sound, the mean probability and the share that truly shift as sound ones agree."""
    ready = prepared()
    rng = np.random.default_rng(4)
    sound = draw_cars(ready.box, 1500, np.random.default_rng(77))
    low, high = together(foretold(PLAN, sound, ready.model.vehicle), 0.95)
    odds = np.exp(ready.ln_odds[list(ready.sets.physical)])
    said, true = [], []
    for trial in range(40):
        fault = None
        if trial % 2:
            fault = ready.faults[ready.sets.physical[int(rng.choice(len(odds), p=odds / odds.sum()))]]
        truth = car(fault, 1000 + trial)
        shown = foretold(PLAN, truth, ready.model.vehicle)[0]
        true.append(bool(((shown >= low) & (shown <= high)).all()))
        said.append(prove(ready, [], driven(truth, rng)).after.as_sound)
    brier = float(np.mean((np.array(said) - np.array(true)) ** 2))
    assert abs(np.mean(said) - np.mean(true)) < 0.12
    assert brier < 0.12


def test_a_drive_no_car_makes_is_not_proved() -> None:
    """Shifts in the wrong order: nothing known shifts like this, and the probability is nought."""
    odd = [
        Observed(row.name, speed * MPH, row.uncertainty, row.shift, row.vacuum)
        for row, speed in zip(PLAN, (60.0, 5.0, 9.0, 80.0, 40.0), strict=True)
    ]
    found = prove(prepared(), [], odd).after
    assert not found.known
    assert found.as_sound < 0.01


def test_what_was_not_driven_is_listed() -> None:
    """Full throttle, the 2-1 and the kickdown are missing from the plan."""
    assert not_tested(prepared(), PLAN) == (
        "1–2 at full throttle",
        "2–3 at full throttle",
        "2–1 on the coast",
        "3–2 with the pedal on its stop",
    )


def test_without_a_drive_there_is_no_proof() -> None:
    """It is refused."""
    with pytest.raises(FindingError, match="no shift was driven"):
        prove(prepared(), PLAN, [])


def test_the_joint_band_holds_its_share() -> None:
    """Of independent normals, 95 in 100 lie in all four bands at once."""
    shown = np.random.default_rng(1).standard_normal((20000, 4))
    low, high = together(shown, 0.95)
    fresh = np.random.default_rng(2).standard_normal((20000, 4))
    assert ((fresh >= low) & (fresh <= high)).all(axis=1).mean() == pytest.approx(0.95, abs=0.01)
