"""From the bench back to the road: what measured parts make of the cars they came out of."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from bellhousing.errors import QuantityError
from bellhousing.hydraulics.leakage import sealing_ring_flow
from bellhousing.hydraulics.lip_seal import lip_leakage, reach_at
from bellhousing.hydraulics.pump import pump_leakage
from bellhousing.road import engaging
from bellhousing.road.cars import Cars
from bellhousing.road.pressures import COLD, HOT, dynamic_viscosity, thinning
from bellhousing.road.shown import Shown, show_cars
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

INCH = 0.0254
LEAST = 1e-6
"""Smallest clearance a draw may come to [m]."""

SEAL_LENGTH, SEAL_WIDTH = 8e-3, 60e-3
GEAR_WIDTH, TIP_LENGTH = 15e-3, 6e-3
"""Paths across a pump's gear faces and past the tips of its gears [m]; common practice, no source."""

RING_BORE, RING_PLAY = 50e-3, 1.0e-4
"""Bore of a hub's sealing rings and radial clearance of its shaft with a sound bush [m]; common practice."""

LIP_DIAMETER, LIP_HEIGHT, LIP_CONTACT = 150e-3, 6e-3, 1.0e-3
"""Lip of a clutch piston: diameter, rubber across the gap, length of its edge [m]; common practice."""

OUT_OF_ROUND, OUT_OF_ROUND_SCATTER = 4e-5, 0.25
"""How far drum and piston lie off each other [m] and the share that scatters; common practice, no source."""

LAW_SCATTER = 0.10
"""Scatter of what a law adds to a leak, beside that of the clearances [-]; common practice, no source."""

SOUND: Mapping[str, float] = MappingProxyType(
    {
        "pump-face-clearance": 0.00165 * INCH,
        "pump-crescent-clearance": 0.006 * INCH,
        "bush-clearance": 0.0025 * INCH,
        "sealing-ring-gap": 0.007 * INCH,
        "sealing-ring-side": 0.0035 * INCH,
        "forward-pack-clearance": 0.0525 * INCH,
        "direct-pack-clearance": 0.0525 * INCH,
        "intermediate-pack-clearance": 0.055 * INCH,
        "front-pack-clearance": 0.045 * INCH,
        "rear-pack-clearance": 0.045 * INCH,
        "friction-plate-thickness": 0.080 * INCH,
    }
)
"""Middle of the usual windows, where a box gives none of its own [m]; common practice, no source."""

PACKS = {
    "forward-pack-clearance": "forward_clutch",
    "direct-pack-clearance": "direct_clutch",
    "intermediate-pack-clearance": "intermediate_clutch",
    "front-pack-clearance": "front_clutch",
    "rear-pack-clearance": "rear_clutch",
}
LIPS = {"forward-lip-reach": "forward_clutch", "direct-lip-reach": "direct_clutch"}
PUMP = ("pump-face-clearance", "pump-crescent-clearance")
RINGS = ("sealing-ring-gap", "sealing-ring-side", "bush-clearance")
RING_CIRCUITS = ("forward_clutch", "direct_clutch", "front_clutch", "rear_clutch")
PLATES = {
    "forward-plates": "forward_clutch",
    "direct-plates": "direct_clutch",
    "intermediate-plates": "intermediate_clutch",
    "front-plates": "front_clutch",
    "rear-plates": "rear_clutch",
}
PLATE_STATES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"sound": (1.0, 1.0), "glazed": (0.85, 0.6), "burnt": (0.55, 0.0)}
)
"""Share of their grip that plates of a state keep, from mild to severe [-]; common practice, no source."""

MEASURED = (*PUMP, *RINGS, *PACKS, *LIPS, "friction-plate-thickness", "modulator-force")
"""What changes a car here; all else that is measured is judged and counts as a finding only."""


@dataclass(frozen=True)
class BenchNumber:
    """One number of the bench: value and standard uncertainty [SI]."""

    id: str
    value: float
    standard_uncertainty: float


@dataclass(frozen=True)
class Parts:
    """Cars with the measured parts in them.

    Parameters
    ----------
    cars : the cars, their leaks as they are hot
    cold_seals : what passes the lips of clutches when stone-cold, by clutch [m³/s/Pa]
    """

    cars: Cars
    cold_seals: Mapping[str, FloatArray]


