"""The limit line: a reading's window as a thick stroke, the value as a tick, its uncertainty as a whisker."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

WIDTH = 280.0
HEIGHT = 44.0
AXIS = 15.0
MARGIN = 8.0
INK, ACCENT, RULE, GROUND = "#1f1c18", "#99421a", "#b9b0a1", "#faf7f0"
# Two figures closer than this would run into each other [px].
APART = 48.0


@dataclass(frozen=True)
class LimitLine:
    """A reading against its window, all figures in one unit; an end that is infinite is open.

    `half_width` holds 95 of 100 readings of the same thing; `low_text` and `high_text` are the ends as shown.
    """

    value: float
    half_width: float
    low: float
    high: float
    low_text: str
    high_text: str
    text: str

    @property
    def inside(self) -> bool:
        """Whether the value lies in the window."""
        return self.low <= self.value <= self.high


def limit_line_svg(line: LimitLine) -> str:
    """The limit line as a small inline SVG with a text alternative.

    Classes carry the colours, so that a page may set its own; the attributes serve where there is no page.
    """
    left, right = _span(line)
    scale = (WIDTH - 2.0 * MARGIN) / (right - left)

    def at(value: float) -> float:
        return MARGIN + (min(max(value, left), right) - left) * scale

    low, high, tick = at(line.low), at(line.high), at(line.value)
    colour, name = (INK, "value-inside") if line.inside else (ACCENT, "value-outside")
    whisker = (at(line.value - line.half_width), at(line.value + line.half_width))
    parts = [
        f'<svg class="limit-line" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img" '
        f'aria-label="{escape(line.text, quote=True)}" xmlns="http://www.w3.org/2000/svg">',
        f'<line class="rule" x1="{MARGIN}" x2="{WIDTH - MARGIN}" y1="{AXIS}" y2="{AXIS}" stroke="{RULE}"/>',
        f'<rect class="window" x="{low:.1f}" y="{AXIS - 4.5}" width="{max(high - low, 2.0):.1f}" height="9" '
        f'fill="{INK}"/>',
    ]
    ends = f'y1="{AXIS}" y2="{AXIS}"', f'y1="2" y2="{2.0 * AXIS - 2.0}"'
    for style, extra in (("halo", 3.0), (name, 0.0)):
        stroke = GROUND if style == "halo" else colour
        parts += [
            f'<g class="{style}" stroke="{stroke}" fill="none">',
            f'<line x1="{whisker[0]:.1f}" x2="{whisker[1]:.1f}" {ends[0]} stroke-width="{2 + extra}"/>',
            f'<line x1="{tick:.1f}" x2="{tick:.1f}" {ends[1]} stroke-width="{3.5 + extra}"/></g>',
        ]
    parts += [_label(x, text) for x, text in _labels(line, low, high)]
    return "".join([*parts, "</svg>"])


def _span(line: LimitLine) -> tuple[float, float]:
    ends = [line.value - line.half_width, line.value + line.half_width]
    ends += [end for end in (line.low, line.high) if math.isfinite(end)]
    left, right = min(ends), max(ends)
    room = 0.35 * (right - left) or 0.5 * abs(left) or 1.0
    # A reading that cannot be negative is not drawn as if it could.
    start = max(0.0, left - room) if left >= 0.0 else left - room
    return start, right + room


def _labels(line: LimitLine, low: float, high: float) -> list[tuple[float, str]]:
    both = math.isfinite(line.low) and math.isfinite(line.high)
    if both and high - low < APART:
        return [((low + high) / 2.0, f"{line.low_text}–{line.high_text}")]
    found = [(low, line.low_text)] if math.isfinite(line.low) else []
    return found + ([(high, line.high_text)] if math.isfinite(line.high) else [])


def _label(x: float, text: str) -> str:
    held = min(max(x, 26.0), WIDTH - 26.0)
    place = f'x="{held:.1f}" y="41" text-anchor="middle" font-size="15"'
    return f'<text class="end" {place} fill="{INK}">{escape(text)}</text>'
