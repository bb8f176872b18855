"""What describes one four-speed car: the numbers of its box, and what age and faults change besides."""

from __future__ import annotations

from collections.abc import Mapping

from bellhousing.road.parts import numbers_of_parts

FOUR_SPEED_NUMBERS = (
    "fluid.viscosity_40",
    "fluid.viscosity_100",
    "fluid.density_15",
    "pump.displacement",
    "pump.volumetric_efficiency",
    "pump.leakage",
    "pump.flow_limit",
    "rear_pump.displacement",
    "rear_pump.leakage",
    "rear_pump.takeover_speed",
    "regulator.spring_pressure",
    "regulator.signal_gain",
    "regulator.reverse_ratio",
    "regulator.highest",
    "regulator.droop",
    "throttle_valve.closed_pressure",
    "throttle_valve.half_pressure",
    "throttle_valve.full_pressure",
    "throttle_valve.rod_gradient",
    "governor.primary_mass",
    "governor.secondary_mass",
    "governor.radius",
    "governor.valve_area",
    "governor.friction",
    "reverse_anchor.capacity",
    "coupling.capacity_factor",
    "coupling.charge_flow",
    "engine.peak_torque",
    "engine.peak_speed",
    "engine.idle_speed",
    "engine.idle_vacuum",
    "engine.inertia",
    *numbers_of_parts(
        shift_valves=("first_second", "second_third", "third_fourth"),
        clutches=("front_clutch", "rear_clutch"),
        bands=("front_band", "rear_band"),
    ),
)
"""Numbers of a four-speed box that the physics needs, as dotted names of the box file."""

FOUR_SPEED_CONDITION: Mapping[str, float] = {
    "throttle_valve.rod_error": 0.0,  # m by which the rod is too long
    "throttle_valve.play": 0.0,  # m of lost motion in the linkage
    "throttle_valve.stuck": 0.0,  # 1: the valve no longer follows
    "throttle_valve.stuck_share": 0.0,  # where it stands then, as a share of full pressure
    "g1.scale": 1.0,  # share of the first signal left
    "g1.residual": 0.0,  # Pa at rest
    "g1.friction": 0.0,  # Pa, half the dead band
    "g2.scale": 1.0,
    "g2.residual": 0.0,
    "g2.friction": 0.0,
    "shift_valves.third_fourth.stuck": 0.0,  # -1 down, +1 up
    "rear_pump.drive": 1.0,  # 0: the rear pump does not turn
    "rear_pump.check_open": 0.0,  # share by which its check valve fails to close
    "front_band.grip": 1.0,
    "rear_band.grip": 1.0,
    "front_clutch.grip": 1.0,
    "rear_clutch.grip": 1.0,
    "reverse_anchor.grip": 1.0,
    "front_band.clearance": 1.0,  # times the fluid it takes to bring the band on
    "rear_band.clearance": 1.0,
    "front_band.leakage": 0.0,  # m3/s/Pa past the servo's rings
    "rear_band.leakage": 0.0,
    "front_band.release_delay": 0.0,  # s the servo takes longer to let go
    "rear_band.release_delay": 0.0,
    "front_band.cold_delay": 0.0,  # s that stiff rings add to a cold engagement
    "rear_band.cold_delay": 0.0,
    "timing.error": 0.0,  # s by which the elements of the 2-3 come on late
    "coupling.fill": 1.0,  # share of the coupling's torque
    "coupling.drained": 0.0,  # s the pump needs to fill the coupling after standing
}
"""What only a four-speed's faults change, with the value of a sound car."""
