"""Leak tracing: which sites leak, several at once, given wet and dry places and when they drip.

Every set of up to three sites is weighed exactly. A wet place must have a cause, so its chance under a set is
a noisy-or, 1 - (1 - b) ∏ (1 - q_s); a dry place has none, so its chance is (1 - b) ∏ (1 - q_s).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.boxes.leak_sites import LeakSite
from bellhousing.diagnosis.leak_levels import Levels, levels_of
from bellhousing.diagnosis.leak_reach import (
    Drips,
    Point,
    Source,
    drips_of,
    drops_on,
    is_at,
    lies_above,
    runs_to,
    sources_of,
)
from bellhousing.errors import FindingError

FloatArray = NDArray[np.float64]

MOST_AT_ONCE = 3
MOST_SITES = 60
BACKGROUND = {"top": 0.01, "wet": 0.03, "spot": 0.05, "dry": 0.03, "dry-above": 0.05}
"""Chance of such a place that no site of the box makes: old fluid, a spill, another car; common practice."""
OF_ITS_STATE = 0.35
"""Share of such places that drip in one particular state, or have one particular colour; common practice."""
SEEN = 0.85
"""Chance that a leaking site leaves its own surroundings visibly wet after cleaning; common practice."""
COLOUR = {
    "red": {"gearbox": 0.85, "hydraulic": 0.85, "engine": 0.03},
    "brown": {"gearbox": 0.20, "hydraulic": 0.15, "engine": 0.95},
}
"""Chance of the colour of a blot, by whose fluid it is; common practice."""


@dataclass(frozen=True)
class Wet:
    """One wet or dry place, and when it drips; `kind`, `when`, `colour` as the reader of notes gives them."""

    kind: Literal["top", "wet", "spot", "dry", "dry-above"]
    point: Point
    when: str = ""
    colour: str = ""

    @property
    def background(self) -> float:
        """Chance of it with no site leaking; a state and a colour each make it rarer."""
        named = (self.when != "") + (self.colour != "")
        return BACKGROUND[self.kind] * OF_ITS_STATE**named


@dataclass(frozen=True)
class Told:
    """What one place says of one site: how well the site explains it, and why if it does not."""

    chance: float
    why: str


@dataclass(frozen=True)
class SiteBelief:
    """A site as a suspect.

    Parameters
    ----------
    probability, before : that it leaks, with and without the places
    factor : how many times likelier the places are if it leaks than if it does not
    drips : when it would drip
    under_fluid : how far the fluid stands above it running, parked and overnight, negative if below [m]
    told : what each place says of it, in the order given
    """

    site: LeakSite
    probability: float
    before: float
    factor: float
    drips: Drips
    under_fluid: tuple[float, float, float] | None
    told: tuple[Told, ...]


@dataclass(frozen=True)
class LeakTrace:
    """The answer.

    Parameters
    ----------
    sites : most probable first
    together : the leading sets of sites that leak at once, with their probability
    fault_factor : natural log of how many times likelier the places are with each fault than without it
    unexplained : probability that no site of the box made some of the wet places
    unweighed : prior belief on more than three sites at once, which is not weighed
    levels : how high the fluid stands
    """

    sites: tuple[SiteBelief, ...]
    together: tuple[tuple[tuple[str, ...], float], ...]
    fault_factor: Mapping[str, float]
    unexplained: float
    unweighed: float
    levels: Levels


def trace(box: Box, places: Sequence[Wet], prior: Mapping[str, float], *, missing: float = 0.0) -> LeakTrace:
    """Weigh every set of up to three leak sites of a box against wet and dry places.

    Parameters
    ----------
    box : with its leak sites, landmarks and sump
    places : what was seen
    prior : probability of each fault before these places; a fault of several sites is shared among them
    missing : fluid short of FULL, which lowers every level [m³]

    Raises
    ------
    FindingError : the box names no leak sites, or too many.
    """
    sites = box.leak_sites
    if not sites:
        raise FindingError(f"{box.name} names no leak sites", remedy="add `leak_sites` to its file")
    if len(sites) > MOST_SITES:
        raise FindingError(f"more than {MOST_SITES} leak sites cannot be weighed at once", where=box.name)
    levels = levels_of(box, missing)
    marks = {mark.id: mark for mark in box.landmarks}
    sources = [sources_of(site, marks) for site in sites]
    told = [[_told(site, sources[s], place, levels) for place in places] for s, site in enumerate(sites)]
    before = _site_priors(sites, prior)
    members = _subsets(len(sites))
    ln_prior = members @ np.log(before / (1.0 - before)) + np.log1p(-before).sum()
    ln_seen = _ln_seen(members, places, told, sources, sites)
    weights = np.exp(ln_prior + ln_seen - (ln_prior + ln_seen).max())
    weights /= weights.sum()
    after = weights @ members
    with_site, without = _conditional(members, ln_prior, ln_seen)
    beliefs = [
        SiteBelief(
            site=site,
            probability=float(min(1.0, after[s])),
            before=float(before[s]),
            factor=float(np.exp(with_site[s] - without[s])),
            drips=drips_of(site, levels),
            under_fluid=_under(site, levels),
            told=tuple(told[s]),
        )
        for s, site in enumerate(sites)
    ]
    beliefs.sort(key=lambda belief: -belief.probability)
    return LeakTrace(
        sites=tuple(beliefs),
        together=_together(members, weights, sites),
        fault_factor=_fault_factors(sites, prior, with_site, without),
        unexplained=_unexplained(members, weights, places, told),
        unweighed=_more_than(before, MOST_AT_ONCE),
        levels=levels,
    )


def _site_priors(sites: Sequence[LeakSite], prior: Mapping[str, float]) -> FloatArray:
    """1 - ∏ (1 - p / n): a site leaks by any of its faults, a fault of n sites being at one of them."""
    shared = _shared(sites)
    found = np.ones(len(sites))
    for s, site in enumerate(sites):
        for fault in site.faults:
            found[s] *= 1.0 - prior.get(fault, 0.0) / shared[fault]
    return np.clip(1.0 - found, 1e-4, 0.98)


def _shared(sites: Sequence[LeakSite]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for site in sites:
        for fault in set(site.faults):
            counts[fault] = counts.get(fault, 0) + 1
    return counts


def _subsets(count: int) -> FloatArray:
    """Every set of up to three sites as rows of noughts and ones, the empty one first."""
    picks = [pick for size in range(MOST_AT_ONCE + 1) for pick in combinations(range(count), size)]
    members = np.zeros((len(picks), count))
    for row, pick in enumerate(picks):
        members[row, list(pick)] = 1.0
    return members


def _ln_seen(
    members: FloatArray,
    places: Sequence[Wet],
    told: Sequence[Sequence[Told]],
    sources: Sequence[Sequence[Source]],
    sites: Sequence[LeakSite],
) -> FloatArray:
    """Natural log of the chance of all places under each set of sites."""
    total = np.zeros(len(members))
    for j, place in enumerate(places):
        chances = np.array([row[j].chance for row in told])
        silent = (1.0 - place.background) * np.exp(members @ np.log1p(-np.minimum(chances, 0.999)))
        total += np.log(silent if place.kind.startswith("dry") else 1.0 - silent)
        if place.kind == "top" and place.point.height is not None:
            above = np.array([_shows_above(sources[s], place.point) for s in range(len(sites))])
            total += members @ np.log1p(-above)
    return total


def _shows_above(sources: Sequence[Source], point: Point) -> float:
    """Chance that a leaking site would have wetted the case above a point that was the highest one wet."""
    assert point.height is not None
    seen = [source for source in sources if source.seen]
    return SEEN * max(
        lies_above(source, point.height, point.near) * (1.0 - is_at(source, point)) for source in seen
    )


def _told(site: LeakSite, sources: Sequence[Source], place: Wet, levels: Levels) -> Told:
    drips = drips_of(site, levels, overnight=place.kind == "spot" or "parked" in place.when)
    state = _state(place.when, drips)
    colour = COLOUR[place.colour][site.fluid] if place.colour else 1.0
    there = max(_there(source, place, drips) for source in sources)
    return Told(there * state * colour, _why_not(sources, place, there, state, colour))


def _there(source: Source, place: Wet, drips: Drips) -> float:
    point = place.point
    if place.kind == "top":
        return is_at(source, point)
    if place.kind == "spot":
        return drops_on(source, point, drips)
    if place.kind == "dry-above":
        shows = lies_above(source, point.height, point.near) if point.height is not None else 0.0
        return SEEN * shows if source.seen else 0.0
    moving = not place.when.startswith("parked")
    return (SEEN if place.kind == "dry" else 1.0) * runs_to(source, point, moving=moving)


def _state(when: str, drips: Drips) -> float:
    """Chance that a leaking site drips when it was seen to, and does not when it was seen not to."""
    parked, running = drips.parked, drips.running
    heat = {"hot": 0.8 if drips.hot else 0.3, "cold": 0.3 if drips.hot else 0.7}
    known = {
        "parked": parked,
        "running": running,
        "parked-only": parked * (1.0 - running),
        "running-only": running * (1.0 - parked),
        "driving-only": drips.driving * (1.0 - drips.idling) * (1.0 - parked),
        "both": parked * running,
        **heat,
    }
    return known.get(when, 1.0)


def _why_not(sources: Sequence[Source], place: Wet, there: float, state: float, colour: float) -> str:
    """One sentence on what one place says of one site."""
    if place.kind.startswith("dry"):
        return "it should have wetted what was dry" if there > 0.4 else ""
    if colour < 0.3:
        return f"its fluid is not {place.colour}"
    if there >= 0.25 and state < 0.2:
        return f"it does not drip {place.when.replace('-', ' ')}"
    if there >= 0.25:
        return "fits"
    nearest = max(sources, key=lambda source: _there_height_apart(source, place.point))
    if place.point.height is not None and nearest.height is not None:
        if nearest.height.value < place.point.height - 0.01:
            return "it lies lower, and fluid does not run up"
        if place.kind == "top" and nearest.height.value > place.point.height + 0.03:
            return "it lies higher, and the case is dry there"
    if place.point.along is not None and nearest.along is not None:
        if nearest.along.value > place.point.along + place.point.length + 0.01:
            return "it lies further back, and fluid does not run forward"
        if nearest.along.value + nearest.length < place.point.along - 0.05:
            return "it lies too far forward"
    return "it lies to one side of it" if there < 0.25 else ""


def _there_height_apart(source: Source, point: Point) -> float:
    if source.along is None or point.along is None:
        return 0.0
    return -abs(source.along.value - point.along)


def _conditional(
    members: FloatArray, ln_prior: FloatArray, ln_seen: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Natural log of the chance of all places with each site leaking, and with it sound."""
    prior, seen = np.exp(ln_prior - ln_prior.max()), np.exp(ln_seen)
    has = prior @ members
    both = (prior * seen) @ members
    none = np.maximum(prior.sum() - has, 1e-300)
    rest = np.maximum((prior * seen).sum() - both, 1e-300)
    return np.log(both / has), np.log(rest / none)


