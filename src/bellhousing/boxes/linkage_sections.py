"""The groups of figures that only a four-speed box with coupling and throttle linkage has."""

from __future__ import annotations

from typing import Annotated, ClassVar

from bellhousing.boxes.figures import Spec
from bellhousing.boxes.sections import Known, Section, leakage_spec, psi_spec


class ThrottleValve(Section):
    """The throttle valve, pushed by a rod from the accelerator."""

    without: ClassVar[str] = "how shifts and line pressure follow the throttle is only roughly known"
    closed_pressure: Annotated[Known, psi_spec("throttle pressure with the throttle shut", 60, "50 %")] = None
    half_pressure: Annotated[Known, psi_spec("throttle pressure at half throttle", 150, "6 %")] = None
    full_pressure: Annotated[Known, psi_spec("throttle pressure at full throttle", 200, "4 %")] = None
    rod_gradient: Annotated[
        Known,
        Spec(
            "psi/in",
            "pressure per length",
            1,
            1000,
            "10 %",
            "change of throttle pressure with the length the rod is set to",
        ),
    ] = None


class RearPump(Section):
    """The pump on the output shaft, and the check valve behind it."""

    without: ClassVar[str] = "how the line holds up at speed, and push-starting, are only roughly known"
    displacement: Annotated[
        Known, Spec("cm3/rev", "displacement", 2, 120, "3 %", "fluid it moves per turn of the output shaft")
    ] = None
    leakage: Annotated[Known, leakage_spec("leakage inside the rear pump at 80 °C")] = None
    takeover_speed: Annotated[
        Known,
        Spec(
            "rpm", "rotation", 100, 4000, "5 %", "speed of the output shaft at which the front pump unloads"
        ),
    ] = None


class Anchor(Section):
    """What holds the reverse unit: a cone or a pawl."""

    without: ClassVar[str] = "the torque it bears is only roughly known"
    capacity: Annotated[Known, Spec("N m", "torque", 10, 30000, "8 %", "torque the reverse anchor bears")] = (
        None
    )


class Coupling(Section):
    """The fluid coupling."""

    without: ClassVar[str] = "stall speed and slip of the coupling are only roughly known"
    capacity_factor: Annotated[
        Known,
        Spec(
            "rpm/sqrt(lb ft)",
            "capacity factor",
            20,
            400,
            "2.5 %",
            "size factor at stall, its own input speed over root of its torque",
        ),
    ] = None
    charge_flow: Annotated[
        Known, Spec("l/min", "flow", 0, 60, "12 %", "flow through coupling and lubrication at 60 psi, hot")
    ] = None
    input_inertia: Annotated[
        Known,
        Spec("kg m2", "inertia", 0.001, 5, "8 %", "inertia of the coupling's input and what turns with it"),
    ] = None
    runner_inertia: Annotated[
        Known, Spec("kg m2", "inertia", 0.001, 5, "8 %", "inertia of the runner and what turns with it")
    ] = None
    drain_back: Annotated[
        Known, Spec("", "number", 0, 1, "40 %", "part of the coupling that drains overnight, 0 to 1")
    ] = None
