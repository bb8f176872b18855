"""Whether a text can be written down: what a file or a command line carries may be half of a letter."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any


def can_be_written(content: Any) -> bool:
    """Whether every text in what was read, or a text alone, can be written as UTF-8."""
    return all(_writable(text) for text in _texts(content))


def _texts(content: Any) -> Iterable[str]:
    if isinstance(content, str):
        yield content
    elif isinstance(content, Mapping):
        for name, value in content.items():
            yield from _texts(name)
            yield from _texts(value)
    elif isinstance(content, list | tuple):
        for value in content:
            yield from _texts(value)


def _writable(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True