def with_parts(
    cars: Cars,
    numbers: Sequence[BenchNumber],
    plates: Mapping[str, str] | None = None,
    *,
    sound: Mapping[str, float] | None = None,
    seed: int = 11,
) -> Parts:
    """The same cars with the measured parts in them, every number drawn within its uncertainty.

    A leak grows by its law between the sound middle and the number measured. The box's own leak scatters as
    before: that is what is not known of this unit.

    Parameters
    ----------
    cars : sound cars of the box
    numbers : measured, any of `MEASURED`
    plates : state of the plates of a clutch, by finding
    sound : middles of this box's windows [m], those of `SOUND` where it has none
    seed : of the draws

    Raises
    ------
    QuantityError : a number that changes nothing here, or of a part this box does not have
    """
    rng = np.random.default_rng(seed)
    drawn = {number.id: _draw(number, len(cars), rng) for number in numbers}
    unknown = [name for name in drawn if name not in MEASURED]
    if unknown:
        raise QuantityError(
            f"{', '.join(unknown)} changes neither pressure nor grip here",
            remedy=f"known: {', '.join(MEASURED)}",
        )
    middles = {**SOUND, **(sound or {})}
    law = _Laws(cars, drawn, middles, rng)
    changed: dict[str, FloatArray] = {}
    for change in (law.pump, law.rings, law.packs, law.modulator):
        changed |= change()
    changed |= _grips(cars, plates or {}, rng)
    return _with_lips(cars.with_values(changed), law)


def shown_with(parts: Parts, car: Vehicle) -> Shown:
    """What cars with these parts show; cold engagements with the lips as they are in the cold."""
    shown = show_cars(parts.cars, car)
    if not parts.cold_seals:
        return shown
    cold = engaging.readings(parts.cars, car, cold_seals=parts.cold_seals)
    changed = {name: np.asarray(cold[name], dtype=np.float32) for name in cold if name.endswith("-cold")}
    return Shown({**shown.readings, **changed}, shown.chances)


def _draw(number: BenchNumber, count: int, rng: np.random.Generator) -> FloatArray:
    drawn = number.value + number.standard_uncertainty * rng.standard_normal(count)
    return drawn if number.id in LIPS else np.maximum(drawn, LEAST)


