"""What the user said of a logger's columns, kept in a small file for each kind of header."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from bellhousing.errors import InputFileError
from bellhousing.road.logs.column_words import MEANINGS
from bellhousing.road.logs.columns import Correction

FOLDER = "logger-columns"


def recall(folder: Path | None, digest: str) -> tuple[Correction, ...]:
    """What was said of logs with this header before; nothing where nothing is kept or it cannot be read."""
    if folder is None:
        return ()
    try:
        kept = json.loads(_path(folder, digest).read_text(encoding="utf-8"))
        return tuple(
            Correction(str(one["meaning"]), str(one["column"]), one.get("unit"))
            for one in kept["columns"]
            if one["meaning"] in MEANINGS
        )
    except (OSError, ValueError, KeyError, TypeError):
        return ()


def remember(folder: Path, digest: str, corrections: Sequence[Correction], names: Sequence[str]) -> Path:
    """Keep what was said, over anything said before of the same meanings; the header stands beside it.

    Raises
    ------
    InputFileError : the folder cannot be written to.
    """
    said = {one.meaning: one for one in (*recall(folder, digest), *corrections)}
    content = {
        "header": list(names),
        "columns": [
            {"meaning": one.meaning, "column": one.column, "unit": one.unit} for one in said.values()
        ],
    }
    path = _path(folder, digest)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(content, ensure_ascii=False, indent=2), encoding="utf-8")
    except OSError as error:
        raise InputFileError(
            f"what was said of the columns cannot be kept: {error.strerror}", where=str(path)
        ) from None
    return path


def _path(folder: Path, digest: str) -> Path:
    return folder / FOLDER / f"{digest[:32]}.json"
