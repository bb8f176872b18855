"""A flange drawn from its outline and holes: where every bolt is, told by shape, each leading to its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from math import cos, pi, sin

SIDE = 340.0
EDGE = 34.0
"""Free border, so that a hole at the very edge is drawn whole."""

HOLE = 20.0
FINGER = 27.0
"""Radius of what a gloved finger taps round a hole."""

CROSS = 9.0
CURVED = 12
"""Corners from which an outline stands for a curve."""

SHAPES = {
    "in": "in, not undone",
    "out": "out",
    "bagged": "in a bag",
    "back": "back in",
    "none": "empty",
}
"""States a hole is drawn in, and how the key says them."""


@dataclass(frozen=True)
class DrawnHole:
    """One hole on the drawing.

    Parameters
    ----------
    number : its number on the flange
    x, y : place from the left and from the top, 0 to 1
    place : in, out, bagged, back or none
    odd : whether something of it is not as drawn and has no answer yet
    text : where its bolt is, in words
    link : address it leads to, empty if to none
    order : its place in the order of tightening, None where there is none
    """

    number: int
    x: float
    y: float
    place: str
    odd: bool = False
    text: str = ""
    link: str = ""
    order: int | None = None


def flange_svg(name: str, outline: Sequence[tuple[float, float]], holes: Sequence[DrawnHole]) -> str:
    """Return a flange as an SVG, its holes links where they lead somewhere.

    With an order of tightening the large figures are that order, and each hole's own number stands below.
    Classes carry the colours; state is told by shape.
    """
    said = "; ".join(f"hole {hole.number}: {hole.text}" for hole in holes)
    linked = any(hole.link for hole in holes)
    role = "group" if linked else "img"
    label = f"{name}, drawn" if linked else f"{name}: {said}"
    width = SIDE + 2 * EDGE
    parts = [
        f'<svg class="flange-drawing" viewBox="0 0 {width:g} {width:g}" role="{role}" '
        f'aria-label="{escape(label, quote=True)}" xmlns="http://www.w3.org/2000/svg">',
        _outline(outline),
        *(_hole(hole) for hole in holes),
        "</svg>",
    ]
    return "".join(parts)


def key_svg(place: str, *, odd: bool = False) -> str:
    """Return the small drawing of one state, for the key beside a flange."""
    inner = _bolt(place, 0.0, 0.0) + (_odd(0.0, 0.0) if odd else "")
    return (
        '<svg class="flange-drawing key-hole" viewBox="-30 -30 60 60" aria-hidden="true" '
        f'xmlns="http://www.w3.org/2000/svg">{inner}</svg>'
    )


def _at(x: float, y: float) -> tuple[float, float]:
    return EDGE + x * SIDE, EDGE + y * SIDE


def _outline(outline: Sequence[tuple[float, float]]) -> str:
    """The outline as it is given; one of many corners stands for a curve and is drawn as one."""
    if len(outline) < 3:
        return ""
    corners = [_at(*corner) for corner in outline]
    if len(corners) < CURVED:
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
        return f'<polygon class="flange-edge" points="{points}"/>'
    middles = [
        ((x + next_x) / 2, (y + next_y) / 2)
        for (x, y), (next_x, next_y) in zip(corners, [*corners[1:], corners[0]], strict=True)
    ]
    start = middles[-1]
    curves = (
        f"Q{x:.1f} {y:.1f} {mid_x:.1f} {mid_y:.1f}"
        for (x, y), (mid_x, mid_y) in zip(corners, middles, strict=True)
    )
    return f'<path class="flange-edge" d="M{start[0]:.1f} {start[1]:.1f}{"".join(curves)}z"/>'


def _hole(hole: DrawnHole) -> str:
    x, y = _at(hole.x, hole.y)
    own = str(hole.number)
    drawn = _bolt(hole.place, x, y)
    if hole.order is None:
        drawn += _figure(own, x, y, f"hole-number on-{hole.place}", 18.0)
    else:
        drawn += _figure(str(hole.order), x, y, f"hole-number on-{hole.place}", 19.0)
        drawn += _figure(own, x, y + HOLE + 15.0, "hole-own", 16.0)
    if hole.odd:
        drawn += _odd(x, y)
    if not hole.link:
        return f"<g>{drawn}</g>"
    label = escape(f"Hole {hole.number}: {hole.text}", quote=True)
    finger = f'<circle class="finger" cx="{x:.1f}" cy="{y:.1f}" r="{FINGER:g}"/>'
    return f'<a href="{escape(hole.link, quote=True)}" aria-label="{label}">{finger}{drawn}</a>'


def _bolt(place: str, x: float, y: float) -> str:
    at = f'cx="{x:.1f}" cy="{y:.1f}"'
    if place == "in":
        return f'<circle class="bolt-in" {at} r="{HOLE:g}"/>'
    if place == "back":
        return f'<circle class="bolt-ring" {at} r="{HOLE + 5:g}"/><circle class="bolt-in" {at} r="{HOLE:g}"/>'
    if place == "bagged":
        return f'<polygon class="bolt-bag" points="{_hexagon(x, y)}"/>'
    drawn = f'<circle class="bolt-out" {at} r="{HOLE:g}"/>'
    if place != "none":
        return drawn
    # Struck through behind its number, so that the number can be read.
    far = HOLE + 3
    return f'<path class="bolt-none" d="M{x - far:.1f} {y - far:.1f}l{2 * far:g} {2 * far:g}"/>{drawn}'


def _hexagon(x: float, y: float) -> str:
    """A bolt's head seen from above: the bolt lies in its bag."""
    corners = ((x + 22 * cos(k * pi / 3), y + 22 * sin(k * pi / 3)) for k in range(6))
    return " ".join(f"{across:.1f},{down:.1f}" for across, down in corners)


def _odd(x: float, y: float) -> str:
    right, top = x + HOLE - 1, y - HOLE + 1
    return (
        f'<circle class="odd" cx="{right:.1f}" cy="{top:.1f}" r="{CROSS:g}"/>'
        f'<path class="odd-mark" d="M{right:.1f} {top - 5:.1f}v6.5M{right:.1f} {top + 4:.1f}v1.6"/>'
    )


def _figure(text: str, x: float, y: float, kind: str, size: float) -> str:
    return (
        f'<text class="{kind}" x="{x:.1f}" y="{y + size * 0.36:.1f}" text-anchor="middle" '
        f'font-size="{size:g}">{escape(text)}</text>'
    )
