"""Where a box can leak: each place with its position, its fluid, and when it drips."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StringConstraints

from bellhousing.boxes.figures import Figure, Spec
from bellhousing.boxes.given import Origin
from bellhousing.boxes.sections import Section
from bellhousing.boxes.tree import Path

Drip = Literal["parked", "pressure", "rotating", "hot"]
Circuit = Literal["sump", "lube", "line", "converter", "other"]
Turns = Literal["engine", "output"]
Airflow = Literal["open", "sheltered"]
SiteFluid = Literal["gearbox", "engine", "hydraulic"]

_Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
_Name = Annotated[str, StringConstraints(min_length=1, max_length=120)]
_Known = Figure | None


def _length(says: str, low: float, high: float, scatter: str = "10 mm") -> Spec:
    return Spec("mm", "length", low, high, scatter, says)


_Along = Annotated[_Known, _length("from the front face of the case, rearwards positive", -1500, 3000)]
_Across = Annotated[_Known, _length("from the centre line, positive on the right looking forward", -800, 800)]
_Height = Annotated[_Known, _length("above the pan rail, negative below it", -400, 800)]


class LandmarkEntry(Section):
    """A place one measures from."""

    id: _Slug
    name: _Name
    words: list[_Name] | None = Field(default=None, max_length=20)
    along: _Along = None
    across: _Across = None
    height: _Height = None


class LeakSiteEntry(Section):
    """A place where fluid can come out."""

    id: _Slug
    name: _Name
    words: list[_Name] | None = Field(default=None, max_length=20)
    faults: list[_Slug] = Field(min_length=1, max_length=12)
    along: _Along = None
    across: _Across = None
    height: _Height = None
    length: Annotated[_Known, _length("how far a joint runs rearwards from `along`", 0, 2000)] = None
    drips: list[Drip] = Field(min_length=1, max_length=4)
    circuit: Circuit
    turns: Turns | None = None
    airflow: Airflow = "open"
    outlet: _Slug | None = None
    fluid: SiteFluid = "gearbox"
    source: Annotated[str, StringConstraints(max_length=400)] | None = None


def _many(raw: Any) -> Any:
    return None if isinstance(raw, str) and raw.strip().lower() == "unknown" else raw


Sites = Annotated[list[LeakSiteEntry] | None, BeforeValidator(_many), Field(max_length=120)]
Landmarks = Annotated[list[LandmarkEntry] | None, BeforeValidator(_many), Field(max_length=60)]


@dataclass(frozen=True)
class Coordinate:
    """One coordinate of a place and its standard deviation between units [m]."""

    value: float
    scatter: float


@dataclass(frozen=True)
class Landmark:
    """A place one measures from; an unknown coordinate is None.

    Parameters
    ----------
    id, name, words : slug, name to show, what else people call it
    along : from the front face of the case, rearwards [m]
    across : from the centre line, to the right looking forward [m]
    height : above the pan rail [m]
    """

    id: str
    name: str
    words: tuple[str, ...]
    along: Coordinate | None
    across: Coordinate | None
    height: Coordinate | None


@dataclass(frozen=True)
class LeakSite:
    """A place where fluid can come out; coordinates as those of a `Landmark`.

    Parameters
    ----------
    faults : catalogue slugs of what can be wrong there
    length : how far a joint runs rearwards from `along` [m]
    drips : what makes it drip: standing fluid, pressure, a turning shaft, heat
    circuit : where its fluid comes from
    turns : which shaft, where turning makes it drip
    airflow : whether moving air reaches the fluid it loses
    outlet : landmark at which the fluid comes to light, None where that is the site itself
    fluid : whose fluid it is
    """

    id: str
    name: str
    words: tuple[str, ...]
    faults: tuple[str, ...]
    along: Coordinate | None
    across: Coordinate | None
    height: Coordinate | None
    length: float
    drips: frozenset[str]
    circuit: Circuit
    turns: Turns | None
    airflow: Airflow
    outlet: str | None
    fluid: SiteFluid
    source: str
    origin: Origin


def _coordinate(figure: Figure | None) -> Coordinate | None:
    known = figure is not None and figure.value is not None
    return Coordinate(figure.value, figure.scatter) if known and figure and figure.value is not None else None


def leak_sites_of(entries: Sequence[LeakSiteEntry] | None, origin: Origin) -> tuple[LeakSite, ...]:
    """Return the leak sites of a checked file in SI."""
    return tuple(
        LeakSite(
            id=entry.id,
            name=entry.name,
            words=tuple(entry.words or ()),
            faults=tuple(entry.faults),
            along=_coordinate(entry.along),
            across=_coordinate(entry.across),
            height=_coordinate(entry.height),
            length=0.0 if entry.length is None or entry.length.value is None else entry.length.value,
            drips=frozenset(entry.drips),
            circuit=entry.circuit,
            turns=entry.turns,
            airflow=entry.airflow,
            outlet=entry.outlet,
            fluid=entry.fluid,
            source=(entry.source or "").strip(),
            origin=origin,
        )
        for entry in entries or ()
    )


def landmarks_of(entries: Sequence[LandmarkEntry] | None) -> tuple[Landmark, ...]:
    """Return the landmarks of a checked file in SI."""
    return tuple(
        Landmark(
            entry.id,
            entry.name,
            tuple(entry.words or ()),
            _coordinate(entry.along),
            _coordinate(entry.across),
            _coordinate(entry.height),
        )
        for entry in entries or ()
    )


def with_family(own: Sequence[LeakSite], family: Sequence[LeakSite]) -> tuple[LeakSite, ...]:
    """Return a box's own sites, a position unknown being the family's; the family's if it has none."""
    if not own:
        return tuple(family)
    typical = {site.id: site for site in family}
    return tuple(_filled(site, typical.get(site.id)) for site in own)


def _filled(site: LeakSite, typical: LeakSite | None) -> LeakSite:
    if typical is None:
        return site
    return replace(
        site,
        along=site.along or typical.along,
        across=site.across or typical.across,
        height=site.height or typical.height,
    )


def leak_problems(
    sites: Sequence[LeakSiteEntry] | None, landmarks: Sequence[LandmarkEntry] | None
) -> Iterator[tuple[Path, str]]:
    """Yield what contradicts itself among leak sites and landmarks, with its path."""
    known: dict[str, str] = {}
    named = (
        ("landmarks", [entry.id for entry in landmarks or ()]),
        ("leak_sites", [s.id for s in sites or ()]),
    )
    for section, ids in named:
        for place, name in enumerate(ids):
            if name in known:
                yield (section, place, "id"), f"`{name}` is already the name of a place"
            known[name] = section
    for place, site in enumerate(sites or ()):
        if site.outlet is not None and known.get(site.outlet) != "landmarks":
            marks = ", ".join(name for name, section in known.items() if section == "landmarks") or "none"
            yield ("leak_sites", place, "outlet"), f"no landmark is called `{site.outlet}`: known are {marks}"
        if ("rotating" in site.drips) != (site.turns is not None):
            yield (
                ("leak_sites", place),
                "`turns` (engine or output) goes with `drips: [rotating]`, one not without the other",
            )
