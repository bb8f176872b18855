"""Reading a data file of the room: plain YAML of one list or mapping, shipped or the user's own copy."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from bellhousing.errors import InputFileError
from bellhousing.quantities.letters import can_be_written

LARGEST = 256 * 1024


def read_data(name: str, path: Path | None, key: str) -> Any:
    """What stands under `key` in a shipped file, or in the user's own copy of it.

    Raises
    ------
    InputFileError : no such file, no YAML, or no such key
    """
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    where = name if path is None else str(path)
    try:
        source = files("bellhousing.fits").joinpath("data", name) if path is None else path
        text = source.read_text(encoding="utf-8")
        content = YAML(typ="safe", pure=True).load(text[:LARGEST])
    except (OSError, UnicodeDecodeError, YAMLError, ValueError) as error:
        first = str(error).strip().splitlines()[:1]
        raise InputFileError(f"cannot be read: {' '.join(first)}", where=where) from None
    if not can_be_written(content):
        raise InputFileError("holds a sign that is no letter", where=where)
    if not isinstance(content, Mapping) or key not in content:
        raise InputFileError(
            f"there is no `{key}` in the file", where=where, remedy="start from the shipped file"
        )
    return content[key]
