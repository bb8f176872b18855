"""The picture of the owner's report: the shifts that were driven against those of a sound car."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bellhousing.diagnosis.prepare import Prepared
from bellhousing.errors import FindingError
from bellhousing.quantities.turn import METRIC
from bellhousing.reports.shift_map_chart import shift_map_svg, shift_map_text
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.one_car_sources import Source, rows_heard
from bellhousing.tasks.proving import driven_picture, proof, proof_in_words, proof_picture


@dataclass(frozen=True)
class Drawn:
    """The picture as SVG, in words, what it proves, and what was not driven."""

    svg: str
    title: str
    text: str
    verdict: str = ""
    not_tested: tuple[str, ...] = ()


def drawn_picture(
    prepared: Prepared, before: Sequence[Heard], after: Sequence[Heard], fault: str | None, units: str
) -> Drawn | None:
    """Before and after where both were driven, else what was driven; None where no shift was."""
    unit = "km/h" if units == METRIC else "mph"
    early, late = _source(prepared, before, "before"), _source(prepared, after, "after")
    driven = [any(row.shift for row in source.observed) for source in (early, late)]
    if driven[1]:
        first = early if driven[0] else None
        told, svg = proof(first, late), proof_picture(first, late, unit)
        title = "Shifts before and after the work" if driven[0] else "Shifts after the work"
        return Drawn(svg, title, proof_in_words(first, late, unit), told.verdict, told.not_tested)
    if not driven[0]:
        return None
    title = "The shifts that were driven, against those of a sound car"
    try:
        picture = driven_picture(early, fault)
    except FindingError:
        fault, picture = None, driven_picture(early)
    if fault is not None:
        title += "; dashed, where a car with the likeliest cause would"
    return Drawn(
        shift_map_svg(picture, unit, name="report"),
        title,
        shift_map_text(picture, unit),
    )


def _source(prepared: Prepared, heard: Sequence[Heard], name: str) -> Source:
    moments = [entry.answer.at for entry in heard if entry.answer.at]
    date = max(moments)[:10] if moments else None
    return Source(name, prepared, rows_heard(heard, prepared), (), date)
