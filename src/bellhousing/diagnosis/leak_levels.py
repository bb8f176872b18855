"""How high the fluid stands about the pan rail: running, parked, and after the converter has drained back."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, hypot, sqrt

from bellhousing.boxes.box import Box

USUAL = {
    "sump.stick_volume": (0.473e-3, 0.09e-3),
    "sump.surface": (0.035, 0.009),
    "sump.running_level": (0.010, 0.006),
    "sump.returned_volume": (0.5e-3, 0.25e-3),
    "sump.converter_volume": (6.5e-3, 1.5e-3),
    "converter.drain_back": (0.10, 0.06),
}
"""What stands in where neither box nor family has a figure [SI, standard deviation]; common practice."""


@dataclass(frozen=True)
class Level:
    """A height above the pan rail and its standard uncertainty [m]."""

    height: float
    spread: float

    def covers(self, height: float, spread: float = 0.0) -> float:
        """Return the probability that a place at a height, known to a spread [m], lies under the fluid."""
        wide = hypot(self.spread, spread)
        return 0.5 * (1.0 + erf((self.height - height) / (wide * sqrt(2.0)))) if wide else 1.0


@dataclass(frozen=True)
class Levels:
    """The three levels of a box, and what it takes to move them.

    Parameters
    ----------
    running : hot and idling
    parked : some minutes after the engine has stopped
    overnight : when the converter has drained back as far as a sound one does
    surface : of the fluid [m²]
    stick_volume : between the marks of the stick, with its standard uncertainty [m³]
    """

    running: Level
    parked: Level
    overnight: Level
    surface: float
    stick_volume: tuple[float, float]


def levels_of(box: Box, missing: float = 0.0) -> Levels:
    """Return the levels of a box short of some fluid; a volume raises the level by volume over surface.

    Parameters
    ----------
    box : its sump and how far its converter drains back
    missing : fluid short of FULL [m³]
    """
    surface, surface_spread = _figure(box, "sump.surface")
    running, running_spread = _figure(box, "sump.running_level")
    returned, returned_spread = _figure(box, "sump.returned_volume")
    converter, converter_spread = _figure(box, "sump.converter_volume")
    coupling = box.has("coupling.drain_back")
    drained, drained_spread = _figure(box, "coupling.drain_back" if coupling else "converter.drain_back")
    share = surface_spread / surface
    low = Level(running - missing / surface, running_spread)
    rise = returned / surface
    parked = Level(
        low.height + rise, hypot(running_spread, rise * hypot(returned_spread / max(returned, 1e-9), share))
    )
    volume = drained * converter
    more = volume / surface
    relative = hypot(drained_spread / max(drained, 1e-9), hypot(converter_spread / converter, share))
    overnight = Level(parked.height + more, hypot(parked.spread, more * relative))
    return Levels(low, parked, overnight, surface, _figure(box, "sump.stick_volume"))


def _figure(box: Box, key: str) -> tuple[float, float]:
    if not box.has(key):
        return USUAL[key]
    given = box.number(key)
    assert given.value is not None
    return given.value, given.scatter
