"""The catalogue and the vocabulary that come with the program, their files parsed once and kept parsed."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from bellhousing.diagnosis.catalogue import Catalogue, load_catalogue
from bellhousing.tasks.preparation import cache_folder
from bellhousing.words.vocabulary import Vocabulary, load_vocabulary

MOST_FILES = 100
PARSED = ".parsed.json"


@cache
def shipped_catalogue() -> Catalogue:
    """The shipped catalogue; raises as `load_catalogue`."""
    return load_catalogue(parsed_once)


@cache
def shipped_vocabulary() -> Vocabulary:
    """The shipped vocabulary; raises as `load_vocabulary`."""
    return load_vocabulary(parsed_once)


def parsed_once(text: str, folder: Path | None = None) -> Any:
    """What a YAML text holds: from the cache folder where it was parsed before, else parsed and kept there.

    A kept file that cannot be read is written anew; a folder that cannot be written costs time only.
    """
    kept = (cache_folder() if folder is None else folder) / f"{_key(text)}{PARSED}"
    try:
        return json.loads(kept.read_bytes())
    except (OSError, ValueError, RecursionError):
        pass
    content = _parsed(text)
    try:
        as_json = json.dumps(content, ensure_ascii=False, allow_nan=False)
        same = json.loads(as_json) == content
    except (TypeError, ValueError):
        return content
    if same:  # JSON has only text for keys: what would come back otherwise is not kept
        _keep(kept, as_json)
    return content


def _parsed(text: str) -> Any:
    from ruamel.yaml import YAML

    return YAML(typ="safe", pure=True).load(text)


def _key(text: str) -> str:
    made_by = "\n".join(f"{name} {version(name)}" for name in ("bellhousing", "ruamel.yaml"))
    return hashlib.sha256(f"{made_by}\n{text}".encode()).hexdigest()


def _keep(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, draft = tempfile.mkstemp(dir=path.parent, prefix="writing-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as stream:
                stream.write(text)
            Path(draft).replace(path)
        except OSError:
            Path(draft).unlink(missing_ok=True)
            raise
        kept = sorted(path.parent.glob(f"*{PARSED}"), key=lambda file: file.stat().st_mtime, reverse=True)
        for old in kept[MOST_FILES:]:
            old.unlink(missing_ok=True)
    except OSError:
        return
