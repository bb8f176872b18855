"""Figures as people write them: decimals, fractions, mixed numbers, decimal commas.

Rules, each with its reason:

- A whole number, then a space or one dash without spaces, then a proper fraction is a mixed number:
  `1-1/2 in` and `1 1/2 in` are 1.5 in. Everything else with a dash between two figures is a range:
  `1-2 in`, `1/4-1/2 in`, `1 - 1 1/2 in`.
- A comma before exactly three digits, after one to three digits that do not begin with 0, parts thousands
  (`1,250 rpm`); any other comma is a decimal comma (`0,530 mm`, `4,5 bar`).
- A stroke makes a fraction only over a usual denominator, so that `60/75 psi` is never read as 0.8 psi.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from bellhousing.errors import QuantityError
from bellhousing.quantities.units import shortened

LONGEST = 200  # characters; nobody writes a reading longer than this

DENOMINATORS = frozenset({2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 16, 20, 32, 64, 100, 128, 1000})

_DASHES = "‐‑‒–—―−﹣－"
_PRIMES = {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "⁄": "/", "∕": "/", "…": "..."}
_KEPT = frozenset("²³µμ°Ω±√·⋅")

_DECIMAL = r"(?:[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?(?![\d,])|\d+[.,]\d+|\d+|[.,]\d+)(?:[eE][+-]?\d+)?"
_MIXED = r"\d+(?: +|-)\d+ ?/ ?\d+"
_FRACTION = r"\d+ ?/ ?\d+"
FIGURE = rf"(?:{_MIXED}|{_FRACTION}|{_DECIMAL})"
# An unsigned figure that no further digit, comma or slash may follow.
UNSIGNED = re.compile(rf"{FIGURE}(?![\d/]|[.,]\d)", re.ASCII)

_WHOLE_AND_FRACTION = re.compile(r"(?:(?P<whole>\d+)(?: +|-))?(?P<over>\d+) ?/ ?(?P<under>\d+)", re.ASCII)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?(?:[eE][+-]?\d+)?", re.ASCII)


@dataclass(frozen=True)
class PlainText:
    """Text with its dashes, primes, fractions and spaces made plain; `origin[i]` is where character i came
    from in the text as typed, and `origin[len(text)]` is that text's length."""

    text: str
    origin: tuple[int, ...]


def plain(text: str) -> PlainText:
    """Text with one kind of dash, prime, fraction and space: `2½″` becomes `2 1/2"`."""
    made: list[str] = []
    origin: list[int] = []
    for position, character in enumerate(text):
        piece = _plain_character(character, made[-1] if made else "")
        made.extend(piece)
        origin.extend([position] * len(piece))
    joined = "".join(made)
    origin.append(len(text))
    return PlainText(joined.replace("''", '" ').replace("+/-", "±  "), tuple(origin))


def _plain_character(character: str, before: str) -> str:
    if character.isascii():
        return " " if character in "\t\n\r\f\v" else character
    if character in _DASHES:
        return "-"
    if character in _KEPT:
        return character
    if character in _PRIMES:
        return _PRIMES[character]
    if character == "℉":
        return "°F"
    if character == "℃":
        return "°C"
    unfolded = unicodedata.normalize("NFKC", character)
    if "⁄" in unfolded:
        fraction = unfolded.replace("⁄", "/")
        return f" {fraction}" if before.isdigit() else fraction
    return " " if unfolded.isspace() else unfolded


def value_of(figure: str) -> float:
    """The number a figure stands for.

    Raises
    ------
    QuantityError : not a figure, or one too large to be held
    """
    text = figure.strip()
    sign = -1.0 if text.startswith("-") else 1.0
    text = text.lstrip("+-").strip()
    parts = _WHOLE_AND_FRACTION.fullmatch(text)
    if parts is not None:
        return sign * _fraction(parts, text)
    if _THOUSANDS.fullmatch(text):
        text = text.replace(",", "")
    if UNSIGNED.fullmatch(text) is None and UNSIGNED.fullmatch(figure) is None:
        raise QuantityError(f"{shortened(figure)!r} is not a number", remedy="write a figure such as 0.021")
    value = float(text.replace(",", "."))
    if value == float("inf"):
        raise QuantityError(
            f"{shortened(figure)!r} is too large a number", remedy="look for a slip of the key"
        )
    return sign * value


def _fraction(parts: re.Match[str], text: str) -> float:
    over, under = int(parts["over"]), int(parts["under"])
    if under == 0:
        raise QuantityError(f"{shortened(text)!r} divides by nothing", remedy="write a fraction such as 1/8")
    if under not in DENOMINATORS:
        raise QuantityError(
            f"{shortened(text)!r} is no usual fraction",
            remedy="write a decimal, or a dash for a range such as 60-75",
        )
    whole = parts["whole"]
    if whole is not None and over >= under:
        raise QuantityError(
            f"{shortened(text)!r} is not a mixed number: its fraction is one or more",
            remedy="write a proper fraction, or spaces around the dash for a range",
        )
    return (int(whole) if whole is not None else 0) + over / under
