"""The `strip` section of a checked box file as the parts tree, in SI."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from bellhousing.boxes.assemblies import BenchWindow
from bellhousing.boxes.figures import Figure
from bellhousing.boxes.parts_tree import (
    Baseline,
    CheckBall,
    Flange,
    Gate,
    GateKind,
    Hole,
    JackHoles,
    Part,
    PartsTree,
    Refit,
    Seal,
    Spring,
)
from bellhousing.boxes.strip_file import (
    FlangeEntry,
    GateEntry,
    Gates,
    HoleEntry,
    PartEntry,
    RefitEntry,
    StripSection,
)
from bellhousing.fits.measures import shipped_measures


def parts_tree_of(
    section: StripSection | None, measured: Mapping[str, BenchWindow], general: str
) -> PartsTree | None:
    """Return the parts tree of a checked file; a gate without a window has that of what it measures."""
    if section is None or not section.parts:
        return None
    flanges = {slug: _flange(slug, entry) for slug, entry in (section.flanges or {}).items()}
    parts = {slug: _part(slug, entry, flanges, measured) for slug, entry in section.parts.items()}
    return PartsTree(
        parts=MappingProxyType(parts),
        flanges=MappingProxyType(flanges),
        identification=tuple(section.identification or ()),
        final_gates=_gates(section.final_gates, measured),
        source=(section.source or general).strip(),
    )


def behind(section: StripSection, part: PartEntry) -> tuple[tuple[str, ...], ...]:
    """Return what must be off before the hidden bolts of a part can be reached."""
    flange = (section.flanges or {}).get(part.flange or "")
    return () if flange is None else _covers(tuple(hole.behind for hole in flange.holes))


def _covers(names: tuple[str | None, ...]) -> tuple[tuple[str, ...], ...]:
    return tuple((name,) for name in dict.fromkeys(names) if name is not None)


def _flange(slug: str, entry: FlangeEntry) -> Flange:
    jack = entry.jack_holes
    return Flange(
        slug=slug,
        name=entry.name or _named(slug),
        thread=entry.thread,
        holes=tuple(_hole(number, hole, entry) for number, hole in enumerate(entry.holes, 1)),
        washers_one_use=entry.washers_one_use,
        torque=_value(entry.torque),
        torque_unit="lb ft" if entry.torque is None else entry.torque.unit,
        torque_source="" if entry.torque is None else entry.torque.source,
        sequence=tuple(entry.sequence or ()),
        steps=entry.steps,
        jack_holes=None if jack is None else JackHoles(jack.count, jack.thread, jack.note or ""),
        outline=tuple(entry.outline or ()),
        seen_from=entry.seen_from,
        fastener=entry.fastener,
        note=entry.note or "",
    )


def _hole(number: int, entry: HoleEntry, flange: FlangeEntry) -> Hole:
    return Hole(
        number=number,
        at=entry.at,
        length=_value(entry.length if entry.length is not None else flange.length),
        shared_with=entry.shared_with,
        shared_part=entry.shared_part,
        hidden=entry.hidden,
        behind=entry.behind,
        washer=_unless_none(entry.washer or flange.washer),
        sealant=_unless_none(entry.sealant or flange.sealant),
        note=entry.note or "",
    )


def _unless_none(text: str | None) -> str | None:
    return None if text is None or text.strip().lower() == "none" else text


def _part(
    slug: str, entry: PartEntry, flanges: Mapping[str, Flange], measured: Mapping[str, BenchWindow]
) -> Part:
    flange = None if entry.flange is None else flanges[entry.flange]
    covers = () if flange is None else _covers(tuple(hole.behind for hole in flange.holes))
    groups = (*(tuple(dict.fromkeys(group)) for group in entry.after or ()), *covers)
    return Part(
        slug=slug,
        name=entry.name or _named(slug),
        words=tuple(entry.words or ()),
        inside=entry.inside,
        after=tuple(dict.fromkeys(groups)),
        flange=entry.flange,
        seals=tuple(
            Seal(name, seal.name or _named(name, small=True), seal.kind, seal.one_use, seal.count)
            for name, seal in (entry.seals or {}).items()
        ),
        check_balls=tuple(
            CheckBall(ball.pocket, ball.name, _value(ball.size), ball.material)
            for ball in entry.check_balls or ()
        ),
        springs=tuple(
            Spring(spring.name, spring.goes_to, spring.colour, _value(spring.length))
            for spring in entry.springs or ()
        ),
        minutes=_minutes(entry.minutes),
        tools=tuple(entry.tools or ()),
        weight=_value(entry.weight),
        marks=tuple(entry.marks or ()),
        cautions=tuple(entry.cautions or ()),
        measure_before=tuple(Baseline(row.measure, row.why) for row in entry.measure_before or ()),
        may_be_found=tuple(entry.may_be_found or ()),
        faults=tuple(entry.faults or ()),
        where=entry.where,
        refit=_refit(entry.refit, measured),
        hardness=entry.hardness,
        order_name=entry.order_name or "",
        note=entry.note or "",
    )


def _refit(entry: RefitEntry, measured: Mapping[str, BenchWindow]) -> Refit:
    return Refit(
        lubricant=entry.lubricant,
        note=tuple(entry.note or ()),
        lip=entry.lip,
        soaked=_value(entry.soaked),
        minutes=_minutes(entry.minutes),
        gates=_gates(entry.gates, measured),
    )


def _gates(entries: Gates, measured: Mapping[str, BenchWindow]) -> tuple[Gate, ...]:
    return tuple(_gate(slug, entry, measured) for slug, entry in (entries or {}).items())


def gate_kind(entry: GateEntry) -> GateKind:
    """Return whether a gate wants a number: as written, else where it has anything to compare one with."""
    if entry.kind is not None:
        return entry.kind
    measure = shipped_measures().get(entry.measure or "")
    if measure is not None:
        return "check" if measure.look else "number"
    numbered = entry.measure is not None or entry.unit is not None or entry.window is not None
    return "number" if numbered else "check"


def _gate(slug: str, entry: GateEntry, measured: Mapping[str, BenchWindow]) -> Gate:
    known = measured.get(entry.measure or "")
    measure = known.measure if known is not None else shipped_measures().get(entry.measure or "")
    window = entry.window if entry.window is not None or known is None else known.window
    unit = entry.unit or (window.unit if window is not None else measure.unit if measure is not None else "")
    kind = gate_kind(entry)
    return Gate(
        slug=slug,
        name=entry.name or _named(slug),
        kind=kind,
        measure=entry.measure,
        unit=unit if kind == "number" else "",
        window=window,
        method=entry.method or ("" if measure is None else measure.how),
        hold=entry.hold,
        why=entry.why or "",
        cautions=tuple(entry.cautions or ()),
    )


def _named(slug: str, small: bool = False) -> str:
    words = slug.replace("-", " ")
    return words if small else words[:1].upper() + words[1:]


def _value(figure: Figure | None) -> float | None:
    return None if figure is None else figure.value


def _minutes(figure: Figure | None) -> float:
    return 0.0 if figure is None or figure.value is None else figure.value / 60.0
