"""How long the elements of a four-speed take to come on and to let go, and how the changes overlap."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bellhousing.hydraulics.engagement import feed_flow, fill_time
from bellhousing.hydraulics.fluid import density
from bellhousing.road.cars import Cars
from bellhousing.road.four_speed.holding import BANDS, CLUTCHES
from bellhousing.road.four_speed.pressures import line, throttle_pressure, travel_of
from bellhousing.road.holding import SERVO_FEED
from bellhousing.road.pressures import HOT, RPM, dynamic_viscosity
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

FORWARD = ("first", "second", "third", "fourth")

TIGHT, GRAB = 0.8, 0.5
"""A band set to less than this share of its clearance drags: it bites that much earlier and lets go that much
later [s per share]; common practice, no source."""

EXHAUST = 1.5
"""Diameter of the exhaust over that of the feed [-]; common practice, no source."""

LONGEST = 1.0
"""An element that takes longer than this in a change has not come at all for what is felt [s]."""


def change_into(car: Vehicle, gear: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Elements that come on and that let go on the change up into a gear, from the apply chart."""
    before = car.gears[FORWARD[FORWARD.index(gear) - 1]].applied
    after = car.gears[gear].applied
    return tuple(n for n in after if n not in before), tuple(n for n in before if n not in after)


def _line_in_changes(cars: Cars, car: Vehicle) -> FloatArray:
    """Line pressure during a light change at about 15 mph [Pa]."""
    signal = throttle_pressure(cars, travel_of(cars, "light"))
    return line(cars, car.gears["second"].applied, signal, 1200.0 * RPM, car.output_speed(15.0))


def element_times(cars: Cars, car: Vehicle) -> dict[str, FloatArray]:
    """Time from the valve's move to each clutch or band coming on ("on") or letting go ("off") [s].

    Coming on is filling past the return springs; letting go is the return spring pushing the same fluid out
    through the larger exhaust. That letting go is filling turned round is common practice, no source.
    """
    there = _line_in_changes(cars, car)
    times = {}
    for name in (*CLUTCHES, *BANDS):
        on, off = on_and_off(cars, name, there)
        times[f"{name}.on"] = np.minimum(on, LONGEST)
        times[f"{name}.off"] = np.minimum(off, LONGEST)
    return times


def on_and_off(cars: Cars, name: str, there: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Times in which one clutch or band comes on and lets go at a line pressure [Pa], inf = never [s]."""
    rho, mu = density(cars["fluid.density_15"], HOT), dynamic_viscosity(cars, HOT)
    band = name in BANDS
    feed = SERVO_FEED if band else cars[f"{name}.feed_diameter"]
    slack = cars[f"{name}.clearance"] if band else 1.0
    volume = cars[f"{name}.apply_volume"] * slack
    back = cars[f"{name}.return_force"] / cars[f"{name}.piston_area"]
    leak = cars[f"{name}.leakage"] * back
    on = fill_time(volume, feed_flow(feed, there - back, rho, mu), leak=leak)
    off = cars[f"{name}.apply_volume"] / np.maximum(feed_flow(EXHAUST * feed, back, rho, mu), 1e-9)
    if not band:
        return on, off
    drag = GRAB * np.maximum(TIGHT - np.asarray(slack), 0.0)
    return on - drag, off + drag + cars[f"{name}.release_delay"]


def overlap(cars: Cars, car: Vehicle, gear: str) -> tuple[FloatArray, FloatArray]:
    """How late the last element comes on after the first lets go, and how early the first bites, in a change.

    Both against the middle sound car, whose change is in step [s]; above about 0.1 s the first flares, the
    second binds.
    """
    coming, going = change_into(car, gear)
    times = element_times(cars, car)

    def apart(name: str) -> FloatArray:
        return np.asarray(times[name] - car.reference.times.get(name, 0.0))

    error = cars["timing.error"] if len(coming) > 1 else 0.0
    on = np.stack([apart(f"{name}.on") for name in coming]) + error
    off = np.stack([apart(f"{name}.off") for name in going])
    return on.max(axis=0) - off.min(axis=0), off.max(axis=0) - on.min(axis=0)
