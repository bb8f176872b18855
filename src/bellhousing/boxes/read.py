"""One box file from bytes to checked figures, with every fault reported at once and its line."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError

from bellhousing.boxes.checks import cross_problems
from bellhousing.boxes.figures import Figure, nearest
from bellhousing.boxes.kinds import FAMILIES, has_figure
from bellhousing.boxes.schema import BoxFile, specs
from bellhousing.boxes.tree import Path, Tree, read_tree
from bellhousing.boxes.windows import read_window
from bellhousing.errors import BoxFileError, QuantityError
from bellhousing.quantities.measured import Interval

MOST_PROBLEMS = 100
_WHOLE = (
    "gear_train",
    "lacks",
    "windows",
    "landmarks",
    "leak_sites",
    "readings",
    "assemblies",
    "selective_parts",
    "measurements",
    "strip",
)


@dataclass(frozen=True)
class Reading:
    """A checked file: as typed, its figures and their lines by dotted key, its windows."""

    file: BoxFile
    figures: Mapping[str, Figure]
    lines: Mapping[str, int]
    windows: Mapping[str, Interval]


def read_file(content: bytes, where: str, families: Iterable[str]) -> Reading:
    """Read and check a box file.

    Raises
    ------
    BoxFileError : with every problem found, each with its line
    """
    try:
        tree = read_tree(decoded(content))
    except BoxFileError as error:
        place = where if error.where is None else f"{where}, {error.where}"
        raise BoxFileError(error.what, where=place, remedy=error.remedy) from None
    problems = list(tree.problems)
    if tree.data is None:
        raise BoxFileError("the file is empty", where=where, remedy="start from the blank box file")
    file, faults = _validated(tree.data)
    problems += [said_of(tree, detail) for detail in faults]
    windows = _windows(tree, problems)
    family = tree.data.get("family") if isinstance(tree.data, dict) else None
    if isinstance(family, str) and family.strip().lower() != "unknown" and family not in tuple(families):
        close = get_close_matches(family, tuple(families), n=1, cutoff=0.0)
        problems.append(
            with_line(tree, ("family",), f"no family is called `{family}`: known is `{close[0]}`")
        )
    figures: dict[str, Figure] = {}
    if file is not None:
        figures = _figures(file)
        problems += [with_line(tree, path, said) for path, said in cross_problems(file, figures)]
    if problems or faults or file is None:
        raise refused(where, problems)
    lines = {key: line for key in figures if (line := tree.line(tuple(key.split(".")))) is not None}
    for number in range(0 if file.readings is None else len(file.readings.rows)):
        row_line = tree.line(("readings", "rows", number))
        if row_line is not None:
            lines[f"readings.rows.{number}"] = row_line
    return Reading(file, figures, lines, windows)


def _validated(data: Any) -> tuple[BoxFile | None, list[Any]]:
    """Return the file as its schema has it, or what of it is sound, and the faults found."""
    try:
        return BoxFile.model_validate(data), []
    except ValidationError as error:
        faults = list(error.errors(include_url=False, include_input=False))
    if not isinstance(data, dict):
        return None, faults
    try:
        return BoxFile.model_validate(_without(data, [fault["loc"] for fault in faults])), faults
    except ValidationError:
        return None, faults


def _without(data: dict[str, Any], places: Iterable[tuple[int | str, ...]]) -> dict[str, Any]:
    """Return a copy of the data without its faulty parts, so that the rest can be checked as well."""
    kept: dict[str, Any] = copy.deepcopy(data)
    for place in places:
        if not place:
            continue
        if len(place) == 1 or place[0] in _WHOLE:
            kept.pop(str(place[0]), None)
            continue
        holder: Any = kept
        for step in place[:-1]:
            holder = holder.get(step) if isinstance(holder, dict) else None
        if isinstance(holder, dict):
            holder.pop(place[-1], None)
    return {"schema": "1", "name": "-", "slug": "x", **kept}


def decoded(content: bytes) -> str:
    """The text of a file in UTF-8; BoxFileError naming the line that is none."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise BoxFileError(
            "the file is not text in UTF-8", where=f"line {line}", remedy="save it as UTF-8 in the editor"
        ) from None


def refused(where: str, problems: list[str], what: str = "box file") -> BoxFileError:
    """The error that names every fault of a file by its line, the first of many."""
    ordered = sorted(dict.fromkeys(problems), key=_line_number)
    many = len(ordered)
    if many > MOST_PROBLEMS:
        ordered = [*ordered[:MOST_PROBLEMS], f"and {many - MOST_PROBLEMS} more"]
    count = "one fault" if many == 1 else f"{many} faults"
    return BoxFileError(f"the {what} has {count}", where=where, problems=ordered)


