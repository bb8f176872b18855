"""The owner's report on paper: the plain data of the report, its picture and its photos, as PDF."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from bellhousing.reports.limit_line import AXIS, HEIGHT, WIDTH, LimitLine, limit_line_svg
from bellhousing.reports.printing import FACE, print_pdf, unprintable

PRICES = "Prices are before tax, parts in them. The range is what is known now; more needs your yes first."
NO_PRICES = "No rate is known, so nothing is priced here."
CHART = "The bands are where sound cars of this kind change gear."
READINGS = ("tests", "measurements")


def owner_pdf(
    report: Mapping[str, Any],
    *,
    chart: str | None,
    chart_title: str,
    photos: Sequence[bytes],
    at: datetime,
    fonts: Path | None = None,
) -> bytes:
    """A report as PDF; `photos` are JPEG in the order of the report's own, `chart` is an SVG.

    Raises
    ------
    InputFileError : a photo that cannot be printed.
    """
    files: dict[str, bytes] = {}
    data = dict(report)
    for part in READINGS:
        data[part] = [_with_line(row, f"{part}-{place}.svg", files) for place, row in enumerate(report[part])]
    data["photos"] = []
    for place, (row, content) in enumerate(zip(report["photos"], photos, strict=True)):
        name = f"photo-{place}.jpg"
        files[name] = content
        data["photos"].append({**row, "file": name, "alt": row["caption"].strip() or f"Photo {place + 1}"})
    data["chart"] = "" if chart is None else "chart.svg"
    if chart is not None:
        files["chart.svg"] = for_print(chart).encode()
    data |= {
        "chart_title": chart_title,
        "picture": report["picture"].strip() or CHART,
        "chart_note": CHART,
        "heading": f"{report['title']}, job {report['job']}",
        "foot": " · ".join([f"Job {report['job']}", *(fact["value"] for fact in report["facts"][:1])]),
        "price_note": _price_note(report),
        "unprinted": unprintable(report, fonts),
    }
    data["foot"] = data["foot"][:90]
    return print_pdf("report.typ", data, at=at, files=files, fonts=fonts)


def for_print(svg: str) -> str:
    """An SVG with the letters of the report, without signs that no SVG may hold."""
    lettered = re.sub(r"font-family=(?:\"[^\"]*\"|'[^']*')", f'font-family="{FACE}"', svg)
    return re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]", "", lettered)


def _price_note(report: Mapping[str, Any]) -> str:
    plan = report["plan"]
    priced = plan is not None and any(stage["price"] for stage in plan["stages"])
    return PRICES if priced else NO_PRICES


def _with_line(row: Mapping[str, Any], name: str, files: dict[str, bytes]) -> dict[str, Any]:
    """A reading with the picture of its limit line, where it has one."""
    line = line_of(row)
    if line is None:
        return {**row, "line": "", "alt": ""}
    # What it says stands beside it as its alternative text.
    files[name] = _without_ends(limit_line_svg(replace(line, text="", low_text="", high_text=""))).encode()
    return {**row, "line": name, "alt": line.text}


def _without_ends(svg: str) -> str:
    """A limit line without the figures of its ends, which stand beside it in print."""
    bare = re.sub(r'<text class="end".*?</text>', "", for_print(svg), flags=re.S)
    return bare.replace(f"{WIDTH:.0f} {HEIGHT:.0f}", f"{WIDTH:.0f} {2.0 * AXIS:.0f}", 1)


def line_of(row: Mapping[str, Any]) -> LimitLine | None:
    """The limit line of a reading of the report, None where it has no window."""
    if row["figure"] is None:
        return None
    return LimitLine(
        value=row["figure"],
        half_width=row["spread"],
        low=-math.inf if row["low"] is None else row["low"],
        high=math.inf if row["high"] is None else row["high"],
        low_text=row["low_text"],
        high_text=row["high_text"],
        text=f"{row['value']}, window {row['window']}, {row['verdict']}",
    )