class _Laws:
    """What each group of numbers makes of the cars; nothing where none of the group is measured."""

    def __init__(
        self,
        cars: Cars,
        drawn: Mapping[str, FloatArray],
        sound: Mapping[str, float],
        rng: np.random.Generator,
    ) -> None:
        self.cars = cars
        self.drawn = drawn
        self.sound = sound
        self.viscosity = dynamic_viscosity(cars, HOT)
        self.off = OUT_OF_ROUND * np.exp(OUT_OF_ROUND_SCATTER * rng.standard_normal(len(cars)))
        self.loose = np.exp(LAW_SCATTER * rng.standard_normal(len(cars)))

    def at(self, name: str) -> FloatArray | float:
        """A number as drawn, or its sound middle."""
        return self.drawn.get(name, self.sound[name])

    def any_of(self, names: Sequence[str]) -> bool:
        """Whether one of these was measured."""
        return any(name in self.drawn for name in names)

    def ratio(self, law: Callable[[Callable[[str], FloatArray | float]], FloatArray]) -> FloatArray:
        """How much more a law gives as measured than at the sound middles; what it adds scatters."""
        grown = law(self.at) / law(lambda name: self.sound[name])
        return np.asarray(1.0 + (grown - 1.0) * self.loose)

    def pump(self) -> dict[str, FloatArray]:
        """Leakage inside the pump, by face and tip clearance."""
        if not self.any_of(PUMP):
            return {}

        def law(at: Callable[[str], FloatArray | float]) -> FloatArray:
            return pump_leakage(
                at(PUMP[0]),
                at(PUMP[1]),
                seal_length=SEAL_LENGTH,
                seal_width=SEAL_WIDTH,
                gear_width=GEAR_WIDTH,
                tip_length=TIP_LENGTH,
                viscosity=self.viscosity,
            )

        return {"pump.leakage": self.cars["pump.leakage"] * self.ratio(law)}

    def rings(self) -> dict[str, FloatArray]:
        """Leakage of the circuits that hub rings seal, by gap, side clearance and the bush beside them."""
        if not self.any_of(RINGS):
            return {}

        def law(at: Callable[[str], FloatArray | float]) -> FloatArray:
            worn = 0.5 * (np.asarray(at("bush-clearance")) - self.sound["bush-clearance"])
            return sealing_ring_flow(
                RING_BORE,
                at("sealing-ring-side"),
                at("sealing-ring-gap"),
                1.0,
                self.viscosity,
                shaft_clearance=np.maximum(RING_PLAY + worn, LEAST),
            )

        grown = self.ratio(law)
        return {
            f"{circuit}.leakage": self.cars[f"{circuit}.leakage"] * grown
            for circuit in RING_CIRCUITS
            if f"{circuit}.leakage" in self.cars.values
        }

    def packs(self) -> dict[str, FloatArray]:
        """Volume a clutch must fill, by its pack clearance or by how thin its linings are."""
        worn = np.zeros(len(self.cars))
        if "friction-plate-thickness" in self.drawn:
            worn = self.sound["friction-plate-thickness"] - self.drawn["friction-plate-thickness"]
        found = {}
        for name, clutch in PACKS.items():
            if f"{clutch}.apply_volume" not in self.cars.values:
                self.refuse_if_measured(name)
                continue
            if name in self.drawn:
                further = self.drawn[name] - self.sound[name]
            elif "friction-plate-thickness" in self.drawn:
                further = worn * self.cars[f"{clutch}.plates"] / 2.0
            else:
                continue
            volume = self.cars[f"{clutch}.apply_volume"]
            grown = volume + self.cars[f"{clutch}.piston_area"] * further
            found[f"{clutch}.apply_volume"] = np.maximum(grown, 0.1 * volume)
        return found

    def modulator(self) -> dict[str, FloatArray]:
        """Spring force of the modulator, as a share of a good one."""
        if "modulator-force" not in self.drawn:
            return {}
        if "modulator.spring_force" not in self.cars.values:
            self.refuse_if_measured("modulator-force")
        return {"modulator.spring_force": self.cars["modulator.spring_force"] * self.drawn["modulator-force"]}

    def lip(self, name: str, celsius: float) -> FloatArray:
        """Leakage past a piston's lip at a temperature [m³/s/Pa]."""
        reach = reach_at(self.drawn[name], LIP_HEIGHT, celsius)
        passed = lip_leakage(
            reach, self.off, LIP_DIAMETER, LIP_CONTACT, dynamic_viscosity(self.cars, celsius)
        )
        return np.asarray(passed * self.loose)

    def refuse_if_measured(self, name: str) -> None:
        """Refuse a number of a part this box does not have."""
        if name in self.drawn:
            raise QuantityError(f"this box has nothing that '{name}' could be measured on", where=name)


def _grips(cars: Cars, plates: Mapping[str, str], rng: np.random.Generator) -> dict[str, FloatArray]:
    found = {}
    for name, state in plates.items():
        clutch = PLATES.get(name)
        if clutch is None or f"{clutch}.grip" not in cars.values or f"{clutch}.plates" not in cars.values:
            raise QuantityError(f"this box has no plates called '{name}'", where="plates")
        if state not in PLATE_STATES:
            raise QuantityError(
                f"plates are never '{state[:40]}'",
                where=name,
                remedy=f"say one of: {', '.join(PLATE_STATES)}",
            )
        mild, severe = PLATE_STATES[state]
        severity = rng.uniform(size=len(cars))
        found[f"{clutch}.grip"] = cars[f"{clutch}.grip"] * (mild + (severe - mild) * severity)
    return found


def _with_lips(hot: Cars, law: _Laws) -> Parts:
    """Add what passes the pistons' lips: more when cold, for rubber shrinks more than metal."""
    warm: dict[str, FloatArray] = {}
    cold: dict[str, FloatArray] = {}
    for name, clutch in LIPS.items():
        if name not in law.drawn:
            continue
        key = f"{clutch}.leakage"
        if key not in hot.values:
            law.refuse_if_measured(name)
        warm[key] = hot[key] + law.lip(name, HOT)
        # What the hot lip passes is in the car's leakage already, and thickens with it.
        cold[clutch] = np.maximum(law.lip(name, COLD) - law.lip(name, HOT) * thinning(hot, COLD), 0.0)
    return Parts(hot.with_values(warm), cold)