def _line_number(said: str) -> int:
    found = re.match(r"line (\d+)", said)
    return int(found.group(1)) if found else 0


def with_line(tree: Tree, path: Path, said: str) -> str:
    """A fault with its line and the dotted key it is at."""
    line = tree.line(path)
    dotted = ".".join(str(step + 1) if isinstance(step, int) else step for step in path)
    shown = f"{_cut(dotted, 120)}: {_cut(said, 400)}" if dotted else _cut(said, 400)
    return shown if line is None else f"line {line}: {shown}"


def _cut(text: str, length: int) -> str:
    return text if len(text) <= length else text[: length - 1] + "…"


def _figures(file: BoxFile) -> dict[str, Figure]:
    found: dict[str, Figure] = {}
    for key in specs():
        held: Any = file
        for step in key.split("."):
            held = getattr(held, step)
        if isinstance(held, Figure):
            found[key] = held
    return found


def _windows(tree: Tree, problems: list[str]) -> dict[str, Interval]:
    typed = tree.data.get("windows") if isinstance(tree.data, dict) else None
    found: dict[str, Interval] = {}
    for finding, text in typed.items() if isinstance(typed, dict) else ():
        if not isinstance(text, str):
            continue
        if text.strip().lower() in ("", "unknown"):
            continue
        try:
            found[finding] = read_window(text)
        except QuantityError as error:
            problems.append(with_line(tree, ("windows", finding), str(error)))
    return found


def _model_at(path: Path, root: type[BaseModel] = BoxFile) -> type[BaseModel] | None:
    """Return the model whose keys are expected at a path."""
    model: Any = root
    named = False
    for step in path:
        if isinstance(step, int):
            continue
        if named:  # the step is a name somebody gave, in a mapping of names
            named = False
            continue
        if not (isinstance(model, type) and issubclass(model, BaseModel)):
            return None
        name = "schema_" if step == "schema" else str(step)
        field = model.model_fields.get(name)
        model = None if field is None else _inner_model(field.annotation)
        named = field is not None and _is_mapping(field.annotation)
    return model if isinstance(model, type) and issubclass(model, BaseModel) else None


def _is_mapping(annotation: Any) -> bool:
    return get_origin(annotation) is dict or any(
        get_origin(inside) is dict for inside in get_args(annotation)
    )


def _inner_model(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inside in get_args(annotation):
        found = _inner_model(inside)
        if found is not None:
            return found
    return None


def _kind(tree: Tree) -> str | None:
    """The kind of box a file names, None where it names none that is known."""
    named = tree.data.get("family") if isinstance(tree.data, dict) else None
    return named if named in FAMILIES else None


def _dotted(path: Path) -> str:
    return ".".join(str(step) for step in path)


def said_of(tree: Tree, detail: Any, root: type[BaseModel] = BoxFile) -> str:
    """Turn one fault found by the schema into a sentence with its line."""
    path: Path = tuple(step for step in detail["loc"] if step != "[key]")
    kind, context = detail["type"], detail.get("ctx") or {}
    if kind == "box":
        return with_line(tree, (*path, *context.get("at", ())), str(context.get("message", "")))
    if kind == "extra_forbidden":
        model = _model_at(path[:-1], root)
        known = [] if model is None else [f.alias or name for name, f in model.model_fields.items()]
        if root is BoxFile:
            known = [name for name in known if has_figure(_kind(tree), _dotted((*path[:-1], name)))]
        return with_line(tree, path[:-1] + path[-1:], f"unknown key{nearest(str(path[-1]), known)}")
    if kind == "missing":
        return with_line(tree, path[:-1], f"`{path[-1]}` is missing")
    if kind == "literal_error" and path == ("schema",):
        return with_line(tree, path, "this program reads schema 1")
    if kind == "literal_error":
        return with_line(tree, path, f"must be {context.get('expected', 'another word')}")
    if kind == "string_pattern_mismatch" and "ranges" in path:
        return with_line(
            tree, path, "a range and a gear are named by a few letters or digits, such as D or 2"
        )
    if kind == "string_pattern_mismatch":
        return with_line(tree, path, "must be lower-case words joined by hyphens, such as `overrun-band`")
    if kind in ("int_type", "int_parsing"):
        return with_line(tree, path, "must be a whole number")
    if kind in ("greater_than_equal", "less_than_equal"):
        side = "at least" if kind == "greater_than_equal" else "at most"
        return with_line(tree, path, f"must be {side} {context.get('ge', context.get('le'))}")
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return with_line(tree, path, "a group of keys is expected here")
    if kind == "list_type":
        return with_line(tree, path, "a list is expected here, such as [one, two]")
    if kind == "string_type":
        return with_line(tree, path, "plain text is expected here")
    return with_line(tree, path, str(detail["msg"]).lower())
