"""The lumped parameters of one four-speed with throttle linkage."""

from __future__ import annotations

from bellhousing.road.cars import DRIVER
from bellhousing.road.one_car.parameter import (
    GOVERNOR_LEVEL,
    Other,
    Parameter,
    regulator_parameters,
    valve_parameters,
)
from bellhousing.road.pressures import PSI

INCH = 0.0254

ROD_SET, ROD_ASTRAY = INCH / 64.0, INCH / 16.0
"""How well a rod that somebody set is set, and how far a rod of an old car may be off, one standard deviation
[m]; common practice, no source."""

PUMP_WEAR = 0.3
"""How far age may have moved a pump's leakage, relative; common practice, no source."""

FOUR_SPEED_PARAMETERS: tuple[Parameter, ...] = (
    GOVERNOR_LEVEL,
    Parameter(
        "governor-light",
        "Governor's light weight beside the heavy one, share of plan",
        "g2.scale",
        {"governor.secondary_mass": 1.0, "governor.primary_mass": -1.0},
    ),
    Parameter(
        "rod",
        "Throttle rod, too long by",
        "throttle_valve.rod_error",
        unit="in",
        scale=INCH,
        wears=False,
        age=ROD_ASTRAY,
        set_within=ROD_SET,
    ),
    Parameter(
        "throttle-half",
        "Throttle pressure at half travel",
        "throttle_valve.half_pressure",
        {"throttle_valve.half_pressure": 1.0},
        unit="psi",
        scale=PSI,
        wears=False,
    ),
    Parameter(
        "throttle-full",
        "Throttle pressure at full travel",
        "throttle_valve.full_pressure",
        {"throttle_valve.full_pressure": 1.0},
        unit="psi",
        scale=PSI,
        wears=False,
    ),
    *regulator_parameters("throttle pressure"),
    Parameter(
        "pump-leak",
        "Front pump's leakage",
        "pump.leakage",
        {"pump.leakage": 1.0},
        unit="cm3/s/psi",
        scale=1e-6 / PSI,
        age=PUMP_WEAR,
    ),
    *valve_parameters("12"),
    *valve_parameters("23"),
    *valve_parameters("34"),
)

FOUR_SPEED_OTHERS: tuple[Other, ...] = (
    *(Other(key, added=True) for key in DRIVER),
    Other("engine.idle_vacuum"),
    Other("engine.idle_speed"),
    Other("throttle_valve.closed_pressure"),
    Other("pump.displacement"),
    Other("coupling.charge_flow"),
    Other("rear_pump.displacement"),
    Other("rear_pump.leakage"),
    Other("regulator.reverse_ratio"),
    Other("regulator.droop"),
)
"""What else moves the rows: the foot, idle, pumps, and what the throttle valve passes at rest."""