def _fault_factors(
    sites: Sequence[LeakSite], prior: Mapping[str, float], with_site: FloatArray, without: FloatArray
) -> dict[str, float]:
    """ln P(places | fault) - ln P(places | no fault), when the site may still leak by its other faults."""
    shared = _shared(sites)
    found: dict[str, float] = {}
    for fault, count in shared.items():
        there = [s for s, site in enumerate(sites) if fault in site.faults]
        present = absent = 0.0
        for s in there:
            others = 1.0
            for other in sites[s].faults:
                if other != fault:
                    others *= 1.0 - prior.get(other, 0.0) / shared[other]
            present += float(np.exp(with_site[s])) / count
            absent += float((1.0 - others) * np.exp(with_site[s]) + others * np.exp(without[s])) / count
        found[fault] = float(np.log(max(present, 1e-300) / max(absent, 1e-300)))
    return found


def _together(
    members: FloatArray, weights: FloatArray, sites: Sequence[LeakSite]
) -> tuple[tuple[tuple[str, ...], float], ...]:
    leading = np.argsort(-weights)[:5]
    return tuple(
        (tuple(sites[int(s)].id for s in np.flatnonzero(members[z])), float(weights[z]))
        for z in leading
        if weights[z] >= 0.02
    )


def _unexplained(
    members: FloatArray, weights: FloatArray, places: Sequence[Wet], told: Sequence[Sequence[Told]]
) -> float:
    """Probability that the background alone made the place that the sites explain worst."""
    worst = 0.0
    for j, place in enumerate(places):
        if place.kind.startswith("dry"):
            continue
        chances = np.array([row[j].chance for row in told])
        quiet = np.exp(members @ np.log1p(-np.minimum(chances, 0.999)))
        base = place.background
        worst = max(worst, float(weights @ (base * quiet / (1.0 - (1.0 - base) * quiet))))
    return worst


def _more_than(chances: FloatArray, most: int) -> float:
    """Probability that more than so many of independent sites leak, by the count's own distribution."""
    counts = np.zeros(most + 2)
    counts[0] = 1.0
    for chance in chances:
        moved = counts * chance
        counts = counts * (1.0 - chance)
        counts[1:] += moved[:-1]
        counts[-1] += moved[-1]
    return float(counts[-1])


def _under(site: LeakSite, levels: Levels) -> tuple[float, float, float] | None:
    if site.height is None:
        return None
    at = site.height.value
    return levels.running.height - at, levels.parked.height - at, levels.overnight.height - at
