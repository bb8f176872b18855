"""The groups of figures a box file may hold, and what each figure must be."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field, model_validator

from bellhousing.boxes.figures import Figure, Spec


class Section(BaseModel):
    """A group of figures; an empty group means that nothing in it is known."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
    without: ClassVar[str] = ""

    @model_validator(mode="before")
    @classmethod
    def _empty(cls, raw: Any) -> Any:
        return {} if raw is None else raw


Known = Figure | None


def psi_spec(says: str, high: float, scatter: str) -> Spec:
    """A pressure."""
    return Spec("psi", "pressure", 0, high, scatter, says)


def _ratio(says: str, high: float, scatter: str, low: float = 0) -> Spec:
    return Spec("", "number", low, high, scatter, says)


def leakage_spec(says: str) -> Spec:
    """A leak by pressure."""
    return Spec("cm3/s/psi", "leakage", 0, 20, "22 %", says)


def _filled(says: str) -> Spec:
    return Spec("cm3", "volume", 1, 1000, "6 %", says)


def _returned(says: str) -> Spec:
    return Spec("N", "force", 0, 10000, "4 %", says)


# What every lining has, on plates or on a band.
SLIPS = "the line pressure at which it slips is only roughly known"
LiningFriction = Annotated[Known, _ratio("friction of the lining in fluid", 0.5, "6 %", 0.01)]


class Fluid(Section):
    """The fluid in the box."""

    without: ClassVar[str] = "hot and cold readings are compared with an ordinary fluid"
    viscosity_40: Annotated[
        Known, Spec("cSt", "viscosity", 5, 200, "3 %", "kinematic viscosity of the fluid at 40 °C")
    ] = None
    viscosity_100: Annotated[
        Known, Spec("cSt", "viscosity", 1, 50, "3 %", "kinematic viscosity of the fluid at 100 °C")
    ] = None
    density_15: Annotated[
        Known, Spec("kg/m3", "density", 700, 1100, "1 %", "density of the fluid at 15 °C")
    ] = None


class Pump(Section):
    """The engine-driven pump and the filter before it."""

    without: ClassVar[str] = (
        "how far a worn pump or a blocked filter pulls the line down is only roughly known"
    )
    displacement: Annotated[
        Known, Spec("cm3/rev", "displacement", 3, 120, "2 %", "fluid the pump moves per turn of the engine")
    ] = None
    volumetric_efficiency: Annotated[
        Known, _ratio("part of the displacement really delivered at no pressure", 1, "2 %", 0.3)
    ] = None
    leakage: Annotated[Known, leakage_spec("leakage inside the pump at 80 °C")] = None
    flow_limit: Annotated[Known, Spec("l/min", "flow", 5, 400, "10 %", "the most the filter passes")] = None


class Sump(Section):
    """The fluid in the pan: how high it stands, running and parked, and what the stick tells of it."""

    without: ClassVar[str] = (
        "which joints lie under standing fluid, and when the level leaves the stick, is only roughly known"
    )
    stick_volume: Annotated[
        Known, Spec("US pint", "volume", 0.1, 8, "5 %", "fluid between the marks ADD and FULL of the stick")
    ] = None
    surface: Annotated[
        Known, Spec("cm2", "area", 20, 5000, "10 %", "surface of the fluid about the pan rail, walls upright")
    ] = None
    running_level: Annotated[
        Known,
        Spec("mm", "length", -150, 300, "15 %", "level above the pan rail at FULL, hot and idling"),
    ] = None
    returned_volume: Annotated[
        Known, Spec("l", "volume", 0, 5, "20 %", "fluid that runs back within minutes of stopping the engine")
    ] = None
    converter_volume: Annotated[
        Known, Spec("l", "volume", 0.5, 20, "4 %", "fluid the converter or coupling holds")
    ] = None


class Regulator(Section):
    """The valve that sets line pressure."""

    without: ClassVar[str] = "what the gauge should read in each range is only roughly known"
    spring_pressure: Annotated[Known, psi_spec("line pressure with no throttle signal", 250, "2 %")] = None
    signal_gain: Annotated[Known, _ratio("rise of line pressure per psi of throttle signal", 5, "3 %")] = None
    reverse_ratio: Annotated[Known, _ratio("line in reverse as a multiple of line in drive", 4, "3 %", 1)] = (
        None
    )
    second_range_pressure: Annotated[
        Known, psi_spec("least line pressure with the lever in second range", 350, "3 %")
    ] = None
    low_range_pressure: Annotated[
        Known, psi_spec("least line pressure with the lever in low range", 350, "3 %")
    ] = None
    highest: Annotated[Known, psi_spec("the most the regulator lets the line rise to", 450, "4 %")] = None
    droop: Annotated[
        Known,
        Spec(
            "psi/(l/min)", "flow droop", 0, 5, "30 %", "rise of line per litre a minute the regulator spills"
        ),
    ] = None


