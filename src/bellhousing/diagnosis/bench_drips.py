"""What a seal measured on the bench drips while parked: from what is left of its reach to drops a minute."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.leak_levels import Level, levels_of
from bellhousing.diagnosis.leak_loss import DENSITY, DENSITY_SPREAD, TENSION, TENSION_SPREAD, TIP
from bellhousing.hydraulics.drip import drop_volume, static_pressure
from bellhousing.hydraulics.fluid import density, kinematic_viscosity
from bellhousing.hydraulics.lip_seal import lip_leakage, reach_at
from bellhousing.road.bench import BenchNumber

FloatArray = NDArray[np.float64]

SAMPLES = 4000
FLOOR = 20.0
"""Temperature of a car that has stood [degC]."""

SEALED = {"pump-ring-reach": 240e-3, "modulator-ring-reach": 35e-3, "filler-ring-reach": 32e-3,
          "connector-ring-reach": 25e-3}  # fmt: skip
"""Diameter of the wall each ring seals against [m]; common practice, no source."""

SITES: Mapping[str, str] = MappingProxyType(
    {
        "pump-ring-reach": "pump-ring-joint",
        "modulator-ring-reach": "modulator",
        "filler-ring-reach": "filler-tube",
        "connector-ring-reach": "connector",
    }
)
"""The leak site of each ring."""

OUT_OF_ROUND, CONTACT = 1.5e-5, 1.5e-3
"""How far ring and wall lie off each other, and the length of their contact [m]; common practice."""

FACTOR = 0.35
"""Standard deviation of the logarithm of a flow through an unknown gap; common practice, no source."""


def parked_drops(
    box: Box, numbers: Sequence[BenchNumber], *, sound: float, seed: int = 3
) -> FloatArray | None:
    """Drops a minute that fall parked from the rings measured, together, (samples,) [1/s]; None if none is.

    The head is that of the fluid overnight above the place; ``Q = G · ρ g h`` past the gap the ring leaves,
    over the volume of a drop.

    Parameters
    ----------
    box : its sump, its fluid and its leak sites
    numbers : measured, those of `SITES` are taken
    sound : reach put in place of each number, nan for the numbers themselves [m]
    seed : of the samples

    Source: `lip_seal.lip_leakage`, `drip.drop_volume`; geometry and scatter are common practice, no source.
    """
    sites = {site.id: site for site in box.leak_sites}
    taken = [number for number in numbers if SITES.get(number.id) in sites]
    if not taken:
        return None
    chance = np.random.default_rng(seed)
    drop = drop_volume(
        chance.uniform(*TIP, SAMPLES),
        chance.normal(TENSION, TENSION_SPREAD, SAMPLES),
        chance.normal(DENSITY, DENSITY_SPREAD, SAMPLES),
    )
    level = levels_of(box).overnight
    flow = np.zeros(SAMPLES)
    for number in taken:
        site = sites[SITES[number.id]]
        height = site.height
        if height is None or "parked" not in site.drips:
            continue
        head = _head(level, height.value, height.scatter, chance)
        reach = number.value + number.standard_uncertainty * chance.standard_normal(SAMPLES)
        if np.isfinite(sound):
            reach = np.full(SAMPLES, sound)
        flow += _flow(box, SEALED[number.id], reach, head, chance)
    return np.asarray(flow / drop)


def _head(level: Level, height: float, scatter: float, chance: np.random.Generator) -> FloatArray:
    stands = chance.normal(level.height, level.spread, SAMPLES)
    return np.asarray(np.maximum(stands - chance.normal(height, scatter, SAMPLES), 0.0))


def _flow(
    box: Box, diameter: float, reach: FloatArray, head: FloatArray, chance: np.random.Generator
) -> FloatArray:
    low, high = (_number(box, f"fluid.viscosity_{point}") for point in ("40", "100"))
    rho = float(density(_number(box, "fluid.density_15"), FLOOR))
    mu = float(kinematic_viscosity(FLOOR, low, high)) * rho
    leak = lip_leakage(reach_at(reach, 3e-3, FLOOR), OUT_OF_ROUND, diameter, CONTACT, mu)
    return np.asarray(leak * static_pressure(rho, head) * chance.lognormal(0.0, FACTOR, SAMPLES))


def _number(box: Box, key: str) -> float:
    value = box.number(key).value
    assert value is not None
    return value
