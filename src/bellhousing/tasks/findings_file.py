"""Findings files: what was found on one car, written as text, with no database behind it."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any

from bellhousing.diagnosis.prepare import CarFacts
from bellhousing.errors import InputFileError, QuantityError
from bellhousing.quantities.letters import can_be_written
from bellhousing.quantities.parse import parse_measured

LARGEST_FILE = 256 * 1024
MOST_FINDINGS = 400
DEEPEST = 8  # lists and mappings within one another; a findings file needs two
LONGEST_FINDING = 2000
DEFAULT_BOX = "three-speed-vacuum"
KEYS = ("box", "car", "findings", "measured")
CAR_KEYS = ("axle_ratio", "tyre_radius", "altitude")
# Lowest and highest figure a road car can have; metres for lengths, a plain number for the axle.
CAR_LIMITS: Mapping[str, tuple[str, float, float, str]] = {
    "axle_ratio": ("", 1.5, 8.0, "a figure between 1.5 and 8, such as 3.08"),
    "tyre_radius": ("m", 0.15, 0.75, "between 0.15 m and 0.75 m, such as 0.345 m or 13.6 in"),
    "altitude": ("ft", -500.0, 6000.0, "between -500 m and 6000 m, such as 300 m or 1000 ft"),
}
SENTENCES = {"findings": "blue smoke when pulling away", "measured": "pump face clearance 0.0045 in"}
EXAMPLE = "box: A, car: {axle_ratio: 3.08}, and findings: a list of sentences"


@dataclass(frozen=True)
class FindingsFile:
    """The content of a findings file; `box` is a shipped name or a path, `said` the sentences as written.

    `measured` are the sentences of what was measured on the bench, with their lines.
    """

    box: str
    car: CarFacts
    said: tuple[str, ...]
    lines: tuple[int, ...]
    assumed: tuple[str, ...]
    measured: tuple[str, ...] = ()
    measured_lines: tuple[int, ...] = ()


def read_findings_file(path: Path) -> FindingsFile:
    """Read a findings file.

    Raises
    ------
    InputFileError : anything malformed, naming the file, the line and what would be right.
    """
    return parse_findings(_text_of(path), name=str(path))


def parse_findings(text: str, *, name: str = "findings") -> FindingsFile:
    """Read the text of a findings file; `name` stands in messages."""
    return _Reader(name).read(text)


def car_figure(key: str, text: object, *, called: str = "") -> float:
    """Read one figure of a car (axle_ratio, tyre_radius, altitude) into SI, refusing what no car can have.

    `called` is what a person calls it where no file with keys is read.

    Raises
    ------
    InputFileError : a figure that cannot be read or cannot be, naming the key.
    """
    usual, low, high, right = CAR_LIMITS[key]
    name = called or key
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise InputFileError(f"{name} must be a figure", remedy=right)
    if isinstance(text, float) and not isfinite(text):
        raise InputFileError(f"{name}: {text} is no figure", remedy=right)
    try:
        value = parse_measured(str(text), usual_unit=usual, possible=(low, high)).value
    except QuantityError as error:
        raise InputFileError(f"{name}: {error.what}", remedy=right) from None
    if not (isfinite(value) and low <= value <= high):
        raise InputFileError(f"{name}: {text} cannot be", remedy=right)
    return value


def _text_of(path: Path) -> str:
    where = str(path)
    try:
        if path.is_dir():
            raise InputFileError("this is a folder, not a findings file", where=where)
        with path.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise InputFileError(
            "there is no such file",
            where=where,
            remedy="give the path of a findings file, or the number of a job",
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputFileError(f"the file cannot be read: {reason}", where=where) from None
    if len(data) > LARGEST_FILE:
        raise InputFileError(
            "the file is too large for a list of findings",
            where=where,
            remedy=f"at most {LARGEST_FILE // 1024} kB",
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputFileError("the file is not UTF-8 text", where=where, remedy="save it as UTF-8") from None


class _Reader:
    """Reads one text, knowing its name for the messages."""

    def __init__(self, name: str) -> None:
        self.name = name

    def fail(self, what: str, line: int | None = None, remedy: str | None = None) -> InputFileError:
        where = self.name if line is None else f"{self.name}, line {line}"
        return InputFileError(what, where=where, remedy=remedy)

    def read(self, text: str) -> FindingsFile:
        content = self._load(text)
        if content is None:
            raise self.fail("the file is empty", remedy=EXAMPLE)
        if not isinstance(content, Mapping):
            raise self.fail("the file is not a mapping of keys", 1, EXAMPLE)
        self._check_keys(content, KEYS)
        measured, measured_lines = self._said(content, "measured") if "measured" in content else ((), ())
        said, lines = self._said(content, "findings")
        car, assumed = self._car(content)
        return FindingsFile(self._box(content), car, said, lines, assumed, measured, measured_lines)

    def _load(self, text: str) -> Any:
        from ruamel.yaml import YAML
        from ruamel.yaml.constructor import DuplicateKeyError
        from ruamel.yaml.error import MarkedYAMLError, YAMLError
        from ruamel.yaml.events import AliasEvent, CollectionEndEvent, CollectionStartEvent, ScalarEvent

        depth = 0
        try:
            for event in YAML(typ="rt", pure=True).parse(text):
                depth += isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
                if depth > DEEPEST:
                    raise self.fail("lists within lists too deep", event.start_mark.line + 1, EXAMPLE)
                if isinstance(event, AliasEvent):
                    raise self.fail("a findings file takes no anchors and aliases", event.start_mark.line + 1)
                if getattr(event, "tag", None):
                    raise self.fail("a findings file takes no tags", event.start_mark.line + 1)
                if isinstance(event, ScalarEvent) and not can_be_written(event.value):
                    raise self.fail("it holds a sign that is no letter", event.start_mark.line + 1)
            return YAML(typ="rt", pure=True).load(text)
        except DuplicateKeyError as error:
            mark = error.problem_mark
            key = str(error.problem or "").split('"')
            named = f"the key '{key[1]}' is written twice" if len(key) > 2 else "a key is written twice"
            raise self.fail(named, None if mark is None else mark.line + 1, "keep one of the two") from None
        except MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            line = None if mark is None else mark.line + 1
            raise self.fail(
                f"not readable as YAML: {error.problem or error.context}", line, EXAMPLE
            ) from None
        except (YAMLError, ValueError, TypeError, AttributeError, KeyError, RecursionError) as error:
            first = str(error).strip().splitlines()
            reason = first[0] if first and not isinstance(error, RecursionError) else "nested too deep"
            raise self.fail(f"not readable as YAML: {reason}", remedy=EXAMPLE) from None

    def _line(self, container: Any, key: Any) -> int | None:
        position = getattr(container, "lc", None)
        try:
            found = position.key(key) if isinstance(container, Mapping) else position.item(key)  # type: ignore[union-attr]
            return int(found[0]) + 1
        except (AttributeError, KeyError, TypeError, IndexError):
            return None

    def _check_keys(self, content: Mapping[Any, Any], known: Sequence[str], prefix: str = "") -> None:
        for key in content:
            if key not in known:
                near = difflib.get_close_matches(str(key), known, n=1, cutoff=0.5)
                remedy = f"did you mean '{near[0]}'?" if near else f"the keys are: {', '.join(known)}"
                raise self.fail(f"unknown key '{prefix}{key}'", self._line(content, key), remedy)

    def _box(self, content: Mapping[Any, Any]) -> str:
        box = content.get("box", DEFAULT_BOX)
        if not isinstance(box, str) or not box.strip():
            raise self.fail(
                "box must be the name of a shipped box or family, or a path", self._line(content, "box")
            )
        return box.strip()

    def _car(self, content: Mapping[Any, Any]) -> tuple[CarFacts, tuple[str, ...]]:
        car = content.get("car")
        line = self._line(content, "car")
        if car is None:
            car = {}
        if not isinstance(car, Mapping):
            raise self.fail("car must be a mapping", line, "car: {axle_ratio: 3.08, tyre_radius: 0.345 m}")
        self._check_keys(car, CAR_KEYS, "car.")
        figures: dict[str, float] = {}
        for key in car:
            try:
                figures[key] = car_figure(key, car[key])
            except InputFileError as error:
                raise self.fail(error.what, self._line(car, key) or line, error.remedy) from None
        facts = CarFacts(**figures)
        return facts, assumed_of_car(facts, figures)

    def _said(self, content: Mapping[Any, Any], key: str) -> tuple[tuple[str, ...], tuple[int, ...]]:
        example = f"{key}: - {SENTENCES[key]}"
        line = self._line(content, key)
        if key not in content and key == "findings" and content.get("measured"):
            return (
                (),
                (),
            )  # parts on the bench tell what they would show, even where nothing was complained of
        if key not in content:
            raise self.fail("the file holds no findings", line, f"write {example}")
        # Nothing after the key is an empty list: nothing was found yet.
        findings = [] if content[key] is None else content[key]
        if isinstance(findings, str) or not isinstance(findings, Sequence):
            raise self.fail(f"{key} must be a list, one sentence to a line", line, f"write {example}")
        if len(findings) > MOST_FINDINGS:
            raise self.fail("too many findings for one job", line, f"at most {MOST_FINDINGS}")
        said, lines = [], []
        for index, entry in enumerate(findings):
            at = self._line(findings, index) or line or 1
            if not isinstance(entry, str):
                raise self.fail("a finding must be a sentence", at, "put it in quotes")
            if not entry.strip():
                raise self.fail("an empty finding", at, "write what was found, or take the line out")
            if len(entry) > LONGEST_FINDING:
                raise self.fail("a finding is too long", at, f"at most {LONGEST_FINDING} letters")
            said.append(str(entry))
            lines.append(at)
        return tuple(said), tuple(lines)


def assumed_of_car(facts: CarFacts, given: Mapping[str, object]) -> tuple[str, ...]:
    """One sentence for each figure of the car that was not given."""
    return tuple(
        text
        for key, text in (
            ("axle_ratio", f"axle ratio {facts.axle_ratio:g}"),
            ("tyre_radius", f"tyre radius {facts.tyre_radius:g} m"),
            ("altitude", f"altitude {facts.altitude:g} m"),
        )
        if key not in given
    )
