"""Which wet place a leak can make: fluid runs down and is blown back, never up and never forward.

All lengths of decay and all chances here are common practice and judgement, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot

from bellhousing.boxes.leak_sites import Coordinate, Landmark, LeakSite
from bellhousing.diagnosis.leak_levels import Level, Levels

BLOWN_BACK = 0.30
"""Length over which fluid in moving air still wets the case behind its source [m]."""
RUN_ALONG = 0.07
"""Length over which fluid creeps back along a rail or rib with no air moving [m]."""
RUN_DOWN = 0.60
"""Height over which a run of fluid thins out [m]."""
SPREAD_ASIDE = 0.06
"""How far a run wanders to the side, to which three tenths of its fall are added [m]."""
FILM = 0.015
"""How far a film creeps against its way [m]."""
FALL_ASIDE = 0.05
"""How far a drop lands from the point below its source: 10 cm hold 95 of 100 [m]."""
UNKNOWN = 0.5
"""Chance taken for a coordinate of a site that nobody knows."""
STAYS = 0.03
"""Least chance of dripping when nothing drives a site to."""


@dataclass(frozen=True)
class Point:
    """Where something was seen, None where not said, each to `near` [m], running `length` rearwards."""

    along: float | None
    across: float | None
    height: float | None
    near: float
    length: float = 0.0


@dataclass(frozen=True)
class Drips:
    """How likely a leaking site drips parked, idling and driven, and whether heat makes it."""

    parked: float
    idling: float
    driving: float
    hot: bool

    @property
    def running(self) -> float:
        """With the engine running, standing or driven."""
        return max(self.idling, self.driving)


@dataclass(frozen=True)
class Source:
    """A point at which the fluid of a site comes to light: in moving air or not, seen from outside or not."""

    along: Coordinate | None
    across: Coordinate | None
    height: Coordinate | None
    length: float
    air: bool
    seen: bool


def drips_of(site: LeakSite, levels: Levels, *, overnight: bool = True) -> Drips:
    """Return how likely a leaking site drips in each state, from what drives it and the fluid above it."""
    level = levels.overnight if overnight else levels.parked
    parked, running = _covered(site, level), _covered(site, levels.running)
    still = STAYS
    if "parked" in site.drips:
        still = {"sump": STAYS + 0.90 * parked, "other": 0.60}.get(site.circuit, max(0.35, 0.9 * parked))
    if "pressure" in site.drips:
        idling = driving = 0.90
    else:
        idling = STAYS + 0.60 * running * ("parked" in site.drips)
        driving = idling
    if site.turns == "engine":
        idling = driving = max(idling, 0.85)
    elif site.turns == "output":
        driving = max(driving, 0.85)
    return Drips(still, idling, driving, "hot" in site.drips)


def _covered(site: LeakSite, level: Level) -> float:
    if site.height is None:
        return UNKNOWN
    return level.covers(site.height.value, site.height.scatter)


def sources_of(site: LeakSite, landmarks: dict[str, Landmark]) -> tuple[Source, ...]:
    """Return where the fluid of a site comes to light: the site itself, and its outlet if it has one."""
    outside = site.airflow == "open"
    mark = landmarks.get(site.outlet or "")
    own = Source(site.along, site.across, site.height, site.length, outside, outside or mark is None)
    return (own,) if mark is None else (own, Source(mark.along, mark.across, mark.height, 0.0, True, True))


def runs_to(source: Source, point: Point, *, moving: bool = True) -> float:
    """Return how likely fluid from a source wets a point of the case.

    The product of being no lower than it (falling off as a normal law below), of being no further back (and
    not too far forward, over `BLOWN_BACK` in moving air), and of lying on its side. With `moving` false it
    was seen wet without having been driven, so that nothing was blown back.
    """
    fall = _fall(source, point)
    chance = _above(source, point)
    if point.along is not None:
        chance *= _back(source, point, BLOWN_BACK if source.air and moving else RUN_ALONG)
    if point.height is not None and source.height is not None:
        chance *= exp(-max(fall, 0.0) / RUN_DOWN)
    return chance * _beside(source, point, SPREAD_ASIDE + 0.3 * max(fall, 0.0))


def is_at(source: Source, point: Point) -> float:
    """Return how likely a source is the very place where a trail begins, exp(-½ d²/σ²) each way."""
    chance = 1.0
    if point.along is not None:
        chance *= UNKNOWN if source.along is None else _bell(_gap(source, point), _wide(source.along, point))
    if point.height is not None:
        low = UNKNOWN if source.height is None else 0.0
        chance *= low or _bell(_fall(source, point), _wide(source.height, point))
    return chance * _beside(source, point, SPREAD_ASIDE)


def drops_on(source: Source, point: Point, drips: Drips) -> float:
    """Return how likely a source makes a spot on the paper: fallen straight, or blown back while driving."""
    if point.along is None:
        straight = blown = 1.0
    elif source.along is None:
        straight = blown = UNKNOWN
    else:
        gap = _gap(source, point)
        wide = hypot(source.along.scatter, max(point.near, FALL_ASIDE))
        straight = _bell(gap, wide)
        blown = exp(-max(gap, 0.0) / BLOWN_BACK) * _bell(min(gap, 0.0), wide)
    carried = 0.5 * blown * drips.driving if source.air else 0.0
    chance = 1.0 - (1.0 - straight * drips.parked) * (1.0 - carried)
    return chance * _beside(source, point, 0.08)


def lies_above(source: Source, height: float, near: float) -> float:
    """Return how likely a source lies above a height, so that the case would be wet above it."""
    if source.height is None:
        return UNKNOWN
    return Level(source.height.value, source.height.scatter).covers(height, hypot(near, FILM))


def _above(source: Source, point: Point) -> float:
    if point.height is None:
        return 1.0
    if source.height is None:
        return UNKNOWN
    return _bell(min(_fall(source, point), 0.0), _wide(source.height, point))


def _fall(source: Source, point: Point) -> float:
    if point.height is None or source.height is None:
        return 0.0
    return source.height.value - point.height


def _gap(source: Source, point: Point) -> float:
    """How far a point lies behind a source (negative: before it), nought within its length [m]."""
    assert source.along is not None
    assert point.along is not None
    first, last = source.along.value, source.along.value + source.length
    if point.along > last:
        return point.along - last
    return min(point.along + point.length - first, 0.0)


def _back(source: Source, point: Point, carried: float) -> float:
    if source.along is None:
        return UNKNOWN
    gap = _gap(source, point)
    if gap >= 0.0:
        return exp(-gap / carried)
    return _bell(gap, _wide(source.along, point))


def _beside(source: Source, point: Point, wander: float) -> float:
    if point.across is None or source.across is None:
        return 1.0
    wide = hypot(source.across.scatter, hypot(point.near, wander))
    return _bell(source.across.value - point.across, wide)


def _wide(coordinate: Coordinate | None, point: Point) -> float:
    return hypot(0.0 if coordinate is None else coordinate.scatter, hypot(point.near, FILM))


def _bell(distance: float, wide: float) -> float:
    return exp(-0.5 * (distance / wide) ** 2)
