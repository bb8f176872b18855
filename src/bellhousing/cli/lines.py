"""Lines of text for a terminal: folded to its width, cautions and assumptions after them."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

WIDTH = 96


def folded(line: str) -> str:
    """A line folded to the width, what follows set in by two."""
    margin = " " * (len(line) - len(line.lstrip()) + 2)
    return textwrap.fill(line, WIDTH, subsequent_indent=margin) if len(line) > WIDTH else line


def done(said: str, entry: int | None, warnings: Sequence[str], *more: str) -> str:
    """What a command did, under which number it is kept, and what to mind."""
    number = "" if entry is None else f"  [entry {entry}]"
    lines = (f"{said}{number}", *(f"  Mind: {text}." for text in warnings), *more)
    return "\n".join(folded(line) for line in lines)


def told(lines: Sequence[str], cautions: Sequence[str] = (), assumed: Sequence[str] = ()) -> str:
    """Lines, then cautions, then what was assumed."""
    more = [f"Caution: {text.rstrip('.')}." for text in cautions]
    if assumed:
        more.append(f"Assumed: {'; '.join(assumed)}.")
    return "\n".join(folded(line) for line in (*lines, *more))
