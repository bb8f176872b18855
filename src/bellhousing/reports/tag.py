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
# Widths of letters of a plain sans face over their height, from memory, rounded up.
LETTER, CAPITAL, WIDE = 0.58, 0.74, 0.96
LEADING = 1.15
GAP = 0.3
HEAD = 1.5
LARGEST = 5.4
SMALLEST = 2.4
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
    for said, y, size, bold in _laid_out(tag):
        parts.append(_text(said, y, size, bold=bold))
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
        f'fill="#000">{escape(said)}</text>'
    )


def _laid_out(tag: Tag) -> list[tuple[str, float, float, bool]]:
    """Every line with its place and size, as large as goes on the tag, clear of the code."""
    size = LARGEST
    while True:
        laid = [(said, y, size * HEAD, True) for said, y in _wrapped(tag.head, MARGIN, size * HEAD)]
        for line in tag.lines:
            top = laid[-1][1] + GAP * size
            laid += [(said, y, size, False) for said, y in _wrapped(line, top, size)]
        if laid[-1][1] <= HEIGHT - MARGIN or size <= SMALLEST:
            return [line for line in laid if line[1] <= HEIGHT - 0.5 * MARGIN]
        size -= 0.2


def _wrapped(said: str, top: float, size: float) -> list[tuple[str, float]]:
    """A text in lines from `top` down, each no wider than there is room beside or below the code."""
    lines: list[tuple[str, float]] = []
    words = said.split()
    while words:
        most = _room(top) / size
        taken = words.pop(0)
        while words and _width(f"{taken} {words[0]}") <= most:
            taken += f" {words.pop(0)}"
        if _width(taken) > most:
            # One word too long for its line is cut, and the rest of it goes on below.
            fits = max(1, sum(_width(taken[:end]) <= most for end in range(1, len(taken))))
            words.insert(0, taken[fits:])
            taken = taken[:fits]
        lines.append((taken, top + size))
        top += size * LEADING
    return lines or [("", top + size)]


def _width(text: str) -> float:
    """Width of a text over its height."""
    return sum(WIDE if letter in "MWmw@%" else CAPITAL if letter.isupper() else LETTER for letter in text)


def _room(top: float) -> float:
    clear = MARGIN + CODE
    return WIDTH - 2 * MARGIN if top > clear else WIDTH - CODE - 3 * MARGIN


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
