"""The gears of a box as a log shows them: ratios, and what the converter may add to the engine's speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.geartrain.solve import solve
from bellhousing.road.cars import middle_car
from bellhousing.road.converter import coupling_stall_speed, engine_speed_on_converter
from bellhousing.road.holding import FOUR_SPEED_GEARS, gears_of

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class GearSet:
    """Forward ratios, lowest gear first [-], and the highest engine speed against a standing turbine [rad/s].

    axle_ratio [-] and tyre_radius [m] lead from the road to the output shaft; multiplies: torque ratio of the
    converter against a standing turbine [-], 1 where there is none; reverse: its ratio as a positive number
    [-], 0 unknown; fluid: how much harder each gear pulls than the first at the same `pull` [-], as a fluid
    coupling between the gear sets turns at another speed or beside a part that is driven by gears alone.
    """

    ratios: tuple[float, ...]
    stall: float
    axle_ratio: float
    tyre_radius: float
    multiplies: float = 2.0
    reverse: float = 0.0
    fluid: tuple[float, ...] = ()

    @property
    def array(self) -> FloatArray:
        """The ratios as an array."""
        return np.asarray(self.ratios)

    @property
    def factors(self) -> FloatArray:
        """How much harder each gear pulls than the first at the same `pull` [-]."""
        return np.asarray(self.fluid) if self.fluid else np.ones(len(self.ratios))

    def output_speed(self, road: FloatArray) -> FloatArray:
        """Output shaft's speed [rad/s] at a road speed [m/s]."""
        return road * self.axle_ratio / self.tyre_radius

    def road_speed(self, output: FloatArray) -> FloatArray:
        """Road speed [m/s] at an output shaft's speed [rad/s]."""
        return output * self.tyre_radius / self.axle_ratio


def gear_set(box: Box, axle_ratio: float, tyre_radius: float) -> GearSet:
    """The gears of a box in its car.

    Raises
    ------
    BoxFileError : no gear train is known.
    """
    holds = gears_of(box)
    names = ("first", "second", "third", "fourth")
    ratios = tuple(holds[name].ratio for name in names if name in holds)
    reverse = abs(holds["reverse"].ratio) if "reverse" in holds else 0.0
    return GearSet(
        ratios, _stall(box), axle_ratio, tyre_radius, _multiplies(box), reverse, _fluid(box, names)
    )


def _fluid(box: Box, names: tuple[str, ...]) -> tuple[float, ...]:
    """Factors of the pull where a coupling turns at d times the engine's speed and passes on a share s of its
    power: d^1.5/s by the law of `pull`, over that of the first gear; the gear then slips by s times what the
    coupling does.
    """
    assert box.gear_train is not None
    coupling = next((one["name"] for one in box.gear_train["elements"] if one["kind"] == "coupling"), None)
    if coupling is None:
        return ()
    train, holds, found = gear_train_of(box), gears_of(box), []
    for name in names:
        state = solve(train, applied_elements(box, *FOUR_SPEED_GEARS[name]))
        driven = holds[name].coupling_speed
        found.append(driven**1.5 / (abs(state.torques[coupling]) * driven))
    return tuple(one / found[0] for one in found)


def _multiplies(box: Box) -> float:
    if box.kind == FOUR_SPEED:
        return 1.0
    return float(middle_car(box)["converter.stall_torque_ratio"][0])


def _stall(box: Box) -> float:
    middle = middle_car(box)
    if box.kind == FOUR_SPEED:
        driven = gears_of(box)["first"].coupling_speed
        return float(coupling_stall_speed(middle, np.full(len(middle), np.inf), driven)[0])
    torque, speed = middle["engine.peak_torque"], middle["engine.peak_speed"]
    return float(engine_speed_on_converter(torque, speed, middle["converter.capacity_factor"])[0])


def pull(engine: FloatArray, turbine: FloatArray) -> FloatArray:
    """How hard the engine pulls, as the engine speed it would reach against a standing turbine [rad/s].

    With a capacity factor K = K_0/sqrt(1 - (w_t/w_e)^4) the converter takes T = (w_e/K)^2, so that
    K_0^2 T = w_e^2 - w_t^4/w_e^2 =: S^2, which does not depend on the gear. On the overrun S is negative.
    The law is the one the simulated converter has; from memory, a common fit.
    """
    square = engine**2 - (turbine**2 / np.maximum(engine, 1.0)) ** 2
    return np.asarray(np.sign(square) * np.sqrt(np.abs(square)))


def engine_at(pulled: FloatArray, turbine: FloatArray) -> FloatArray:
    """Engine speed at a pull and a turbine speed, the inverse of `pull` [rad/s]."""
    half = 0.5 * np.sign(pulled) * pulled**2
    return np.asarray(np.sqrt(half + np.hypot(half, turbine**2)))
