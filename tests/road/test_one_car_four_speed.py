"""One four-speed's parameters fitted to its shifts and pressures."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

import numpy as np
import pytest

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.errors import FindingError
from bellhousing.road.one_car.fit import CarFit, Known, fit_car
from bellhousing.road.one_car.observed import Observed, foretold
from bellhousing.road.one_car.parameters import prior_of
from bellhousing.road.shown import vehicle
from bellhousing.road.vehicle import Vehicle
from tests.road.linkage_tables import COAST, UP, Linkage
from tests.road.printed_tables import TYRE

MPH, PSI, INHG = 0.44704, 6894.757, 3386.389
SPEED, PRESSURE = 0.6, 1.5  # [mph], [psi]
FEET = {16.0: 0.03, 13.0: 0.265, 10.0: 0.5, 5.0: 0.75}
"""Travel of the pedal at a vacuum [inHg] on the car that is driven."""


@cache
def box_b() -> tuple[Box, Vehicle]:
    """Box B in its car."""
    box = load_box("box-b")
    return box, vehicle(box, 3.1, TYRE / 1000.0, 0.0)


def driven(car: Linkage, seed: int = 2, *, gauge: bool = True) -> list[Observed]:
    """What a car of the reduced model shows, with errors of reading."""
    rng = np.random.default_rng(seed)

    def mph(value: float) -> float:
        return (value + SPEED * rng.normal()) * MPH

    rows = [
        Observed(f"{up} at {v}", mph(car.upshift(up, x)), SPEED * MPH, shift=up, vacuum=v * INHG)
        for up in UP
        for v, x in FEET.items()
    ]
    rows += [
        Observed(f"{up} floor", mph(car.upshift(up, 1.0)), SPEED * MPH, shift=up, floor=True) for up in UP
    ]
    rows += [
        Observed(down, mph(v), SPEED * MPH, reading=f"coast-down-{down.replace('-', '')}")
        for down, v in COAST.items()
    ]
    if gauge:
        shown = {f"tv-{name}": car.throttle(x) for name, x in (("closed", 0.0), ("half", 0.5), ("full", 1.0))}
        shown |= {f"g1-{v}": car.heavy_signal(v) for v in (10, 20, 30)}
        shown |= {f"g2-{v}": car.light_signal(v) for v in (30, 50)}
        rows += [
            Observed(name, (psi + PRESSURE * rng.normal()) * PSI, PRESSURE * PSI, reading=name)
            for name, psi in shown.items()
        ]
    return rows


@cache
def fitted(car: Linkage) -> CarFit:
    """The fit of what one car shows."""
    return fit_car(*box_b(), driven(car))


def by_id(known: Iterable[Known]) -> dict[str, Known]:
    """Parameters by id."""
    return {one.parameter.id: one for one in known}


@pytest.mark.parametrize(("psi", "inch"), [(0.0, 0.0), (13.0, 0.125), (-8.0, -0.077)])
def test_a_rod_that_is_off_is_told_from_a_governor_that_is(psi: float, inch: float) -> None:
    """Its length lies within what is stated; the governor stays, and only a rod off is outside."""
    known = by_id(fitted(Linkage(rod=psi)).known)
    low, high = known["rod"].ends
    assert low < inch < high
    assert high - low < 1.0 / 16.0
    assert (known["rod"].inside < 0.05) == (psi != 0.0)
    assert known["governor-level"].inside > 0.5


@pytest.mark.parametrize(
    ("car", "lost", "kept"),
    [
        (Linkage(heavy=0.75, light=0.75), "governor-level", "governor-light"),
        (Linkage(light=0.6), "governor-light", "governor-level"),
    ],
)
def test_a_weak_governor_is_told_from_a_weak_light_weight(car: Linkage, lost: str, kept: str) -> None:
    """What lost its level is outside the window, the other weight and the rod are not."""
    known = by_id(fitted(car).known)
    share = car.heavy if lost == "governor-level" else car.light
    assert known[lost].inside < 0.01
    assert known[lost].value == pytest.approx(share, abs=0.08)
    assert known[kept].inside > 0.4
    assert known["rod"].inside > 0.9
    assert not any(row.odd for row in fitted(car).rows)


def test_shifts_alone_cannot_tell_pressures() -> None:
    """Without a gauge neither the regulator's gain nor the pump is told; throttle pressures hardly.

    The regulator's spring is told a little: a late 3-4 comes where the line itself caps the first signal.
    """
    bare = by_id(fit_car(*box_b(), driven(Linkage(), gauge=False)).known)
    full = by_id(fitted(Linkage()).known)
    for name in ("regulator-gain", "pump-leak", "23-kick", "34-detent"):
        assert not bare[name].told
    assert full["throttle-full"].scatter < 0.8 * bare["throttle-full"].scatter
    assert full["governor-level"].scatter < 0.7 * bare["governor-level"].scatter


def test_parameters_lie_within_their_stated_scatter() -> None:
    """Standardised errors of six aged cars spread as a normal's: 0.65 to 1.4 in the mean square."""
    box, car = box_b()
    prior, rng = prior_of(box), np.random.default_rng(3)
    plan = [*driven(Linkage()), Observed("line", 1.0, PRESSURE * PSI, reading="line-drive-1000")]
    errors = []
    for _ in range(6):
        truth = prior.cars(np.clip(rng.standard_normal((1, prior.count)), -2.0, 2.0))
        shown = foretold(plan, truth, car)[0]
        rows = [
            Observed(
                row.name, v + rng.normal() * row.uncertainty, row.uncertainty, row.shift, row.vacuum,
                row.floor, row.reading,
            )
            for row, v in zip(plan, shown, strict=True)
        ]  # fmt: skip
        for known in fit_car(box, car, rows).known:
            one = known.parameter
            actual = float(truth[one.key][0]) / one.scale
            apart = known.value - actual if one.added else np.log(known.value / actual)
            errors.append(apart / known.scatter)
    assert 0.65 < float(np.mean(np.square(errors))) < 1.4


def test_a_shift_or_reading_this_box_does_not_make_is_refused() -> None:
    """A fifth gear, and the vacuum modulator's reading."""
    fifth = Observed("4-5", 30.0, 1.0, shift="4-5")
    hose = Observed("hose off", 1e6, 1e4, reading="line-drive-hose-off")
    for row, said in ((fifth, "no shift '4-5'"), (hose, "does not bear")):
        with pytest.raises(FindingError, match=said):
            fit_car(*box_b(), [row])
