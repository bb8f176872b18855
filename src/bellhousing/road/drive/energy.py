"""Where the energy of a drive went, summed from its rows and not by the integrator."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.drive import Drive

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Ledger:
    """Energy of every car over a drive, (n,) each [J].

    Parameters
    ----------
    engine : work of the engine, what it took on the overrun taken off
    fluid : turned into heat by the converter or the coupling
    slipping : by clutches, bands and one-way clutches that slip
    meshes : by the gear teeth
    road : taken by rolling, air, brakes and grade
    gained : by all that moves, negative where it slowed down
    supplied : what came in: work of the driving engine, and what a slowing car gave up
    """

    engine: FloatArray
    fluid: FloatArray
    slipping: FloatArray
    meshes: FloatArray
    road: FloatArray
    gained: FloatArray
    supplied: FloatArray

    @property
    def missing(self) -> FloatArray:
        """What is not accounted for [J]; it falls with the step of the drive and of its rows."""
        spent = self.fluid + self.slipping + self.meshes + self.road
        return np.asarray(self.engine - spent - self.gained)


def ledger(drive: Drive) -> Ledger:
    """Sum the powers of a drive's rows by Simpson's rule; rows of every step close best."""
    weights = _simpson(len(drive.time)) * (drive.time[1] - drive.time[0])

    def total(power: FloatArray) -> FloatArray:
        return np.asarray(weights @ power)

    power = drive.torque * drive.engine
    gained = drive.kinetic[-1] - drive.kinetic[0]
    return Ledger(
        engine=total(power),
        fluid=total(drive.fluid_heat),
        slipping=total(drive.slip_heat),
        meshes=total(drive.mesh_heat),
        road=total(drive.road),
        gained=gained,
        supplied=total(np.maximum(power, 0.0)) + np.maximum(-gained, 0.0),
    )


def _simpson(count: int) -> FloatArray:
    """Weights of Simpson's rule over `count` rows, of the trapezium over a last one left over.

    Source: Simpson's rule 1/3 (1, 4, 1); from memory.
    """
    weights = np.zeros(count)
    whole = count - 1 - (count - 1) % 2
    weights[0:whole:2] += 1.0 / 3.0
    weights[1:whole:2] += 4.0 / 3.0
    weights[2 : whole + 1 : 2] += 1.0 / 3.0
    weights[whole:-1] += 0.5
    weights[whole + 1 :] += 0.5
    return weights
