"""Several logs pasted into one file: as long as their columns are the same they are read as one drive."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from bellhousing.errors import InputFileError
from bellhousing.road.logs.columns import Column, guess_columns
from bellhousing.road.logs.layout import Layout, heads_of, split_lines

FIGURES = b"+-.,0123456789"


def refuse_other_columns(path: Path, layout: Layout, columns: Sequence[Column]) -> None:
    """See that no later head gives the columns another meaning.

    Raises
    ------
    InputFileError : one does; it says from which line on.
    """
    used = {column.index: layout.names[column.index] for column in columns}
    if not any(used.values()):
        return
    with path.open("rb") as stream:
        for number, line in enumerate(stream, 1):
            if number <= layout.first_line or line[:1] in FIGURES or len(line) > 20_000:
                continue
            names = _head(line, layout)
            if names is None or all(names[index : index + 1] == (name,) for index, name in used.items()):
                continue
            raise InputFileError(
                f"from line {number} on the columns are others: {', '.join(name for name in names if name)}; "
                "several logs were pasted into this file",
                where=str(path),
                remedy="cut it there, and read each by itself",
            )


def _head(line: bytes, layout: Layout) -> tuple[str, ...] | None:
    """The names in a line, if it heads columns among which there are a speed and another one."""
    text = line.replace(b"\x00", b"").decode("cp1252" if layout.encoding == "cp1252" else "utf-8", "replace")
    names = heads_of(split_lines([text.rstrip("\r\n")], layout.delimiter)[0], len(layout.names))
    if names is None or names == layout.units:
        return None
    found = guess_columns(replace(layout, names=names, units=("",) * len(names)))
    named = {column.meaning for column in found if names[column.index]}
    return names if len(named) > 1 and named & {"speed", "engine-speed", "output-speed"} else None
