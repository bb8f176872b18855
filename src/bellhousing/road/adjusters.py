"""What can be adjusted from outside: the modulator's screw, or the rod of the throttle valve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.road.cars import Cars
from bellhousing.road.shown import show_cars
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Adjuster:
    """One adjustment: the parameter of the car it shifts, and what the box file says of its rate.

    Parameters
    ----------
    thing : "screw" or "rod"
    name : how it is spoken of
    parts : parts of which a box that lacks any has no such adjustment
    fault : the fault of the catalogue that it cures
    parameter : what of the car it adds to [SI]
    rate_key : figure of the box file that tells its effect
    relative : whether settings are told as a share of the parameter, else in its own unit
    furthest : furthest setting from right that is thought of, as told by `relative`
    step : smallest step worth making [turns, or m of rod]
    """

    thing: str
    name: str
    parts: frozenset[str]
    fault: str
    parameter: str
    rate_key: str
    relative: bool
    furthest: float
    step: float

    def scale(self, cars: Cars) -> FloatArray:
        """What one unit of setting adds to the parameter, (n,)."""
        return np.abs(cars[self.parameter]) if self.relative else np.ones(len(cars))


SCREW = Adjuster(
    thing="screw",
    name="the modulator's screw",
    parts=frozenset({"modulator", "modulator-screw"}),
    fault="modulator-set-wrong",
    parameter="modulator.spring_force",
    rate_key="modulator.screw_rate",
    relative=True,
    furthest=0.45,
    step=0.25,
)
"""Turning in presses the spring: more throttle signal, higher line, later shifts."""

ROD = Adjuster(
    thing="rod",
    name="the throttle valve's rod",
    parts=frozenset({"throttle-valve", "throttle-rod"}),
    fault="tv-rod-out-of-setting",
    parameter="throttle_valve.rod_error",
    rate_key="throttle_valve.rod_gradient",
    relative=False,
    furthest=0.0085,
    step=0.0005,
)
"""A longer rod opens the throttle valve further: the same, on a four-speed."""


def adjuster_of(box: Box) -> Adjuster:
    """The adjustment that boxes of this kind have."""
    return ROD if box.kind == FOUR_SPEED else SCREW


def settings_of(adjuster: Adjuster, count: int) -> FloatArray:
    """Evenly spaced settings about the right one, (count,)."""
    return np.linspace(-adjuster.furthest, adjuster.furthest, count)


def show_settings(
    adjuster: Adjuster, cars: Cars, car: Vehicle, settings: Sequence[float] | FloatArray
) -> tuple[Mapping[str, FloatArray], Mapping[str, FloatArray]]:
    """What the same cars show at every setting.

    Readings are (settings, cars), chances (settings, cars, states).
    """
    count, steps = len(cars), len(settings)
    many = cars.take(np.tile(np.arange(count), steps))
    moved = np.repeat(np.asarray(settings, dtype=np.float64), count) * adjuster.scale(many)
    shown = show_cars(many.with_values({adjuster.parameter: many[adjuster.parameter] + moved}), car)
    readings = {name: np.asarray(value, np.float64) for name, value in shown.readings.items()}
    chances = {name: np.asarray(value, np.float64) for name, value in shown.chances.items()}
    return (
        {name: value.reshape(steps, count) for name, value in readings.items()},
        {name: value.reshape(steps, count, -1) for name, value in chances.items()},
    )