class Modulator(Section):
    """The vacuum modulator and its valve: the throttle signal."""

    without: ClassVar[str] = "how line pressure and shifts follow vacuum is only roughly known"
    diaphragm_diameter: Annotated[
        Known, Spec("mm", "length", 15, 150, "1 %", "effective diameter of the diaphragm")
    ] = None
    spring_force: Annotated[Known, Spec("N", "force", 1, 1000, "2 %", "force of the spring as set")] = None
    valve_area: Annotated[Known, Spec("cm2", "area", 0.1, 20, "2.5 %", "end area of the modulator valve")] = (
        None
    )
    governor_cutback: Annotated[
        Known, _ratio("fall of the throttle signal per psi of governor pressure", 3, "5 %")
    ] = None
    screw_rate: Annotated[
        Known,
        Spec("N/turn", "force per turn", 0, 100, "8 %", "change of spring force per turn of the screw"),
    ] = None


class Governor(Section):
    """The centrifugal governor on the output shaft."""

    without: ClassVar[str] = "governor pressure and shift speeds carry a wide band"
    primary_mass: Annotated[Known, Spec("g", "mass", 1, 2000, "2 %", "mass of the heavy primary weights")] = (
        None
    )
    secondary_mass: Annotated[
        Known, Spec("g", "mass", 0.2, 1000, "2 %", "mass of the light secondary weights")
    ] = None
    radius: Annotated[Known, Spec("mm", "length", 3, 150, "1.5 %", "radius at which the weights swing")] = (
        None
    )
    primary_stop: Annotated[
        Known, Spec("N", "force", 0.1, 500, "3 %", "force at which the primary weights meet their stop")
    ] = None
    valve_area: Annotated[Known, Spec("cm2", "area", 0.05, 20, "2.5 %", "end area of the governor valve")] = (
        None
    )
    friction: Annotated[Known, psi_spec("friction of the governor valve, half its dead band", 20, "40 %")] = (
        None
    )


class ShiftValve(Section):
    """One shift valve: governor pressure against spring and throttle signal."""

    without: ClassVar[str] = "its shift speeds carry a wide band"
    gain: Annotated[
        Known, _ratio("share of the throttle signal the governor must beat to shift up", 5, "4 %")
    ] = None
    offset: Annotated[
        Known, psi_spec("governor pressure needed to shift up with no throttle signal", 100, "6 %")
    ] = None
    downshift_gain: Annotated[
        Known, _ratio("share of the throttle signal still acting once shifted up", 5, "6 %")
    ] = None
    downshift_offset: Annotated[
        Known, psi_spec("governor pressure below which it drops back on a closed throttle", 100, "8 %")
    ] = None
    detent_gain: Annotated[
        Known, _ratio("share of the detent pressure that pushes the valve back down", 5, "5 %")
    ] = None
    friction: Annotated[Known, psi_spec("friction of the valve, half its dead band", 20, "40 %")] = None


class ShiftValves(Section):
    """The shift valves."""

    without: ClassVar[str] = "shift speeds carry a wide band"
    first_second: ShiftValve = Field(default_factory=ShiftValve)
    second_third: ShiftValve = Field(default_factory=ShiftValve)
    third_fourth: ShiftValve = Field(default_factory=ShiftValve)


class Detent(Section):
    """The kickdown."""

    without: ClassVar[str] = "the speed below which kickdown works is only roughly known"
    pressure: Annotated[
        Known, psi_spec("constant pressure the kickdown sends to the shift valves", 250, "4 %")
    ] = None


class PlateClutch(Section):
    """A multi-plate clutch or plate brake."""

    without: ClassVar[str] = SLIPS
    plates: Annotated[
        Known, Spec("", "number", 1, 40, "0 %", "count of friction faces that carry torque", whole=True)
    ] = None
    piston_area: Annotated[Known, Spec("cm2", "area", 5, 1000, "2 %", "area of the piston")] = None
    return_force: Annotated[Known, _returned("force of the return springs, applied")] = None
    friction_coefficient: LiningFriction = None
    inner_radius: Annotated[Known, Spec("mm", "length", 5, 400, "0.5 %", "inner radius of the lining")] = None
    outer_radius: Annotated[Known, Spec("mm", "length", 5, 400, "0.5 %", "outer radius of the lining")] = None
    apply_volume: Annotated[Known, _filled("fluid that fills piston and passages")] = None
    feed_diameter: Annotated[
        Known, Spec("mm", "length", 0.2, 20, "3 %", "diameter of the smallest hole in the feed")
    ] = None
    leakage: Annotated[Known, leakage_spec("leakage of its circuit at 80 °C when applied")] = None


