"""A fits file: stacks and stock as text, solved without any database."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationError

from bellhousing.boxes.assemblies import Assemblies, Assembly, Parts, assemblies_of, bench_problems, parts_of
from bellhousing.boxes.figures import problem
from bellhousing.boxes.read import decoded, refused, said_of, with_line
from bellhousing.boxes.sections import Section
from bellhousing.boxes.tree import read_tree
from bellhousing.errors import BoxFileError, InputFileError
from bellhousing.fits.parts import Part
from bellhousing.fits.verdict import Rule

LARGEST = 256 * 1024  # [bytes]
EXAMPLE = "stacks: clearances with window and members, and stock: parts with their sizes"


def _share(raw: Any) -> Any:
    if not isinstance(raw, str):
        return raw
    try:
        value = float(raw.rstrip(" %")) / (100.0 if raw.rstrip().endswith("%") else 1.0)
    except ValueError:
        raise problem(f"'{raw[:40]}' is no probability: write it as 95 %") from None
    if not 0.5 < value <= 1.0:
        raise problem("a probability to be sure of lies between 50 % and 100 %")
    return value


_Share = Annotated[float | None, BeforeValidator(_share)]


class FitsContent(Section):
    """Everything a fits file holds."""

    stacks: Assemblies
    stock: Parts = None
    rule: Literal["sure", "simple", "guarded"] = "sure"
    confidence: _Share = None
    counts_as_sure: _Share = None
    note: Annotated[str, Field(max_length=2000)] | None = None


@dataclass(frozen=True)
class FitsFile:
    """Stacks, parts and how they are judged; `counts_as_sure` None leaves it to the search."""

    assemblies: tuple[Assembly, ...]
    parts: Mapping[str, Part]
    rule: Rule
    counts_as_sure: float | None


def read_fits_file(path: str | os.PathLike[str]) -> FitsFile:
    """Read a fits file.

    Raises
    ------
    InputFileError : no such file, or one that cannot be read
    BoxFileError : a file with faults, all of them listed with their lines
    """
    where = os.fspath(path)
    try:
        with Path(path).open("rb") as stream:
            content = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise InputFileError(
            "there is no such file", where=where, remedy="give the path of a fits file"
        ) from None
    except IsADirectoryError:
        raise InputFileError("this is a folder, not a fits file", where=where) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputFileError(f"the file cannot be read: {reason}", where=where) from None
    if len(content) > LARGEST:
        raise InputFileError("the file is too large for a fits file", where=where)
    return fits_from_bytes(content, where=where)


def fits_from_bytes(content: bytes, *, where: str = "fits file") -> FitsFile:
    """Read a fits file from its bytes; `where` names it in messages.

    Raises
    ------
    BoxFileError : the file has faults, all of them listed with their lines
    """
    try:
        tree = read_tree(decoded(content))
    except BoxFileError as error:
        place = where if error.where is None else f"{where}, {error.where}"
        what = error.what.replace("a box file", "a fits file").replace("the box file", "the fits file")
        raise BoxFileError(what, where=place, remedy=error.remedy) from None
    if not isinstance(tree.data, dict):
        raise BoxFileError("this is not a fits file", where=where, remedy=EXAMPLE)
    problems = list(tree.problems)
    read: FitsContent | None = None
    try:
        read = FitsContent.model_validate(tree.data)
    except ValidationError as error:
        faults = error.errors(include_url=False, include_input=False)
        problems += [said_of(tree, fault, FitsContent) for fault in faults]
    if read is not None:
        found = bench_problems(read.stacks, read.stock, None, names=("stacks", "stock"))
        problems += [with_line(tree, path, said) for path, said in found]
    if read is not None and not read.stacks:
        problems.append(with_line(tree, ("stacks",), "no stack is given"))
    if problems or read is None:
        raise refused(where, problems, "fits file")
    rule = Rule(read.rule) if read.confidence is None else Rule(read.rule, min(read.confidence, 0.9999))
    return FitsFile(assemblies_of(read.stacks, "box"), parts_of(read.stock), rule, read.counts_as_sure)
