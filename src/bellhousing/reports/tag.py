"""The tag of a bag of bolts: large text for dirty hands, and a code that opens the bag's page on a tablet.

A tag is 100 mm by 70 mm; what it says can be read without the code.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH = 100.0
HEIGHT = 70.0
MARGIN = 4.0
CODE = 34.0
# Mean width of a letter of the plain sans face over its height, from memory; lines that are longer shrink.
LETTER = 0.56
HEAD_SIZE = 9.0
LINE_SIZE = 5.0
SMALLEST = 2.6
QUIET = 4
"""Light modules round the code, as its standard asks."""


@dataclass(frozen=True)
class Tag:
    """What stands on a tag: a head in large letters, lines below it, and the address its code opens."""

    head: str
    lines: Sequence[str]
    address: str


def tag_svg(tag: Tag) -> str:
    """Return a tag as an SVG of its own size, black on white, with a text alternative."""
    parts = [
        f'<svg class="bag-tag" xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
        f'aria-label="{escape("; ".join((tag.head, *tag.lines)), quote=True)}">',
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="#fff"/>',
        f'<rect x="1" y="1" width="{WIDTH - 2:g}" height="{HEIGHT - 2:g}" fill="none" stroke="#000" '
        'stroke-width="0.4" stroke-dasharray="2 1.5"/>',
    ]
    beside = WIDTH - CODE - 3 * MARGIN
    size = _fitting(tag.head, HEAD_SIZE, beside)
    y = MARGIN + HEAD_SIZE
    parts.append(_text(tag.head, y, size, bold=True))
    for line in tag.lines:
        y += LINE_SIZE * 1.35
        # Below the code a line has the whole width.
        room = beside if y - LINE_SIZE < MARGIN + CODE else WIDTH - 2 * MARGIN
        parts.append(_text(line, y, _fitting(line, LINE_SIZE, room)))
    parts += [_code(tag.address, WIDTH - MARGIN - CODE, MARGIN), "</svg>"]
    return "\n".join(parts)


def tags_svg(tags: Sequence[Tag]) -> str:
    """Return several tags below each other as one SVG, to be printed on one sheet and cut."""
    height = HEIGHT * max(1, len(tags))
    inner = [
        f'<g transform="translate(0 {place * HEIGHT:g})">{_inside(tag)}</g>' for place, tag in enumerate(tags)
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {height:g}">' + "\n".join(inner) + "</svg>"
    )


def tag_pdf(svg: str) -> bytes:
    """Return a tag, or a sheet of them, as a PDF of the same size."""
    import vl_convert

    return bytes(vl_convert.svg_to_pdf(svg))


def _inside(tag: Tag) -> str:
    first, _, rest = tag_svg(tag).partition("\n")
    assert first.startswith("<svg")
    return rest.removesuffix("</svg>")


def _text(said: str, y: float, size: float, *, bold: bool = False) -> str:
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{MARGIN:g}" y="{y:.2f}" font-family="sans-serif" font-size="{size:.2f}"{weight} '
        f'fill="#000">{escape(_shortened(said, size))}</text>'
    )


def _fitting(said: str, size: float, room: float) -> float:
    return max(SMALLEST, min(size, room / (LETTER * max(1, len(said)))))


def _shortened(said: str, size: float) -> str:
    most = int((WIDTH - 2 * MARGIN) / (LETTER * size))
    return said if size > SMALLEST or len(said) <= most else said[: most - 1] + "…"


def _code(address: str, x: float, y: float) -> str:
    """The code as one path of dark modules, at the level that bears a quarter of it being dirty."""
    import segno

    rows = [list(row) for row in segno.make(address, error="q", boost_error=False, micro=False).matrix]
    module = CODE / (len(rows) + 2 * QUIET)
    runs: list[str] = []
    for down, row in enumerate(rows):
        across = 0
        while across < len(row):
            length = 0
            while across + length < len(row) and row[across + length]:
                length += 1
            if length:
                runs.append(f"M{across} {down}h{length}v1h-{length}z")
            across += max(length, 1)
    place = f"translate({x + QUIET * module:.4f} {y + QUIET * module:.4f}) scale({module:.5f})"
    return f'<path transform="{place}" fill="#000" shape-rendering="crispEdges" d="{"".join(runs)}"/>'
