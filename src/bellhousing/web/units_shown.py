"""The units of a reader on every page: what the program says, never what somebody wrote."""

from __future__ import annotations

import re
from html import escape, unescape

from bellhousing.quantities.turn import turned

TAG = re.compile(r"(<!--.*?-->|<[a-zA-Z/!][^<>]*>)", re.DOTALL)
READ_OUT = re.compile(r'(\s(?:aria-label|alt|title|placeholder)=")([^"]*)(")')
AS_WRITTEN = re.compile(
    r"(<(textarea|script|style|code|option|title)\b[^<>]*>.*?</\2>|<(\w+)\b[^<>]*\sdata-written\b[^<>]*>.*?</\3>)",
    re.DOTALL,
)
"""What keeps its units: fields as typed, code, and elements that hold somebody's own words."""


def page_in_units(text: str, units: str) -> str:
    """A page with every figure the program says in inch or metric units.

    Fields, code, what stands between “ and ”, and elements marked `data-written` stay as they were written.
    """
    parts = AS_WRITTEN.split(text)
    # Each match of the pattern leaves its text and its groups' names behind it.
    return "".join(
        part if place % 4 == 1 else _turned(part, units) for place, part in enumerate(parts) if place % 4 < 2
    )


def _turned(text: str, units: str) -> str:
    return "".join(
        _tag(part, units) if part.startswith("<") else _words(part, units) for part in TAG.split(text)
    )


def _words(text: str, units: str) -> str:
    if not any(letter.isdigit() for letter in text):
        return text
    plain = unescape(text)
    told = turned(plain, units)
    return text if told == plain else escape(told, quote=False)


def _tag(text: str, units: str) -> str:
    return READ_OUT.sub(lambda found: found[1] + _attribute(found[2], units) + found[3], text)


def _attribute(text: str, units: str) -> str:
    plain = unescape(text)
    told = turned(plain, units)
    return text if told == plain else escape(told)
