"""The curve of right work over minutes as a picture, drawn without any plotting library."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from benchmarks.diagnosis.run import GRID, STRATEGIES
from benchmarks.diagnosis.summary import Line

WIDE, HIGH, LEFT, TOP, RIGHT, BOTTOM = 760, 380, 60, 20, 250, 50
DASHES = ("", "7 4", "2 3", "9 3 2 3", "4 4", "1 4", "12 4")
TONES = ("#1b4e6b", "#a3541a", "#4d6b2f", "#7a3b69", "#8a6d1d", "#444444", "#207a72")


def _x(minutes: float) -> float:
    return LEFT + (WIDE - LEFT - RIGHT) * minutes / GRID[-1]


def _y(share: float) -> float:
    return HIGH - BOTTOM - (HIGH - TOP - BOTTOM) * share


def draw(found: Mapping[tuple[str, float], Line], title: str) -> str:
    """Curves of all strategies that have a course in time."""
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" role="img" '
        f'font-family="sans-serif" font-size="12"><title>{escape(title)}</title>'
        f'<rect width="{WIDE}" height="{HIGH}" fill="#ffffff"/>'
    ]
    for tenth in range(0, 11, 2):
        y = _y(tenth / 10)
        parts.append(f'<path d="M{LEFT} {y:.1f}H{WIDE - RIGHT}" stroke="#dddddd"/>')
        parts.append(f'<text x="{LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{tenth * 10} %</text>')
    for minutes in GRID[::3]:
        place = f'x="{_x(minutes):.1f}" y="{HIGH - BOTTOM + 18}"'
        parts.append(f'<text {place} text-anchor="middle">{minutes:.0f}</text>')
    middle = (LEFT + WIDE - RIGHT) / 2
    parts.append(f'<text x="{middle}" y="{HIGH - 10}" text-anchor="middle">test minutes</text>')
    parts.append(f'<text x="{LEFT}" y="{TOP - 6}">right work decided</text>')
    shown = [name for name in STRATEGIES if all((name, m) in found for m in GRID)]
    for number, name in enumerate(sorted(shown, key=lambda name: -found[name, GRID[-1]].share)):
        points = " ".join(f"{_x(m):.1f},{_y(found[name, m].share):.1f}" for m in GRID)
        style = f'stroke="{TONES[number]}" stroke-width="2.2" stroke-dasharray="{DASHES[number]}" fill="none"'
        y = TOP + 24 + 22 * number
        parts.append(f'<polyline points="{points}" {style}/>')
        parts.append(f'<path d="M{WIDE - RIGHT + 14} {y}h28" {style}/>')
        parts.append(f'<text x="{WIDE - RIGHT + 48}" y="{y + 4}">{escape(name)}</text>')
    return "\n".join([*parts, "</svg>", ""])
