"""A fitted car whose hose is then pulled in the model, against drives made by another model.

Common practice, no source: the drives come from the reduced model in `tests/road/printed_tables.py`, worn
as the trade's table of faults has it, which shares nothing with the program.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellhousing.boxes.load import load_box
from bellhousing.road.one_car.fit import CarFit, fit_car
from bellhousing.road.one_car.observed import Observed
from bellhousing.road.shifts import shift_speeds
from bellhousing.road.shown import vehicle
from bellhousing.road.vehicle import Vehicle
from tests.road.printed_tables import TYRE, downshift, governor, speed_where

MPH, PSI, INHG = 0.44704, 6894.757, 3386.389
SPEED, PRESSURE = 0.6, 1.5  # errors of reading, one standard deviation [mph], [psi]
SPRINGS = {"1-2": (7.0, 0.49), "2-3": (18.0, 1.14)}


@dataclass(frozen=True)
class Worn:
    """An old car: share of the governor left, full signal [psi], where it is nought [inHg], springs."""

    level: float = 1.0
    full: float = 85.0
    nought: float = 16.0
    springs: float = 1.0

    def governor(self, v: float) -> float:
        """Governor pressure at a road speed."""
        return self.level * governor(v)

    def signal(self, vacuum: float, g: float) -> float:
        """Throttle signal, cut back by the governor."""
        return max(0.0, self.full * max(0.0, 1.0 - vacuum / self.nought) - 0.5 * g)

    def upshift(self, shift: str, vacuum: float) -> float:
        """Road speed of an upshift."""
        spring, gain = SPRINGS[shift]
        return speed_where(
            lambda v: self.governor(v) > self.springs * spring + gain * self.signal(vacuum, self.governor(v))
        )

    def driven(self, rng: np.random.Generator) -> list[Observed]:
        """Shifts with the hose on, and what the gauge shows, with errors; nothing with the hose off."""
        rows = [
            Observed(
                f"{shift} at {v}",
                (self.upshift(shift, v) + SPEED * rng.normal()) * MPH,
                SPEED * MPH,
                shift=shift,
                vacuum=v * INHG,
            )
            for shift in SPRINGS
            for v in (16.0, 13.0, 10.0, 6.0)
        ]
        coast = downshift("3-2") + SPEED * rng.normal()
        rows.append(Observed("coast 3-2", coast * MPH, SPEED * MPH, reading="coast-down-32"))
        shown = {"governor-20": self.governor(20.0), "governor-50": self.governor(50.0)}
        shown["line-drive-idle"] = 65.0 + 1.06 * self.signal(17.0, 0.0)
        rows += [
            Observed(name, (psi + PRESSURE * rng.normal()) * PSI, PRESSURE * PSI, reading=name)
            for name, psi in shown.items()
        ]
        return rows


CARS = (
    Worn(),
    Worn(level=0.75),
    Worn(level=1.1),
    Worn(full=68.0),
    Worn(nought=19.0),
    Worn(springs=1.3),
)


def hose_off(fit: CarFit, car: Vehicle, shift: str) -> tuple[float, float]:
    """Where 95 in 100 of the cars that fit shift with the hose off [mph]."""
    drawn = shift_speeds(fit.draw(400, np.random.default_rng(3)), car, 0.0)[shift]
    low, high = np.quantile(drawn, [0.025, 0.975]) / MPH
    return float(low), float(high)


def test_the_hose_off_drive_of_worn_cars_is_foretold() -> None:
    """Of both upshifts of six cars driven twice, 20 of 24 lie within 95 in 100, narrower than 12 mph.

    Were they independent, fewer than 20 at a chance of 0.95 each would happen six times in a thousand.
    """
    box = load_box("box-a")
    car = vehicle(box, 3.1, TYRE / 1000.0, 0.0)
    inside, wide = 0, []
    for worn in CARS:
        for seed in (0, 1):
            fit = fit_car(box, car, worn.driven(np.random.default_rng(seed)))
            for shift in SPRINGS:
                low, high = hose_off(fit, car, shift)
                inside += low < worn.upshift(shift, 0.0) < high
                wide.append(high - low)
    assert inside >= 20
    assert max(wide) < 12.0
