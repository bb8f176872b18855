"""Friction linings run in oil: what they may bear, and what an engagement puts on them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Lining:
    """A lining run in oil.

    Parameters
    ----------
    friction : friction coefficient at rest or, where no other is given, altogether [-]
    sliding_friction : friction coefficient while it slides [-]
    pressure : lowest and highest working pressure [Pa]
    power : heat it stands per face area [W/m²]
    """

    friction: float
    sliding_friction: float
    pressure: tuple[float, float]
    power: float


LININGS: Mapping[str, Lining] = MappingProxyType(
    {
        "paper": Lining(0.11, 0.11, (700e3, 1750e3), 2.3e6),
        "woven": Lining(0.08, 0.08, (700e3, 1750e3), 1.8e6),
        "moulded": Lining(0.04, 0.04, (700e3, 1750e3), 0.6e6),
        "moulded, grooved": Lining(0.06, 0.06, (700e3, 1750e3), 0.6e6),
        "sintered": Lining(0.10, 0.05, (700e3, 4200e3), 2.3e6),
        "sintered, grooved": Lining(0.10, 0.06, (700e3, 4200e3), 2.3e6),
    }
)
"""Linings immersed in oil; M. J. Neale, *The Tribology Handbook*, table 7.4, p. B7.8."""


@dataclass(frozen=True)
class Facing:
    """What a facing is made of: specific heat [J/(kg·K)], conductivity [W/(m·K)], density [kg/m³]."""

    specific_heat: float
    conductivity: float
    density: float


FACINGS: Mapping[str, Facing] = MappingProxyType(
    {
        "woven": Facing(1250.0, 0.80, 1600.0),
        "moulded": Facing(1250.0, 0.80, 2800.0),
        "sintered": Facing(420.0, 16.0, 6000.0),
    }
)
"""Facing materials; M. J. Neale, *The Tribology Handbook*, table 7.5."""

STEEL = Facing(460.0, 50.0, 7850.0)
"""A steel plate; from memory."""


def heat_into_steel(lining: str, *, steel: Facing = STEEL) -> float:
    """Share of the heat of an engagement that goes into the steel plates beside a lining [-].

    Formula: ``e_s/(e_s + e_l)`` with the effusivities ``e = √(k·ρ·c)`` of two bodies rubbing at one
    temperature, each thick for the time.

    Raises
    ------
    KeyError : a lining that is not in `FACINGS`

    Source: H. S. Carslaw and J. C. Jaeger, *Conduction of Heat in Solids*, from memory.
    """

    def effusivity(body: Facing) -> float:
        return math.sqrt(body.conductivity * body.density * body.specific_heat)

    taken = effusivity(steel)
    return taken / (taken + effusivity(FACINGS[lining]))


def face_power(energy: ArrayLike, time: ArrayLike, faces: ArrayLike, face_area: ArrayLike) -> FloatArray:
    """Mean heat an engagement puts on each face.

    Formula: ``q = E/(t·n·A)`` [W/m²], with heat E [J], time t [s], pairs of faces n [-] and the area A of one
    face [m²].

    Source: definition; held against the limits of M. J. Neale, *The Tribology Handbook*, table 7.4.
    """
    spread = np.multiply(np.asarray(time, dtype=np.float64), faces) * np.asarray(face_area, dtype=np.float64)
    return np.asarray(np.asarray(energy, dtype=np.float64) / spread)


def power_margin(lining: str, power: ArrayLike) -> FloatArray:
    """What a lining stands over what it is given; below 1 it glazes or burns.

    Formula: ``limit/q`` [-], with the lining's limit and the heat q per face area [W/m²].

    Raises
    ------
    KeyError : a lining that is not in `LININGS`

    Source: M. J. Neale, *The Tribology Handbook*, table 7.4.
    """
    return np.asarray(LININGS[lining].power / np.asarray(power, dtype=np.float64))
