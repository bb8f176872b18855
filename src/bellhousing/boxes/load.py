"""Loading a box file: by name from the library, or from the mechanic's own file."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

from bellhousing.boxes.assemblies import assemblies_of, measurements_of, parts_of
from bellhousing.boxes.box import Box, part_of
from bellhousing.boxes.given import Given, Origin
from bellhousing.boxes.kinds import FAMILIES, kind_of
from bellhousing.boxes.leak_sites import landmarks_of, leak_sites_of, with_family
from bellhousing.boxes.read import Reading, read_file
from bellhousing.boxes.readings import Table, table_of
from bellhousing.boxes.schema import specs
from bellhousing.boxes.strip_tree import parts_tree_of
from bellhousing.boxes.train import parts_not_in, train_data
from bellhousing.errors import BoxFileError

LARGEST = 256 * 1024  # [bytes]
_SHIPPED = (
    "box-a",
    "three-speed-vacuum",
    "box-by-readings",
    "blank",
    "box-b",
    "four-speed-linkage",
    "four-speed-by-readings",
    "blank-four-speed",
)
_ALIASES = {
    "a": "box-a",
    "b": "box-b",
    "three-speed": "three-speed-vacuum",
    "four-speed": "four-speed-linkage",
}


def shipped_boxes() -> tuple[str, ...]:
    """Return the names of the box files that come with the program."""
    return _SHIPPED


def shipped_text(slug: str) -> str:
    """Return a shipped box file as text, comments included.

    Raises
    ------
    BoxFileError : no box of that name is shipped
    """
    name = _shipped(slug)
    if name is None:
        raise _no_such(slug)
    return _shipped_bytes(name).decode("utf-8")


def load_box(name_or_path: str | os.PathLike[str], *, families: bool = True) -> Box:
    """Load a shipped box by name or alias ("box-a", "A"), or a file by its path.

    Parameters
    ----------
    name_or_path : name of a shipped box, or path of a file
    families : whether the file's family stands in for what it leaves unknown

    Raises
    ------
    BoxFileError : no such box or file, or a file with faults, all of them listed with their lines
    """
    text = os.fspath(name_or_path)
    name = _shipped(text) if isinstance(name_or_path, str) else None
    if name is not None:
        return _shipped_box(name, families)
    path = Path(text)
    if isinstance(name_or_path, str) and not (text.strip() and _looks_like_path(text, path)):
        raise _no_such(text)
    return box_from_bytes(_file_bytes(path), where=str(path), families=families)


def is_shipped(name: str) -> bool:
    """Whether a box of that name or alias comes with the program."""
    return _shipped(name) is not None


@cache
def _shipped_box(name: str, families: bool) -> Box:
    """Return a shipped box, whose file never changes while the program runs."""
    return box_from_bytes(_shipped_bytes(name), where=f"{name}.yaml", families=families)


def box_from_bytes(content: bytes, *, where: str = "box file", families: bool = True) -> Box:
    """Read a box file from its bytes; `where` names it in messages.

    Raises
    ------
    BoxFileError : the file has faults, all of them listed with their lines
    """
    if len(content) > LARGEST:
        raise BoxFileError(
            f"a box file is at most {LARGEST // 1024} kB", where=where, remedy="is it the right file?"
        )
    reading = read_file(content, where, FAMILIES)
    family_name = reading.file.family
    if not families or family_name is None or family_name == reading.file.slug:
        return _assemble(reading, None, hashlib.sha256(content).hexdigest())
    family_content = _shipped_bytes(family_name)
    family = read_file(family_content, f"{family_name}.yaml", FAMILIES)
    return _assemble(reading, family, hashlib.sha256(content + family_content).hexdigest())


def _assemble(reading: Reading, family: Reading | None, digest: str) -> Box:
    """Join a file's own figures with its family's."""
    own = reading.file
    is_family = own.slug in FAMILIES
    origin: Origin = "family" if is_family else "box"
    figures = _givens(reading, origin, reading.lines)
    train = None if own.gear_train is None else train_data(own.gear_train)
    train_origin: Origin | None = None if train is None else origin
    if train is None and family is not None and family.file.gear_train is not None:
        train, train_origin = train_data(family.file.gear_train), "family"
    kind = kind_of(own.family, own.slug, figures)
    missing = frozenset(own.lacks or ()) | parts_not_in(train, kind)
    if family is not None:
        for key, given in _givens(family, "family", {}).items():
            if part_of(key) not in missing and key not in figures:
                figures[key] = given
    sites = leak_sites_of(own.leak_sites, origin)
    landmarks = landmarks_of(own.landmarks)
    if family is not None:
        sites = with_family(sites, leak_sites_of(family.file.leak_sites, "family"))
        landmarks = landmarks or landmarks_of(family.file.landmarks)
    in_order = {key: figures[key] for key in specs() if key in figures}
    return Box(
        name=own.name,
        slug=own.slug,
        family=own.family,
        source=(own.source or "").strip(),
        note=(own.note or "").strip(),
        digest=digest,
        figures=MappingProxyType(in_order),
        windows=MappingProxyType(dict(reading.windows)),
        missing_parts=missing,
        gear_train=train,
        gear_train_origin=train_origin,
        is_family=is_family,
        leak_sites=sites,
        landmarks=landmarks,
        table=_table(reading),
        **_bench(reading, family, origin),
    )


def _bench(reading: Reading, family: Reading | None, origin: Origin) -> dict[str, Any]:
    """What the bench needs: clearances, selective parts, windows and the parts tree."""
    own = reading.file
    measured = dict(measurements_of(own.measurements, origin, (own.source or "").strip()))
    built, parts = assemblies_of(own.assemblies, origin), parts_of(own.selective_parts)
    if family is not None:
        general = (family.file.source or "").strip()
        theirs = measurements_of(family.file.measurements, "family", general)
        measured = {**theirs, **measured}
    return {
        "assemblies": built,
        "selective_parts": parts,
        "measurements": MappingProxyType(measured),
        "parts_tree": parts_tree_of(own.strip, measured, (own.source or "").strip()),
    }


def _table(reading: Reading) -> Table | None:
    typed = reading.file.readings
    if typed is None:
        return None
    known = [key for key, figure in reading.figures.items() if figure.value is not None]
    kind = kind_of(reading.file.family, reading.file.slug, known)
    return table_of(typed, lambda place: reading.lines.get(f"readings.rows.{place}"), kind=kind)[0]


def _givens(reading: Reading, origin: Origin, lines: Mapping[str, int]) -> dict[str, Given]:
    found: dict[str, Given] = {}
    general = (reading.file.source or "").strip()
    for key, figure in reading.figures.items():
        if figure.value is not None:
            found[key] = Given(
                value=figure.value,
                scatter=figure.scatter,
                unit=figure.unit,
                text=figure.text,
                source=figure.source or general,
                line=lines.get(key),
                origin=origin,
            )
    return found


def _shipped(text: str) -> str | None:
    name = "-".join(text.strip().lower().replace("_", "-").split())
    name = _ALIASES.get(name, name)
    return name if name in _SHIPPED else None


def _shipped_bytes(name: str) -> bytes:
    return files("bellhousing.boxes").joinpath("library", f"{name}.yaml").read_bytes()


def _looks_like_path(text: str, path: Path) -> bool:
    if "/" in text or "\\" in text or text.lower().endswith((".yaml", ".yml", ".txt", ".json")):
        return True
    try:
        return path.exists()
    except (OSError, ValueError):
        return True


def _no_such(text: str) -> BoxFileError:
    shown = "".join(letter if letter.isprintable() else "?" for letter in text[:60])
    close = get_close_matches(text.lower(), (*_SHIPPED, *_ALIASES), n=1, cutoff=0.5)
    hint = f"did you mean {_ALIASES.get(close[0], close[0])}? " if close else ""
    return BoxFileError(
        f"no box and no file is called '{shown}'",
        remedy=f"{hint}known are {', '.join(_SHIPPED)}; or give a file",
    )


def _file_bytes(path: Path) -> bytes:
    where = str(path) if len(str(path)) <= 200 else str(path)[:199] + "…"
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise BoxFileError("that is a folder, not a box file", where=where)
        if not stat.S_ISREG(status.st_mode):
            raise BoxFileError("that is not a plain file", where=where)
        with path.open("rb") as handle:
            return handle.read(LARGEST + 1)
    except FileNotFoundError:
        near = _near_file(path)
        raise BoxFileError("no such file", where=where, remedy=near) from None
    except (OSError, ValueError) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise BoxFileError("the file cannot be read", where=where, remedy=said) from None


def _near_file(path: Path) -> str | None:
    try:
        names = [entry.name for entry in path.parent.iterdir() if entry.suffix in (".yaml", ".yml")][:500]
    except (OSError, ValueError):
        return None
    close = get_close_matches(path.name, names, n=1, cutoff=0.6)
    return f"did you mean {path.parent / close[0]}?" if close else None
