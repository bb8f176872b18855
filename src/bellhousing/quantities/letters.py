"""Whether a text can be written down: what a file or a command line carries may be half of a letter."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def can_be_written(content: Any) -> bool:
    """Whether every text in what was read, or a text alone, can be written as UTF-8."""
    left = [content]
    # What a file names once and repeats by reference is looked at once, however often it is repeated.
    seen: set[int] = set()
    while left:
        one = left.pop()
        if isinstance(one, str):
            if not _writable(one):
                return False
        elif isinstance(one, Mapping | list | tuple) and id(one) not in seen:
            seen.add(id(one))
            left.extend((*one.keys(), *one.values()) if isinstance(one, Mapping) else one)
    return True


def _writable(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True
