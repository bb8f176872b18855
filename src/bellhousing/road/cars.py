"""Plausible cars: every number of a box drawn within its scatter, and the ways a fault may bend it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box, part_of
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.road.four_speed.numbers import FOUR_SPEED_CONDITION, FOUR_SPEED_NUMBERS
from bellhousing.road.layout import USUAL, Layout, layout_of
from bellhousing.road.parts import numbers_of_parts

FloatArray = NDArray[np.float64]

NUMBERS = (
    "fluid.viscosity_40",
    "fluid.viscosity_100",
    "fluid.density_15",
    "pump.displacement",
    "pump.volumetric_efficiency",
    "pump.leakage",
    "pump.flow_limit",
    "regulator.spring_pressure",
    "regulator.signal_gain",
    "regulator.reverse_ratio",
    "regulator.second_range_pressure",
    "regulator.low_range_pressure",
    "regulator.highest",
    "regulator.droop",
    "modulator.diaphragm_diameter",
    "modulator.spring_force",
    "modulator.valve_area",
    "modulator.governor_cutback",
    "governor.primary_mass",
    "governor.secondary_mass",
    "governor.radius",
    "governor.primary_stop",
    "governor.valve_area",
    "governor.friction",
    "detent.pressure",
    "accumulator_first_second.plateau",
    "accumulator_second_third.plateau",
    "low_one_way_clutch.capacity",
    "intermediate_one_way_clutch.capacity",
    "converter.stall_torque_ratio",
    "converter.capacity_factor",
    "converter.coupling_point",
    "converter.charge_flow",
    "engine.peak_torque",
    "engine.peak_speed",
    "engine.idle_speed",
    "engine.idle_vacuum",
    "engine.inertia",
    *numbers_of_parts(
        shift_valves=("first_second", "second_third"),
        clutches=("forward_clutch", "direct_clutch", "intermediate_clutch"),
        bands=("low_reverse_band", "overrun_band"),
    ),
)
"""Numbers of a three-speed box that the physics needs, as dotted names of the box file."""

SECOND_BAND = numbers_of_parts(shift_valves=(), clutches=(), bands=("second_band",))
"""Numbers of a band that makes second gear, in boxes whose gear train has one."""

CONDITION: Mapping[str, float] = {
    "hose.share": 1.0,  # share of the engine's vacuum that reaches the capsule
    "hose.ported": 0.0,  # 1: fed from a port that is shut at idle
    "hose.lag": 0.0,  # share of the vacuum of a moment ago still felt while the throttle opens
    "diaphragm.share": 1.0,  # share of the vacuum that the diaphragm turns into force
    "modulator.stuck": 0.0,  # 1: the valve no longer follows
    "modulator.stuck_share": 0.0,  # where it stands then, as a share of the full signal
    "modulator.follow": 1.0,  # share of its stroke that a bent stem still gives
    "engine.vacuum_loss": 0.0,  # Pa lost at idle to timing, valves or an intake leak
    "engine.torque_share": 1.0,
    "engine.back_pressure": 0.0,  # share of the vacuum that sags as revs are held
    "throttle.short": 0.0,  # Pa of vacuum left with the pedal on the floor
    "detent.works": 1.0,  # 1: the forced-downshift pressure comes at the floor
    "detent.always": 0.0,  # share of it that is there all the time
    "governor.scale": 1.0,
    "governor.residual": 0.0,  # Pa at rest
    "governor.hot_loss": 0.0,  # share of its pressure lost to leakage when hot
    "pump.drive": 1.0,  # 0: the pump does not turn
    "pump.air": 0.0,  # 0 to 1, air drawn in
    "regulator.stuck": 0.0,
    "regulator.stuck_at": 0.0,  # Pa
    "regulator.boost": 1.0,  # share of the reverse and range boost still there
    "shift_valves.first_second.stuck": 0.0,  # -1 down, +1 up
    "shift_valves.second_third.stuck": 0.0,
    "detent.valve_sticks": 0.0,
    "forward_clutch.grip": 1.0,
    "direct_clutch.grip": 1.0,
    "intermediate_clutch.grip": 1.0,
    "low_reverse_band.grip": 1.0,
    "overrun_band.grip": 1.0,
    "second_band.grip": 1.0,
    "low_one_way_clutch.grip": 1.0,
    "intermediate_one_way_clutch.grip": 1.0,
    "low_reverse_band.leakage": 0.0,
    "forward_clutch.cold_delay": 0.0,  # s that stiff lips add to a cold engagement
    "direct_clutch.cold_delay": 0.0,
    "converter.drained": 0.0,  # s the pump needs to fill the converter after standing
    "shaft.whole": 1.0,
    "stator.holds": 1.0,
    "stator.locked": 0.0,
    **FOUR_SPEED_CONDITION,
}
"""What age and faults change besides the box's own numbers, with the value of a sound car."""

