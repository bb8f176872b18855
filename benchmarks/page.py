"""The page of the documentation that tells what the benchmarks found, with its pictures."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from benchmarks.measured import Curve, Found, Line, duration

from bellhousing.reports.chart import ACCENT, INK, SOFT, framed, titled_svg

INTRODUCTION = """# Benchmarks

Written by `python -m benchmarks`; every figure was measured. Each line is paired in one run: both sides in
turn on the same machine, the ratio the median of the pairs, so that whatever else the machine does falls on
both. Unless a line says otherwise the time is that of the processor, which a busy machine disturbs less
than the clock. A time is a figure of one machine on one day; a ratio says more.

Notes on what is measured, and how to run one part alone, are in `benchmarks/README.md`.
"""
GROWTH = """Time is drawn to a logarithmic scale, and so is size where it is never nought. Each size is a
run of its own."""
INFERENCE = """
The libraries for exact inference answer on a net that is built from the prepared model: the commonest
faults of box A, half of them such as act on the model of the car, ten findings of which five are figures
cut into cells, eight plausible cars, every set of up to three physical faults simulated. The net grows
until compiling it and its first answer take a library longer than a minute, or more than 8 GiB. The
findings are the same for all, and only the chances of the faults are asked for; the program does not give
its reasons either. One thread each. Such a net is a cut: the program itself holds all faults, all findings
and figures that are not cut into cells.

The ratio is one of growth: up to some sixteen faults both libraries answer as soon as the program does, and
beyond that their time doubles with every one or two faults. The program is not exact: where three faults of
the model bear on the same findings it goes by their pairs. In about ninety cases tried while this was made
one lay 0.03 off, all others less than 0.002.
"""


@dataclass(frozen=True)
class Part:
    """What one benchmark found, when, and on which machine under which load."""

    name: str
    found: Found
    day: str
    machine: str
    load: str


def kept(part: Part, folder: Path) -> None:
    """Write a part where `read_kept` finds it."""
    folder.mkdir(parents=True, exist_ok=True)
    text = json.dumps(asdict(part), ensure_ascii=False, indent=1)
    (folder / f"{part.name}.json").write_text(text, encoding="utf-8")


def read_kept(path: Path) -> Part:
    """A part as it was kept."""
    told: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    lines = [Line(**one) for one in told["found"]["lines"]]
    curves = [
        Curve(one["name"], one["size"], {n: [(x, y) for x, y in row] for n, row in one["series"].items()})
        for one in told["found"]["curves"]
    ]
    return Part(told["name"], Found(lines, curves), told["day"], told["machine"], told["load"])


def file_of(curve: Curve) -> str:
    """Name of the picture of a curve."""
    return "benchmark-" + re.sub(r"[^a-z]+", "-", curve.name.lower()).strip("-") + ".svg"


def drawn(curve: Curve) -> str:
    """A curve as SVG, both axes logarithmic, each series with a dash and a mark of its own."""
    rows = [
        {"who": name, "size": x, "seconds": y}
        for name, row in curve.series.items()
        for x, y in row
        if y > 0.0
    ]
    log: dict[str, Any] = {"type": "quantitative", "scale": {"type": "log", "nice": False}}
    own = {"field": "who", "type": "nominal", "sort": list(curve.series)}
    straight = any(size <= 0.0 for row in curve.series.values() for size, _ in row)
    x = {"field": "size", **({"type": "quantitative"} if straight else log), "title": curve.size}
    y: dict[str, Any] = {"field": "seconds", **log, "title": "seconds"}
    seconds = [seconds for row in curve.series.values() for _, seconds in row if seconds > 0.0]
    tens = range(math.floor(math.log10(min(seconds))), math.ceil(math.log10(max(seconds))) + 1)
    y["scale"] = {**log["scale"], "domain": [10.0 ** tens[0], 10.0 ** tens[-1]]}
    place: dict[str, Any] = {
        "x": {**x, "axis": {"grid": False}},
        "y": {**y, "axis": {"values": [10.0**ten for ten in tens], "format": "~g"}},
        "color": {**own, "legend": None, "scale": {"range": [INK, ACCENT, SOFT, "#3d6e8f"]}},
    }
    line = {
        "mark": {"type": "line", "strokeWidth": 2, "point": {"size": 60, "filled": True, "opacity": 1}},
        "encoding": {
            **place,
            "strokeDash": {**own, "legend": None},
            "shape": {**own, "legend": None},
        },
    }
    # Each line is named at its end, so that no colour has to tell them.
    ends = [
        {"who": name, "size": row[-1][0], "seconds": row[-1][1]} for name, row in curve.series.items() if row
    ]
    named = {
        "data": {"values": ends},
        "mark": {"type": "text", "align": "left", "dx": 9, "fontSize": 14},
        "encoding": {**place, "text": {"field": "who"}},
    }
    parts = {"width": 540, "height": 260, "data": {"values": rows}, "layer": [line, named]}
    return titled_svg(framed(parts, 14), name="curve", title=curve.name, text=said(curve), kind="benchmark")


def said(curve: Curve) -> str:
    """A curve in words, for who cannot see it."""
    return "; ".join(
        f"{name}: {duration(row[0][1])} at {row[0][0]:,.0f} to {duration(row[-1][1])} at {row[-1][0]:,.0f}"
        for name, row in curve.series.items()
        if row
    )


def written(parts: list[Part], folder: Path) -> None:
    """Write `benchmarks.md` and a picture for each curve."""
    text = [
        INTRODUCTION,
        "| what | beside | goal | result | goal reached | figures |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for part in parts:
        for line in part.found.lines:
            reached = {True: "reached", False: "not reached", None: "–"}[line.reached]
            cells = (line.what, line.beside or "–", line.goal or "–", f"**{line.found}**", reached, line.note)
            text.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    if any(part.name == "inference" for part in parts):
        text.append(INFERENCE)
    else:
        text.append("")
    text += [
        "## Growth",
        "",
        GROWTH,
    ]
    for curve in (curve for part in parts for curve in part.found.curves):
        (folder / file_of(curve)).write_text(drawn(curve) + "\n", encoding="utf-8")
        text += ["", f"### {curve.name}", "", f"![{curve.name}: {said(curve)}]({file_of(curve)})"]
    text += [
        "",
        "## Where and when",
        "",
        "| part | day | machine | load when it began and ended |",
        "| --- | --- | --- | --- |",
    ]
    text += [f"| {part.name} | {part.day} | {part.machine} | {part.load} |" for part in parts]
    (folder / "benchmarks.md").write_text("\n".join(text) + "\n", encoding="utf-8")
