"""Before and after a repair: how surely the car now shifts as a sound one, and the picture of it."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from bellhousing.diagnosis.proof import Verdict, prove, throttle_of
from bellhousing.diagnosis.shift_bands import ShiftBands, shift_bands
from bellhousing.errors import FindingError, InputFileError
from bellhousing.quantities.odds import in_100
from bellhousing.quantities.units import from_si
from bellhousing.reports.proof_chart import proof_svg, proof_text
from bellhousing.reports.shift_map_chart import DrivenShift, MapBand, ShiftMapPicture
from bellhousing.road.one_car.observed import Observed
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.one_car_sources import Source

PROVED, DOUBTFUL = 0.8, 0.2
"""Probability from which it is said to shift as a sound one, and below which not; judgement, no source."""


class ShiftProof(Shape):
    """One shift [mph]: as driven, where 95 of 100 sound cars make it (null: never), how surely it is so."""

    shift: str
    throttle: str
    vacuum_inhg: float
    said: str
    driven: float
    low: float | None
    high: float | None
    as_sound: float


class DriveProof(Shape):
    """All shifts of one drive; `known` is false where nothing simulated shifts like this."""

    name: str
    date: str | None
    shifts: tuple[ShiftProof, ...]
    as_sound: float
    error: float
    known: bool


class ProofAnswer(Shape):
    """Before and after, the verdict in words, what was not tested, and the picture in words."""

    verdict: str
    before: DriveProof | None
    after: DriveProof
    not_tested: tuple[str, ...]
    assumed: str
    picture: str
    picture_file: str | None
    notes: tuple[str, ...]
    box: str


def proof(before: Source | None, after: Source, *, picture: Path | None = None) -> ProofAnswer:
    """Prove a repair by the shifts before and after; both are taken for the box and car of `after`.

    Raises
    ------
    FindingError : no shift was driven after, or the drives are of different boxes.
    InputFileError : a picture that cannot be written.
    """
    if before is not None and before.prepared.box.digest != after.prepared.box.digest:
        raise FindingError(
            f"before is about {before.prepared.box.name}, after about {after.prepared.box.name}",
            remedy="name the same box for both",
        )
    early = () if before is None else _shifts(before)
    late = _shifts(after)
    found = prove(after.prepared, early, late)
    drawn = _picture(after)
    points = _points(early), _points(late)
    if picture is not None:
        try:
            picture.write_text(proof_picture(before, after), encoding="utf-8")
        except OSError as error:
            raise InputFileError(
                f"the picture cannot be written: {error.strerror}", where=str(picture)
            ) from None
    return ProofAnswer(
        verdict=_words(found.after),
        before=None if found.before is None or before is None else _drive(before, found.before),
        after=_drive(after, found.after),
        not_tested=found.not_tested,
        assumed="before the drive was looked at, sound and not sound were taken as equally likely",
        picture=proof_text(drawn, *points),
        picture_file=None if picture is None else str(picture),
        notes=(*(before.notes if before else ()), *after.notes),
        box=after.prepared.box.slug,
    )


def proof_picture(before: Source | None, after: Source, unit: str = "mph") -> str:
    """Before and after with the band of sound cars, as SVG."""
    dates = tuple((one and one.date) or "" for one in (before, after))
    return proof_svg(
        _picture(after),
        _points(() if before is None else _shifts(before)),
        _points(_shifts(after)),
        unit,
        dates=(dates[0] or "first drive", dates[1] or "last drive"),
    )


def proof_in_words(before: Source | None, after: Source, unit: str = "mph") -> str:
    """The same picture in sentences, its speeds in a unit."""
    early = _points(() if before is None else _shifts(before))
    return proof_text(_picture(after), early, _points(_shifts(after)), unit)


def driven_picture(source: Source, fault: str | None = None) -> ShiftMapPicture:
    """What was driven with the band of sound cars, and with one fault beside it where one is named.

    Raises
    ------
    FindingError : no such fault.
    """
    picture = replace(_picture(source), driven=tuple(_points(_shifts(source))))
    if fault is None:
        return picture
    bands = shift_bands(source.prepared, fault)
    name = source.prepared.catalogue.faults[fault].name
    return replace(picture, suspected=_bands(bands), suspected_name=name)


def _shifts(source: Source) -> tuple[Observed, ...]:
    return tuple(row for row in source.observed if row.shift)


def _words(verdict: Verdict) -> str:
    chance = verdict.as_sound
    if not verdict.known:
        return "No car of this specification, sound or with one known fault, shifts like this."
    if chance >= PROVED:
        return f"It shifts as a sound one does: {in_100(chance)}."
    if chance <= DOUBTFUL:
        return f"It does not shift as a sound one does: {in_100(1.0 - chance)}."
    return f"Not decided: {in_100(chance)} that it shifts as a sound one does."


def _drive(source: Source, verdict: Verdict) -> DriveProof:
    return DriveProof(
        name=source.name,
        date=source.date,
        shifts=tuple(
            ShiftProof(
                shift=one.driven.shift,
                throttle=throttle_of(one.driven),
                vacuum_inhg=round(float(from_si(one.driven.vacuum, "inHg")), 1),
                said=one.driven.name,
                driven=round(float(from_si(one.driven.value, "mph")), 1),
                low=_mph(one.low),
                high=_mph(one.high),
                as_sound=min(1.0, max(0.0, one.as_sound)),
            )
            for one in verdict.shifts
        ),
        as_sound=min(1.0, max(0.0, verdict.as_sound)),
        error=verdict.error,
        known=verdict.known,
    )


def _mph(speed: float) -> float | None:
    """Road speed in mph; from 110 mph a shift never comes."""
    shown = float(from_si(speed, "mph"))
    return round(shown, 1) if math.isfinite(shown) and shown < 109.9 else None


def _points(rows: tuple[Observed, ...]) -> list[DrivenShift]:
    return [DrivenShift(row.shift, row.value, row.vacuum, throttle_of(row) or "some") for row in rows]


def _picture(source: Source) -> ShiftMapPicture:
    bands = shift_bands(source.prepared)
    return ShiftMapPicture(tuple(float(v) for v in bands.vacuum), _bands(bands))


def _bands(bands: ShiftBands) -> tuple[MapBand, ...]:
    return tuple(
        MapBand(shift, *(tuple(float(v) if math.isfinite(v) else None for v in curve) for curve in curves))
        for shift, curves in bands.curves.items()
    )