class Band(Section):
    """A band round a drum, with its servo."""

    without: ClassVar[str] = SLIPS
    friction_coefficient: LiningFriction = None
    wrap: Annotated[Known, Spec("deg", "angle", 90, 1080, "1 %", "angle the band wraps round the drum")] = (
        None
    )
    drum_radius: Annotated[Known, Spec("mm", "length", 20, 400, "0.5 %", "outer radius of the drum")] = None
    piston_area: Annotated[Known, Spec("cm2", "area", 1, 500, "2 %", "area of the servo piston")] = None
    return_force: Annotated[Known, _returned("force of the servo return spring")] = None
    leverage: Annotated[Known, _ratio("band force per servo force", 10, "2 %", 0.2)] = None
    apply_volume: Annotated[Known, _filled("fluid that fills servo and passages")] = None


class OneWayClutch(Section):
    """A one-way clutch."""

    without: ClassVar[str] = "the torque it bears is only roughly known"
    capacity: Annotated[
        Known, Spec("N m", "torque", 10, 20000, "8 %", "torque it bears before it rolls over")
    ] = None


class Accumulator(Section):
    """A shift accumulator."""

    without: ClassVar[str] = "shift times are only roughly known"
    plateau: Annotated[Known, _ratio("apply pressure held during the shift, as a part of line", 1, "6 %")] = (
        None
    )
    volume: Annotated[Known, Spec("cm3", "volume", 1, 500, "5 %", "fluid its piston takes in")] = None


class Converter(Section):
    """The torque converter."""

    without: ClassVar[str] = "stall speed and converter slip are only roughly known"
    stall_torque_ratio: Annotated[Known, _ratio("torque ratio at stall", 5, "2 %", 1)] = None
    capacity_factor: Annotated[
        Known,
        Spec(
            "rpm/sqrt(lb ft)",
            "capacity factor",
            30,
            400,
            "2.5 %",
            "size factor at stall, speed over root of torque",
        ),
    ] = None
    coupling_point: Annotated[
        Known, _ratio("speed ratio from which torque is no longer raised", 1, "1.5 %", 0.4)
    ] = None
    charge_flow: Annotated[
        Known, Spec("l/min", "flow", 0, 60, "12 %", "flow through converter and cooler at 60 psi, hot")
    ] = None
    turbine_inertia: Annotated[
        Known, Spec("kg m2", "inertia", 0.001, 5, "8 %", "inertia of turbine and input")
    ] = None
    drain_back: Annotated[Known, _ratio("part of the converter that drains overnight, 0 to 1", 1, "40 %")] = (
        None
    )


class Engine(Section):
    """The engine in front of it."""

    without: ClassVar[str] = "stall speed, vacuum and slip under load are only roughly known"
    peak_torque: Annotated[Known, Spec("lb ft", "torque", 20, 1500, "3 %", "greatest torque")] = None
    peak_speed: Annotated[Known, Spec("rpm", "rotation", 500, 8000, "3 %", "speed of greatest torque")] = None
    idle_speed: Annotated[Known, Spec("rpm", "rotation", 200, 2000, "4 %", "idle speed, hot, in drive")] = (
        None
    )
    idle_vacuum: Annotated[
        Known, Spec("inHg", "pressure", 3, 27, "0.8 inHg", "manifold vacuum at hot idle, at sea level")
    ] = None
    inertia: Annotated[
        Known,
        Spec("kg m2", "inertia", 0.01, 10, "8 %", "inertia of crankshaft, flexplate and converter shell"),
    ] = None


class Meshes(Section):
    """What the gear teeth cost."""

    without: ClassVar[str] = "the teeth lose as much as is usual"
    efficiency: Annotated[
        Known, _ratio("efficiency of a planetary set with its carrier held", 1, "0.5 %", 0.8)
    ] = None


class Ratios(Section):
    """Ratios typed from the manual, for a file without tooth counts."""

    without: ClassVar[str] = "ratios are typical ones"
    first: Annotated[Known, _ratio("ratio of first gear", 10, "0.2 %", 0.3)] = None
    second: Annotated[Known, _ratio("ratio of second gear", 10, "0.2 %", 0.3)] = None
    third: Annotated[Known, _ratio("ratio of third gear", 10, "0.2 %", 0.3)] = None
    fourth: Annotated[Known, _ratio("ratio of fourth gear", 10, "0.2 %", 0.3)] = None
    reverse: Annotated[Known, _ratio("ratio of reverse, without its sign", 10, "0.2 %", 0.3)] = None
