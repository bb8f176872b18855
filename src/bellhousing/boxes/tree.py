"""YAML text to plain dicts, lists and strings, each with its line; nothing is ever executed or expanded."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from bellhousing.errors import BoxFileError
from bellhousing.quantities.letters import can_be_written

DEEPEST = 12
MOST_NODES = 20_000
_NULLS = frozenset({"", "~", "null", "Null", "NULL"})

_PLAIN_TAGS = frozenset(
    {"!", *(f"tag:yaml.org,2002:{kind}" for kind in ("str", "int", "float", "null", "bool", "map", "seq"))}
)

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Tree:
    """A parsed file: plain data, the line of every path in it, and the problems met on the way."""

    data: Any
    lines: dict[Path, int]
    problems: tuple[str, ...]

    def line(self, path: Path) -> int | None:
        """Return the line of `path`, or of the nearest enclosing path that has one."""
        for length in range(len(path), -1, -1):
            found = self.lines.get(path[:length])
            if found is not None:
                return found
        return None


@dataclass
class _Level:
    """A mapping or list being filled."""

    holder: dict[str, Any] | list[Any]
    path: Path
    key: str | None = None
    key_line: int = 0
    waiting: bool = False


@dataclass
class _Builder:
    """Builds the tree from parser events without recursion, so depth cannot exhaust the stack."""

    data: Any = None
    lines: dict[Path, int] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    levels: list[_Level] = field(default_factory=list)
    nodes: int = 0
    documents: int = 0

    def take(self, event: Any) -> None:
        """Add one parser event to the tree."""
        if isinstance(event, DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                raise BoxFileError(
                    "a box file holds one document", where=_at(event), remedy="remove the '---'"
                )
        elif isinstance(event, AliasEvent) or getattr(event, "anchor", None) is not None:
            raise BoxFileError(
                "anchors and aliases (& and *) are not used in a box file",
                where=_at(event),
                remedy="write the figure out again",
            )
        elif isinstance(event, ScalarEvent | MappingStartEvent | SequenceStartEvent):
            self._node(event)
        elif isinstance(event, MappingEndEvent | SequenceEndEvent):
            self.levels.pop()

    def _node(self, event: Any) -> None:
        self.nodes += 1
        if self.nodes > MOST_NODES or len(self.levels) >= DEEPEST:
            raise BoxFileError("the file is too long or too deeply nested for a box file", where=_at(event))
        if event.tag is not None and str(event.tag) not in _PLAIN_TAGS:
            raise BoxFileError(
                "tags (!) are not used in a box file", where=_at(event), remedy="remove the tag"
            )
        if isinstance(event, ScalarEvent) and not can_be_written(event.value):
            raise BoxFileError(
                "it holds a sign that is no letter", where=_at(event), remedy="write the letter itself"
            )
        line = event.start_mark.line + 1
        level = self.levels[-1] if self.levels else None
        if level is not None and isinstance(level.holder, dict) and not level.waiting:
            self._key(level, event, line)
            return
        value: Any
        if isinstance(event, ScalarEvent):
            value = None if event.style is None and event.value in _NULLS else event.value
        else:
            value = {} if isinstance(event, MappingStartEvent) else []
        path = self._attach(level, value, line)
        if not isinstance(event, ScalarEvent):
            self.levels.append(_Level(value, path))

    def _key(self, level: _Level, event: Any, line: int) -> None:
        if not isinstance(event, ScalarEvent):
            raise BoxFileError("a key must be a plain word", where=_at(event))
        assert isinstance(level.holder, dict)
        key = str(event.value)
        if key in level.holder:
            first = self.lines.get((*level.path, key), line)
            self.problems.append(f"line {line}: `{key}` is written twice (first on line {first})")
        level.key, level.key_line, level.waiting = key, line, True

    def _attach(self, level: _Level | None, value: Any, line: int) -> Path:
        if level is None:
            self.data = value
            self.lines[()] = line
            return ()
        if isinstance(level.holder, dict):
            assert level.key is not None
            path = (*level.path, level.key)
            level.holder[level.key] = value
            self.lines[path] = level.key_line
            level.waiting = False
            return path
        path = (*level.path, len(level.holder))
        level.holder.append(value)
        self.lines[path] = line
        return path


def _at(event: Any) -> str:
    return f"line {event.start_mark.line + 1}"


def read_tree(text: str) -> Tree:
    """Parse YAML text into plain data whose scalars stay as written.

    Raises
    ------
    BoxFileError : the text is not YAML, or uses aliases, tags, several documents or endless nesting
    """
    builder = _Builder()
    try:
        for event in YAML(typ="safe", pure=True).parse(text):
            builder.take(event)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        where = None if mark is None else f"line {mark.line + 1}"
        said = str(error.problem or error.context or "it cannot be read")
        raise BoxFileError(
            f"not valid YAML: {said}", where=where, remedy="check indents, quotes and colons"
        ) from None
    except (YAMLError, ValueError, IndexError, KeyError, TypeError, AttributeError) as error:
        said = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise BoxFileError(f"not valid YAML: {said}", remedy="check indents, quotes and colons") from None
    return Tree(builder.data, builder.lines, tuple(builder.problems))
