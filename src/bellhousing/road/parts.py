"""Numbers of the box file that the physics needs of every part of a kind, whatever the family of the box."""

from __future__ import annotations

from collections.abc import Sequence

_SHIFT_VALVE = ("gain", "offset", "downshift_gain", "downshift_offset", "detent_gain", "friction")
_PLATE_CLUTCH = (
    "plates",
    "piston_area",
    "return_force",
    "friction_coefficient",
    "inner_radius",
    "outer_radius",
    "apply_volume",
    "feed_diameter",
    "leakage",
)
_BAND = (
    "friction_coefficient",
    "wrap",
    "drum_radius",
    "piston_area",
    "return_force",
    "leverage",
    "apply_volume",
)


def numbers_of_parts(
    shift_valves: Sequence[str], clutches: Sequence[str], bands: Sequence[str]
) -> tuple[str, ...]:
    """Dotted names of the numbers of a box's shift valves, plate clutches and bands, in this order."""
    return (
        *(f"shift_valves.{valve}.{part}" for valve in shift_valves for part in _SHIFT_VALVE),
        *(f"{clutch}.{part}" for clutch in clutches for part in _PLATE_CLUTCH),
        *(f"{band}.{part}" for band in bands for part in _BAND),
    )
