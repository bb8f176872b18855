"""A box in its car: gears solved once, axle, tyre and altitude, and the middle sound car as reference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import THREE_SPEED
from bellhousing.road.holding import GearHolds, gears_of

MPH = 0.44704


@dataclass(frozen=True)
class Reference:
    """What the middle sound car shows, against which feel is judged [Pa, rad/s, N m, -].

    times : how long a four-speed's elements take to come on and to let go [s]
    """

    line_idle: float
    idle_speed: float
    spare_first_second: float
    spare_second_third: float
    reverse_share: float
    held_drive: float
    held_reverse: float
    spare_third_fourth: float = 1.0
    times: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Vehicle:
    """Kind and gears of the box, axle ratio [-], tyre radius [m] and altitude [m] of the car."""

    gears: Mapping[str, GearHolds]
    axle_ratio: float
    tyre_radius: float
    altitude: float
    reference: Reference
    kind: str = THREE_SPEED

    def output_speed(self, mph: float) -> float:
        """Output-shaft speed [rad/s] at a road speed in mph."""
        return mph * MPH * self.axle_ratio / self.tyre_radius


def bare_vehicle(box: Box, axle_ratio: float, tyre_radius: float, altitude: float) -> Vehicle:
    """The vehicle before its reference is known."""
    reference = Reference(1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0)
    return Vehicle(gears_of(box), axle_ratio, tyre_radius, altitude, reference, box.kind)


def with_reference(vehicle: Vehicle, reference: Reference) -> Vehicle:
    """The same vehicle with its reference."""
    return replace(vehicle, reference=reference)
