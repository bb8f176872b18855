"""This very car: lumped parameters fitted to its own shifts and pressures, and what they leave open.

Nobody in a workshop knows masses and areas, so what is fitted are the few sums that shifts and gauges can
tell: level and knee of the governor, full signal and slope of the modulator, spring and gain of the regulator
and of both shift valves. Unlike a printed table, rows of one car hold no scatter between units.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.errors import FindingError
from bellhousing.road import driving, gauge
from bellhousing.road.calibration import MODEL_SHARE
from bellhousing.road.cars import DRIVER, Cars, middle_car
from bellhousing.road.least_squares import LeastSquares, least_squares
from bellhousing.road.pressures import PSI
from bellhousing.road.shifts import forced_downshifts, shift_speeds
from bellhousing.road.vehicle import Vehicle

FloatArray = NDArray[np.float64]

WEAR = 0.12
"""How far age may have moved a parameter of a car that still drives, one standard deviation, relative;
common practice, no source."""

CANNOT_TELL = 0.85
"""A parameter whose scatter is still this share of what was known before is not told by the readings."""

TOGETHER = 0.9
"""Correlation from which two parameters are told only together."""

ODD = 4.0
"""Standard deviations from what all other rows say, beyond which a row is named as odd."""


@dataclass(frozen=True)
class Parameter:
    """A lumped parameter: the number of a car that moves it, the numbers it is made of, and how it is shown.

    Parameters
    ----------
    key, power : number of a car it moves, and the power of that number in the parameter
    made_of : numbers of the box with their powers, whose scatter is that of a sound unit
    wears : whether age may move it; else only units differ
    """

    id: str
    name: str
    key: str
    made_of: Mapping[str, float]
    power: float = 1.0
    unit: str = ""
    scale: float = 1.0
    wears: bool = True


def _valve(short: str, name: str) -> tuple[Parameter, ...]:
    said = {"12": "1–2", "23": "2–3"}[short]
    made = [
        ("spring", f"{said} valve's spring", "offset", "psi", PSI),
        ("gain", f"{said} valve's throttle gain", "gain", "", 1.0),
        ("coast", f"{said} valve's coast-down spring", "downshift_offset", "psi", PSI),
        ("kick", f"{said} valve's downshift gain", "downshift_gain", "", 1.0),
        ("detent", f"{said} valve's full-throttle gain", "detent_gain", "", 1.0),
    ]
    return tuple(
        Parameter(
            f"{short}-{ending}",
            text,
            f"shift_valves.{name}.{part}",
            {f"shift_valves.{name}.{part}": 1.0},
            unit=unit,
            scale=scale,
        )
        for ending, text, part, unit, scale in made
    )


PARAMETERS: tuple[Parameter, ...] = (
    Parameter(
        "governor-level",
        "Governor's level, share of plan",
        "governor.scale",
        {"governor.primary_mass": 1.0, "governor.radius": 1.0, "governor.valve_area": -1.0},
    ),
    Parameter(
        "governor-knee",
        "Governor's primary stop",
        "governor.primary_stop",
        {"governor.primary_stop": 1.0},
        unit="N",
        wears=False,
    ),
    Parameter(
        "modulator-full",
        "Modulator's spring",
        "modulator.spring_force",
        {"modulator.spring_force": 1.0, "modulator.valve_area": -1.0},
        unit="N",
    ),
    Parameter(
        "modulator-slope",
        "Modulator's diaphragm",
        "modulator.diaphragm_diameter",
        {"modulator.diaphragm_diameter": 1.0, "modulator.valve_area": -0.5},
        unit="mm",
        scale=1e-3,
        wears=False,
    ),
    Parameter(
        "modulator-cutback",
        "Modulator's cut-back by the governor",
        "modulator.governor_cutback",
        {"modulator.governor_cutback": 1.0},
        wears=False,
    ),
    Parameter(
        "regulator-base",
        "Regulator's spring",
        "regulator.spring_pressure",
        {"regulator.spring_pressure": 1.0},
        unit="psi",
        scale=PSI,
    ),
    Parameter(
        "regulator-gain",
        "Regulator's gain on the throttle signal",
        "regulator.signal_gain",
        {"regulator.signal_gain": 1.0},
        wears=False,
    ),
    *_valve("12", "first_second"),
    *_valve("23", "second_third"),
)


@dataclass(frozen=True)
class Observed:
    """One shift or pressure of this car: value and standard uncertainty [m/s or Pa].

    Parameters
    ----------
    name : as a mechanic would call it
    shift : "1-2" and so on, with the manifold vacuum it was made at [Pa]; floor: the pedal on its stop
    reading : instead, a reading of `gauge` or `driving` by its finding
    """

    name: str
    value: float
    uncertainty: float
    shift: str = ""
    vacuum: float = 0.0
    floor: bool = False
    reading: str = ""


READINGS = frozenset(
    {
        *(f"upshift-{shift}-{throttle}" for shift in ("12", "23") for throttle in ("light", "medium", "full")),
        *(f"line-{what}" for what in ("neutral-idle", "drive-idle", "drive-1000", "drive-hose-off")),
        *(f"line-{what}" for what in ("reverse-idle", "reverse-hose-off", "stall")),
        *(f"governor-{mph}" for mph in (10, 20, 30, 50)),
        "coast-down-32",
        "coast-down-21",
        "vacuum-warm-idle",
    }
)
"""Readings of findings that bear on these parameters."""

VALVES = {"1-2": "first_second", "2-3": "second_third"}


def foretold(observed: Sequence[Observed], cars: Cars, car: Vehicle) -> FloatArray:
    """What each car would show in each row, (n, rows) [m/s or Pa]; no shift counts above 110 mph.

    Raises
    ------
    FindingError : a row that no three-speed shows.
    """
    shown: dict[str, FloatArray] = {}
    if any(row.reading for row in observed):
        shown = {**gauge.readings(cars, car), **driving.readings(cars, car)}
    maps: dict[float, dict[str, FloatArray]] = {}
    columns = []
    for row in observed:
        if row.reading:
            if row.reading not in shown:
                raise FindingError(f"'{row.reading}' does not bear on this fit", where=row.name)
            columns.append(shown[row.reading])
            continue
        if row.floor and row.shift in ("3-2", "2-1"):
            columns.append(forced_downshifts(cars, car)[row.shift])
            continue
        if row.floor:
            felt = driving.shift_vacuum(cars, car, "full")
            columns.append(driving.up_speed(cars, car, VALVES[row.shift], felt, floor=True))
            continue
        if row.vacuum not in maps:
            maps[row.vacuum] = shift_speeds(cars, car, row.vacuum)
        if row.shift not in maps[row.vacuum]:
            raise FindingError(f"this box makes no shift '{row.shift}'", where=row.name)
        columns.append(maps[row.vacuum][row.shift])
    limit = np.array([np.inf if row.reading.startswith(("line", "gov", "vac")) else driving.TOP for row in observed])
    return np.minimum(np.stack([np.broadcast_to(c, len(cars)) for c in columns], axis=1), limit)


@dataclass(frozen=True)
class Known:
    """What is known of a parameter before and after: relative standard deviations about the middle car's.

    Parameters
    ----------
    value : fitted [the parameter's unit]
    scatter : of the fit, relative; before : of what was known before, relative
    sound : scatter between sound units, relative; middle : of a sound unit [the unit]
    """

    parameter: Parameter
    value: float
    scatter: float
    before: float
    sound: float
    middle: float

    @property
    def told(self) -> bool:
        """Whether the readings say anything of it."""
        return self.scatter < CANNOT_TELL * self.before

    @property
    def window(self) -> tuple[float, float]:
        """Where 95 of 100 sound units lie."""
        return self.middle * float(np.exp(-1.96 * self.sound)), self.middle * float(np.exp(1.96 * self.sound))


@dataclass(frozen=True)
class Row:
    """A row with what the fitted car shows, and how far off it is, leverage counted [standard deviations]."""

    observed: Observed
    fitted: float
    off: float

    @property
    def odd(self) -> bool:
        """Whether no car of this specification shows it together with the others."""
        return abs(self.off) > ODD


@dataclass(frozen=True)
class CarFit:
    """The fit of one car: what is known of each parameter, the rows, and draws of cars that fit.

    Parameters
    ----------
    together : pairs of parameters that are told only together, by id
    middle, root : of all parameters and of what else moves the rows, in standard deviations of the prior
    """

    known: tuple[Known, ...]
    rows: tuple[Row, ...]
    together: tuple[tuple[str, str], ...]
    middle: FloatArray
    root: FloatArray
    prior: Prior

    def draw(self, count: int, rng: np.random.Generator) -> Cars:
        """Cars that fit the rows, (count,)."""
        z = self.middle + rng.standard_normal((count, len(self.middle))) @ self.root.T
        return self.prior.cars(z)


@dataclass(frozen=True)
class Prior:
    """The middle car and how each parameter may lie about it; the last columns are what else moves rows."""

    base: Cars
    before: FloatArray
    sound: FloatArray

    def cars(self, z: FloatArray) -> Cars:
        """Cars with parameters moved by z (n, parameters and others), in standard deviations."""
        many = self.base.take(np.zeros(len(z), dtype=np.intp))
        changed = {
            one.key: many[one.key] * np.exp(self.before[i] * z[:, i] / one.power)
            for i, one in enumerate(PARAMETERS)
        }
        first = len(PARAMETERS)
        for i, key in enumerate(DRIVER):
            changed[key] = z[:, first + i]
        idle = many["engine.idle_vacuum"]
        changed["engine.idle_vacuum"] = idle * np.exp(IDLE_VACUUM * z[:, first + len(DRIVER)])
        return many.with_values(changed)


IDLE_VACUUM = 0.05
"""How an engine's vacuum at idle scatters, relative; common practice, no source."""


def prior_of(box: Box) -> Prior:
    """What a box's file says of the parameters of a car that has aged.

    Raises
    ------
    BoxFileError : a number that neither the box nor its family gives.
    """
    sound = []
    for one in PARAMETERS:
        total = 0.0
        for key, power in one.made_of.items():
            given = box.number(key)
            assert given.value is not None
            total += (power * given.scatter / given.value) ** 2
        sound.append(np.sqrt(total))
    wear = np.array([WEAR if one.wears else 0.0 for one in PARAMETERS])
    scatter = np.array(sound)
    return Prior(middle_car(box), np.hypot(scatter, wear), scatter)


def fit_car(box: Box, car: Vehicle, observed: Sequence[Observed]) -> CarFit:
    """Fit this car's parameters to its rows by maximum posterior; the posterior is taken as normal.

    Minimises Σ ((foretold - observed) / s)² + Σ z², with s² = u² + (share · observed)², share being how far
    the model itself may lie from a sound box.

    Raises
    ------
    FindingError : no row at all, a row without uncertainty, or rows that no car shows
    """
    if not observed:
        raise FindingError(
            "nothing to fit", remedy="note shifts with their road speed, or pressures from the gauge"
        )
    if any(not row.uncertainty > 0.0 for row in observed):
        raise FindingError("a row without uncertainty")
    prior = prior_of(box)
    target = np.array([row.value for row in observed])
    spread = np.hypot([row.uncertainty for row in observed], MODEL_SHARE * target)
    count = len(PARAMETERS) + len(DRIVER) + 1

    def residuals(z: FloatArray) -> FloatArray:
        apart = (foretold(observed, prior.cars(z), car) - target) / spread
        return np.concatenate([apart, z], axis=1)

    try:
        found = least_squares(residuals, np.zeros(count), size=np.ones(count), tolerance=1e-3)
    except ArithmeticError as error:
        raise FindingError(f"no car of this specification fits these rows: {error}") from None
    return _fit_of(prior, found, observed, target, spread)


def _fit_of(
    prior: Prior,
    found: LeastSquares,
    observed: Sequence[Observed],
    target: FloatArray,
    spread: FloatArray,
) -> CarFit:
    covariance = found.covariance()
    rows = len(observed)
    jacobian, apart = found.jacobian[:rows], found.residuals[:rows]
    leverage = np.einsum("ij,jk,ik->i", jacobian, covariance, jacobian)
    off = apart / np.sqrt(np.maximum(1.0 - leverage, 1e-6))
    scatter = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(scatter, scatter)
    known = []
    for i, one in enumerate(PARAMETERS):
        middle = float(prior.base[one.key][0]) / one.scale
        moved = prior.before[i] * found.parameters[i] / one.power
        known.append(
            Known(
                one,
                middle * float(np.exp(moved)),
                float(prior.before[i] * scatter[i] / one.power),
                float(prior.before[i] / one.power),
                float(prior.sound[i] / one.power),
                middle,
            )
        )
    pairs = tuple(
        (PARAMETERS[i].id, PARAMETERS[j].id)
        for i in range(len(PARAMETERS))
        for j in range(i + 1, len(PARAMETERS))
        if abs(correlation[i, j]) > TOGETHER
    )
    values, vectors = np.linalg.eigh(covariance)
    fitted = target + apart * spread
    return CarFit(
        known=tuple(known),
        rows=tuple(Row(row, float(f), float(o)) for row, f, o in zip(observed, fitted, off, strict=True)),
        together=pairs,
        middle=found.parameters,
        root=vectors * np.sqrt(np.maximum(values, 0.0)),
        prior=prior,
    )