DRIVER = ("driver.light", "driver.medium", "driver.full")
"""How far this driver's light, medium and full throttle lie from the usual, in standard deviations."""


UNKNOWN = ("coast.load_share",)
"""Shares from 0 to 1 of which nothing is known: how much of the load signal still acts on a valve that coasts
down, as makers cut it off from the plug in whole or in part."""


@dataclass(frozen=True)
class Cars:
    """Parameters of n cars [SI], each an (n,) array: the box's numbers and the car's condition; circuits."""

    values: Mapping[str, FloatArray]
    layout: Layout = USUAL

    def __getitem__(self, name: str) -> FloatArray:
        return self.values[name]

    def get(self, name: str) -> FloatArray:
        """A parameter, or nought where boxes of this kind have none."""
        return self.values[name] if name in self.values else np.zeros(len(self))

    def __len__(self) -> int:
        return len(next(iter(self.values.values())))

    def with_values(self, changed: Mapping[str, FloatArray]) -> Cars:
        """The same cars with some parameters replaced."""
        return Cars({**self.values, **changed}, self.layout)

    def take(self, rows: NDArray[np.intp]) -> Cars:
        """The cars at `rows`, repeated as asked."""
        return Cars({name: values[rows] for name, values in self.values.items()}, self.layout)


def numbers_of(box: Box) -> tuple[str, ...]:
    """Numbers that the physics of this kind of box needs."""
    if box.kind == FOUR_SPEED:
        return FOUR_SPEED_NUMBERS
    return NUMBERS if "second-band" in box.missing_parts else NUMBERS + SECOND_BAND


def _layout(box: Box) -> Layout:
    return USUAL if box.kind == FOUR_SPEED else layout_of(box)


def draw_cars(box: Box, count: int, rng: np.random.Generator) -> Cars:
    """Draw `count` sound cars of one box; positive numbers scatter log-normally, cut at 2.5 deviations.

    Numbers fitted to a table are drawn together: one draw of what the table leaves open of this kind of box,
    and each unit's own deviation besides.

    Raises
    ------
    BoxFileError : a number that neither the box nor its family gives, by name.
    """
    values: dict[str, FloatArray] = {}
    own: dict[str, FloatArray] = {}
    for name in numbers_of(box):
        value, scatter = _number(box, name)
        own[name] = z = np.clip(rng.standard_normal(count), -2.5, 2.5)
        if value > 0.0:
            relative = scatter / value
            values[name] = value * np.exp(relative * z - 0.5 * relative**2)
        else:
            values[name] = value + scatter * z
    for name, sound in CONDITION.items():
        values[name] = np.full(count, sound)
    for name in DRIVER:
        values[name] = np.clip(rng.standard_normal(count), -2.5, 2.5)
    together = _drawn_together(box, own, rng)
    values |= {name: rng.random(count) for name in UNKNOWN}
    return Cars(values | together, _layout(box))


def _drawn_together(
    box: Box, own: Mapping[str, FloatArray], rng: np.random.Generator
) -> dict[str, FloatArray]:
    """The numbers of a joint distribution, `own` being each unit's own deviation in standard deviations."""
    joint = box.joint
    if joint is None:
        return {}
    factor = np.array(joint.factor)
    units = np.array(joint.unit_scatter)
    count = len(next(iter(own.values())))
    apart = np.clip(rng.standard_normal((count, factor.shape[1])), -2.5, 2.5) @ factor.T
    half = ((factor**2).sum(axis=1) + units**2) / 2.0
    return {
        key: _number(box, key)[0] * np.exp(apart[:, i] + units[i] * own[key] - half[i])
        for i, key in enumerate(joint.keys)
    }


def _number(box: Box, name: str) -> tuple[float, float]:
    """Value and standard deviation of a number; any for a part the box lacks, as its gear train has none."""
    if part_of(name) in box.missing_parts:
        if name.endswith((".leakage", ".apply_volume")):
            return 0.0, 0.0
        return (2.0 if name.endswith("outer_radius") else 1.0), 0.0
    given = box.number(name)
    assert given.value is not None
    return given.value, given.scatter


def middle_car(box: Box) -> Cars:
    """One sound car with every number at its middle, shape (1,)."""
    values = {}
    for name in numbers_of(box):
        values[name] = np.array([_number(box, name)[0]])
    values |= {name: np.array([sound]) for name, sound in CONDITION.items()}
    values |= {name: np.zeros(1) for name in DRIVER} | {name: np.full(1, 0.5) for name in UNKNOWN}
    return Cars(values, _layout(box))
