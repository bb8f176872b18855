"""Assemblies of a box file: what opens and closes each clearance, selective parts, windows at the bench."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StringConstraints

from bellhousing.boxes.figures import Figure, Spec, problem
from bellhousing.boxes.given import Origin
from bellhousing.boxes.sections import Section
from bellhousing.boxes.train import whole
from bellhousing.boxes.tree import Path
from bellhousing.boxes.windows import read_window
from bellhousing.errors import QuantityError
from bellhousing.fits.measures import Measure, plain_measure, shipped_measures
from bellhousing.fits.parts import Part, Piece, Place, Stack, base_of_measured, usable
from bellhousing.fits.stack import Member
from bellhousing.quantities.measured import Interval
from bellhousing.quantities.units import unit

_Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
_Name = Annotated[str, StringConstraints(min_length=1, max_length=120)]
_Note = Annotated[str, StringConstraints(max_length=400)]
Acts = Literal["opens", "closes"]
_SIGN = {"opens": 1, "closes": -1}

LONGEST = 10.0
"""What no clearance of a gearbox comes to [m]."""


def _length(says: str, low: float, high: float) -> Spec:
    return Spec("in", "length", low, high, "0 in", says)


def _window(raw: Any) -> Any:
    if raw is None or (isinstance(raw, str) and raw.strip().lower() in ("", "unknown")):
        return None
    if not isinstance(raw, str):
        raise problem("a window is text such as 0.006–0.018 in")
    try:
        return read_window(raw)
    except QuantityError as error:
        raise problem(str(error)) from None


def _many(raw: Any) -> Any:
    return [raw] if isinstance(raw, str) else raw


def _money(raw: Any) -> Any:
    if isinstance(raw, str):
        try:
            value = float(raw)
        except ValueError:
            raise problem(f"'{raw[:40]}' is no price: write a plain figure such as 4.50") from None
        if not (math.isfinite(value) and 0.0 <= value <= 1e6):
            raise problem("a price lies between 0 and 1000000")
        return value
    return raw


def _short(raw: Any) -> Any:
    return {"window": raw} if isinstance(raw, str) else raw


WindowText = Annotated[Interval | None, BeforeValidator(_window, json_schema_input_type=str | None)]
_Count = Annotated[int, BeforeValidator(whole), Field(ge=0, le=1000)]
_Fitted = Annotated[
    list[Annotated[Figure | None, _length("size of the part that is in it now", 0.0005, 4)]] | None,
    BeforeValidator(_many),
    Field(max_length=20),
]


class MemberEntry(Section):
    """One thing in a stack: a fixed size (drawn or measured), or a selective part."""

    name: _Name | None = None
    acts: Acts
    size: Annotated[Figure | None, _length("nominal size, with its tolerance as ±", 0, 40)] = None
    measured: Annotated[Figure | None, _length("size as measured, ± what it is known to", 0, 40)] = None
    part: _Slug | None = None
    count: Annotated[int, BeforeValidator(whole), Field(ge=1, le=20)] = 1
    fitted: _Fitted = None


class AssemblyEntry(Section):
    """A clearance and the stack that makes it."""

    name: _Name
    window: WindowText = None
    target: Annotated[Figure | None, _length("clearance wanted", 0, 1)] = None
    measured: Annotated[Figure | None, _length("clearance with the fitted parts in", -1, 1)] = None
    measure: _Slug | None = None
    members: list[MemberEntry] = Field(min_length=1, max_length=60)
    source: _Note | None = None


class PieceEntry(Section):
    """One size of a selective part."""

    size: Annotated[Figure | None, _length("thickness or length", 0.0005, 10)]
    mark: _Name | None = None
    stock: _Count = 0
    on_order: _Count = 0
    to_buy: _Count = 0
    price: Annotated[float, BeforeValidator(_money)] = 0.0
    was: Annotated[Figure | None, _length("size when new, of a used one", 0.0005, 10)] = None


class PartEntry(Section):
    """A kind of selective part."""

    name: _Name
    tolerance: Annotated[Figure | None, _length("what its sizes are known to, ±", 0, 0.1)] = None
    most_wear: Annotated[Figure | None, _length("wear at which it is not fitted again", 0, 0.5)] = None
    sizes: list[PieceEntry] = Field(max_length=400)
    source: _Note | None = None


class MeasurementEntry(Section):
    """The window of something measured at the bench; name and unit for what the trade does not list."""

    window: WindowText = None
    name: _Name | None = None
    unit: _Name | None = None
    how: _Note | None = None
    source: _Note | None = None


Assemblies = Annotated[dict[_Slug, AssemblyEntry] | None, Field(max_length=60)]
Parts = Annotated[dict[_Slug, PartEntry] | None, Field(max_length=60)]
Measurements = Annotated[
    dict[_Slug, Annotated[MeasurementEntry, BeforeValidator(_short)]] | None, Field(max_length=200)
]


@dataclass(frozen=True)
class BenchWindow:
    """What is measured and its window [SI], None where none is known; `origin` says whose it is."""

    measure: Measure
    window: Interval | None
    source: str
    origin: Origin


@dataclass(frozen=True)
class Assembly:
    """A clearance and the stack that makes it, in SI.

    Parameters
    ----------
    id, name : slug, name to show
    window : permitted clearance, None if not known
    target : clearance wanted, None for the middle of the window [m]
    measured, known_to : clearance with the fitted parts in and its standard uncertainty, None if not [m]
    measure : slug of the measurement that gives it
    members : fixed sizes; None where one of them is unknown
    places : selective parts
    """

    id: str
    name: str
    window: Interval | None
    target: float | None
    measured: float | None
    known_to: float
    measure: str
    members: tuple[Member, ...] | None
    places: tuple[Place, ...]
    origin: Origin


def assemblies_of(entries: Mapping[str, AssemblyEntry] | None, origin: Origin) -> tuple[Assembly, ...]:
    """Return the assemblies of a checked file."""
    return tuple(
        Assembly(
            id=name,
            name=entry.name,
            window=entry.window,
            target=_value(entry.target),
            measured=_value(entry.measured),
            known_to=entry.measured.scatter if entry.measured is not None else 0.0,
            measure=entry.measure or name,
            members=_members(entry.members),
            places=tuple(
                Place(member.part, _SIGN[member.acts], member.count, _sizes(member.fitted))
                for member in entry.members
                if member.part is not None
            ),
            origin=origin,
        )
        for name, entry in (entries or {}).items()
    )


def _members(entries: Sequence[MemberEntry]) -> tuple[Member, ...] | None:
    found = []
    for entry in entries:
        if entry.part is not None:
            continue
        figure = entry.size if entry.size is not None else entry.measured
        if figure is None or figure.value is None:
            return None
        name = entry.name or "part"
        measured = entry.size is None
        found.append(Member(name, _SIGN[entry.acts], figure.value, 2.0 * figure.scatter, measured))
    return tuple(found)


def _value(figure: Figure | None) -> float | None:
    return None if figure is None else figure.value


def _sizes(figures: Sequence[Figure | None] | None) -> tuple[float, ...]:
    return tuple(figure.value for figure in figures or () if figure is not None and figure.value is not None)


def parts_of(entries: Mapping[str, PartEntry] | None) -> Mapping[str, Part]:
    """Return the selective parts of a checked file."""
    return MappingProxyType({name: _part(name, entry) for name, entry in (entries or {}).items()})


def _part(name: str, entry: PartEntry) -> Part:
    pieces = tuple(
        Piece(
            size=piece.size.value,
            mark=piece.mark or "",
            stock=piece.stock,
            on_order=piece.on_order,
            to_buy=piece.to_buy,
            price=piece.price,
            was=_value(piece.was),
        )
        for piece in entry.sizes
        if piece.size is not None and piece.size.value is not None
    )
    first = next((piece.size.unit for piece in entry.sizes if piece.size is not None), "in")
    return Part(name, entry.name, pieces, _value(entry.tolerance) or 0.0, _value(entry.most_wear), first)


def measurements_of(
    entries: Mapping[str, MeasurementEntry] | None, origin: Origin, general: str
) -> Mapping[str, BenchWindow]:
    """Return what a checked file gives windows for."""
    known = shipped_measures()
    found = {}
    for slug, entry in (entries or {}).items():
        measure = known.get(slug) or plain_measure(
            slug, entry.name or slug.replace("-", " "), entry.unit or "in", entry.how or ""
        )
        found[slug] = BenchWindow(measure, entry.window, entry.source or general, origin)
    return MappingProxyType(found)


def bench_problems(
    assemblies: Mapping[str, AssemblyEntry] | None,
    parts: Mapping[str, PartEntry] | None,
    measurements: Mapping[str, MeasurementEntry] | None,
    names: tuple[str, str] = ("assemblies", "selective_parts"),
) -> Iterator[tuple[Path, str]]:
    """Yield what of the bench sections contradicts itself, with the path it concerns."""
    known = tuple(parts or {})
    for slug, entry in (assemblies or {}).items():
        yield from _assembly_problems((names[0], slug), entry, known)
    for slug, listed in (parts or {}).items():
        try:
            usable(_part(slug, listed))
        except QuantityError as error:
            yield (names[1], slug), str(error)
    for slug, measured in (measurements or {}).items():
        yield from _measurement_problems(("measurements", slug), slug, measured)


def _assembly_problems(path: Path, entry: AssemblyEntry, known: Sequence[str]) -> Iterator[tuple[Path, str]]:
    window, target = entry.window, _value(entry.target)
    if window is not None:
        if unit(window.unit).dimension != "length":
            yield (*path, "window"), "a clearance is a length: give it in in or mm"
        elif not (math.isfinite(window.low) and math.isfinite(window.high) and window.low < window.high):
            yield (*path, "window"), "a clearance has a lower and an upper end"
        elif target is not None and not window.holds(target):
            yield (*path, "target"), "the clearance wanted lies outside the window"
    for number, member in enumerate(entry.members):
        at = (*path, "members", number)
        given = [name for name in ("size", "measured", "part") if getattr(member, name) is not None]
        if len(given) != 1:
            yield at, "give one of `size`, `measured` or `part`"
        if member.part is None:
            if member.fitted or member.count != 1:
                yield at, "`fitted` and `count` go with a `part`"
            continue
        if member.part not in known:
            near = get_close_matches(member.part, known, n=1, cutoff=0.0)
            hint = f": did you mean `{near[0]}`?" if near else ""
            yield (*at, "part"), f"no part is listed as `{member.part}`{hint}"
        if member.fitted and len(member.fitted) != member.count:
            yield (*at, "fitted"), f"{member.count} of it sit here, but {len(member.fitted)} sizes are given"


def _measurement_problems(path: Path, slug: str, entry: MeasurementEntry) -> Iterator[tuple[Path, str]]:
    known = shipped_measures()
    measure = known.get(slug)
    if measure is None and (entry.name is None or entry.unit is None):
        near = get_close_matches(slug, known, n=1, cutoff=0.6)
        hint = f"did you mean `{near[0]}`? Else " if near else ""
        yield path, f"not one of the usual measurements: {hint}give it a name and a unit"
        return
    if measure is not None and entry.unit is not None:
        yield (
            (*path, "unit"),
            f"it is always given in {measure.unit} or another unit of that kind: leave it out",
        )
        return
    if entry.window is None or (measure is not None and measure.look):
        return
    name = measure.unit if measure is not None else entry.unit or ""
    try:
        wanted = unit(name).dimension
    except QuantityError as error:
        yield (*path, "unit"), str(error)
        return
    if unit(entry.window.unit).dimension != wanted:
        yield (
            (*path, "window"),
            f"the window must be in {name or 'plain figures'} or another unit of that kind",
        )


def stack_from(
    assembly: Assembly,
    *,
    measured: float | None = None,
    known_to: float = 0.0,
    fitted: Mapping[str, Sequence[float]] | None = None,
) -> Stack:
    """The stack of an assembly as the search takes it, by the clearance measured or by its sizes.

    Raises
    ------
    QuantityError : no window, neither a clearance nor all sizes, or the parts that were in it not given
    """
    if assembly.window is None:
        raise QuantityError(f"{assembly.name} has no window", remedy="type the manual's figure")
    places = tuple(
        Place(place.part, place.sign, place.count, tuple((fitted or {}).get(place.part, place.fitted)))
        for place in assembly.places
    )
    gap = measured if measured is not None else assembly.measured
    u = known_to if measured is not None else assembly.known_to
    if gap is not None:
        base = base_of_measured(gap, places)
    elif assembly.members:
        base = math.fsum(member.sign * member.size for member in assembly.members)
        u = math.hypot(*(member.input.standard_uncertainty for member in assembly.members))
    else:
        raise QuantityError(
            f"{assembly.name}: neither the clearance nor all sizes of its stack are known",
            remedy="measure the clearance with the old parts in, and the old parts",
        )
    if not (abs(base) <= LONGEST and u <= LONGEST):
        raise QuantityError(
            f"{assembly.name}: the clearance or how well it is known comes to more than {LONGEST:g} m",
            remedy="look at the figures and their units",
        )
    window = assembly.window
    target = assembly.target if assembly.target is not None else (window.low + window.high) / 2.0
    return Stack(
        assembly.id, assembly.name, base, u, window.low, window.high, target, places, gap, window.unit
    )
