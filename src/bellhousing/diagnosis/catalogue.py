"""The catalogue of faults and findings: data files read once, checked, and handed on as frozen objects."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from typing import Any, Literal

from ruamel.yaml import YAML

from bellhousing.errors import CatalogueError, FindingError
from bellhousing.quantities.parse import parse_measured

FILES = "catalogue"
FAULT_FILES = ("faults", "faults-four-speed")
EFFECT_FILES = ("effects", "effects-four-speed")
FINDING_FILES = (
    "talk",
    "stick",
    "vacuum",
    "gauge",
    "road",
    "wet",
    "pan",
    "bench",
    "seen",
    "looks",
    "four-speed",
    "looks-four-speed",
)
FAMILIES = ("three-speed-vacuum", "four-speed-linkage")
_IN_FAMILY = {"name", "ask", "usual", "part", "top_speed", "states", "state_names", "background", "strengths"}


@dataclass(frozen=True)
class Effect:
    """How a fault bends one parameter of the car: `law` is times, add or set, from `mild` to `severe` [SI].

    Effects of different branches exclude each other; one without a branch comes with all of them.
    """

    parameter: str
    law: Literal["times", "add", "set"]
    mild: float
    severe: float
    branch: int | None = None


@dataclass(frozen=True)
class Fault:
    """An entry of the catalogue: what can be wrong, how common it is, and what it does to the car."""

    id: str
    name: str
    weight: float
    access: str
    hours: tuple[float, float]
    parts: tuple[str, ...]
    area: str
    mechanism: str
    part: str | None
    source: str
    effects: tuple[Effect, ...]
    families: tuple[str, ...] = FAMILIES


@dataclass(frozen=True)
class Thresholds:
    """States of a finding that a figure decides: above `over[state]` [SI] the state holds."""

    unit: str
    over: Mapping[str, float]
    half_width: float


@dataclass(frozen=True)
class Finding:
    """Something that can be seen or measured, what it costs to look, and what each fault makes of it.

    `separates` names the faults that this look was made to tell from their neighbours; `repeats` the finding
    whose place it looks at a second time, so that it may repeat its mistake. `in_family` holds what one
    family of boxes has otherwise: fields of this class by family.
    """

    id: str
    name: str
    ask: str
    area: str
    stage: str
    setup: str
    minutes: float
    kind: Literal["reading", "states"]
    states: tuple[str, ...]
    state_names: Mapping[str, str]
    background: Mapping[str, float]
    strengths: Mapping[str, Mapping[str, float]]
    unit: str
    possible: tuple[float, float] | None
    half_width: float
    instrument: str
    usual: tuple[float, float] | None
    words: Mapping[str, Any]
    thresholds: Thresholds | None
    top_speed: float | None
    part: str | None
    needs: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str
    families: tuple[str, ...] = FAMILIES
    separates: tuple[str, ...] = ()
    repeats: str | None = None
    in_family: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


@dataclass(frozen=True)
class Setup:
    """Minutes paid once and shared by every test that needs them; `under` is the set-up it stands on."""

    id: str
    name: str
    minutes: float
    under: str | None


@dataclass(frozen=True)
class Condition:
    """What must be true before a test: the finding that tells, the states that allow and forbid it."""

    id: str
    name: str
    finding: str
    holds: tuple[str, ...]
    forbids: tuple[str, ...]
    why: str
    families: tuple[str, ...] = FAMILIES


@dataclass(frozen=True)
class Catalogue:
    """Everything the diagnosis knows of the trade."""

    faults: Mapping[str, Fault]
    findings: Mapping[str, Finding]
    setups: Mapping[str, Setup]
    conditions: Mapping[str, Condition]
    cautions: Mapping[str, str]
    areas: Mapping[str, str]
    digest: str

    def finding(self, name: str) -> Finding:
        """Look a finding up by its slug; FindingError if there is none."""
        try:
            return self.findings[name]
        except KeyError:
            raise FindingError(f"there is no finding '{name}'", remedy="see the list of findings") from None

    def of_family(self, family: str) -> Catalogue:
        """The part of the catalogue that concerns one family of boxes."""
        faults = {name: fault for name, fault in self.faults.items() if family in fault.families}
        kept = {name: finding for name, finding in self.findings.items() if family in finding.families}
        asked = {
            name
            for name, condition in self.conditions.items()
            if family in condition.families and condition.finding in kept
        }
        otherwise = {name: dict(finding.in_family.get(family, {})) for name, finding in kept.items()}
        findings = {
            name: replace(
                finding,
                strengths={
                    fault: row
                    for fault, row in {**finding.strengths, **otherwise[name].pop("strengths", {})}.items()
                    if fault in faults
                },
                separates=tuple(fault for fault in finding.separates if fault in faults),
                needs=tuple(condition for condition in finding.needs if condition in asked),
                **otherwise[name],
            )
            for name, finding in kept.items()
        }
        return replace(self, faults=faults, findings=findings)


def parsed(text: str) -> Any:
    """What a YAML text of plain data holds."""
    return YAML(typ="safe", pure=True).load(text)


@cache
def load_catalogue(parse: Callable[[str], Any] = parsed) -> Catalogue:
    """Read and check the shipped catalogue; `parse` makes data of the text of each file.

    Raises
    ------
    CatalogueError : a file that contradicts itself, naming the entry.
    """
    digest = hashlib.sha256()

    def read(stem: str) -> Any:
        text = (resources.files("bellhousing.diagnosis") / FILES / f"{stem}.yaml").read_bytes()
        digest.update(text)
        return parse(text.decode("utf-8"))

    effects = {
        name: tuple(_effects(name, rows))
        for stem in EFFECT_FILES
        for name, rows in (read(stem) or {}).items()
    }
    faults = {
        row["id"]: _fault(row, effects.pop(row["id"], ())) for stem in FAULT_FILES for row in read(stem) or ()
    }
    if effects:
        raise CatalogueError(f"effects of unknown faults: {', '.join(effects)}")
    findings = {}
    for stem in FINDING_FILES:
        for row in read(stem if stem.startswith("looks") else f"findings-{stem}") or ():
            if row["id"] in findings:
                raise CatalogueError("two findings of one name", where=row["id"])
            findings[row["id"]] = _finding(row, faults)
    setups = {
        row["id"]: Setup(row["id"], row["name"], float(row["minutes"]), row.get("under"))
        for row in read("setups")
    }
    conditions = {
        row["id"]: Condition(
            row["id"],
            row["name"],
            row["finding"],
            tuple(row.get("holds", ())),
            tuple(row.get("forbids", ())),
            row["why"],
            _families(row),
        )
        for row in read("conditions")
    }
    cautions = {row["id"]: row["text"] for row in read("cautions")}
    areas = {row["id"]: row["name"] for row in read("areas")}
    catalogue = Catalogue(faults, findings, setups, conditions, cautions, areas, digest.hexdigest())
    _check_references(catalogue)
    return catalogue


def _si(text: Any, usual_unit: str) -> float:
    return parse_measured(str(text), usual_unit=usual_unit).value


def _pair(values: Any, usual_unit: str) -> tuple[float, float] | None:
    return None if values is None else (_si(values[0], usual_unit), _si(values[1], usual_unit))


def _effects(fault: str, rows: Any) -> list[Effect]:
    found = []
    for row in rows:
        law = next((key for key in ("times", "add", "set") if key in row), None)
        if law is None:
            raise CatalogueError("an effect needs one of times, add, set", where=fault)
        mild, severe = (
            _si(end, str(row.get("unit", ""))) if row.get("unit") else float(end) for end in row[law]
        )
        if law == "add" and row.get("unit") in ("degC", "degF"):
            raise CatalogueError("a temperature cannot be added", where=fault)
        found.append(Effect(row["parameter"], law, mild, severe, row.get("branch")))  # type: ignore[arg-type]
    return found


def _fault(row: Any, effects: tuple[Effect, ...]) -> Fault:
    return Fault(
        id=row["id"],
        name=row["name"],
        weight=float(row["weight"]),
        access=row["access"],
        hours=(float(row["hours"][0]), float(row["hours"][1])),
        parts=tuple(row.get("parts") or ()),
        area=row["area"],
        mechanism=row.get("mechanism", ""),
        part=row.get("part"),
        source=row["source"],
        effects=effects,
        families=_families(row),
    )


def _finding(row: Any, faults: Mapping[str, Fault]) -> Finding:
    unit = str(row.get("unit", ""))
    states = tuple(row.get("states") or ())
    strengths = row.get("strengths") or {}
    _check_strengths(row["id"], strengths, states, faults)
    for other in (row.get("in_family") or {}).values():
        own = tuple(other.get("states") or states)
        _check_strengths(row["id"], {**strengths, **(other.get("strengths") or {})}, own, faults)
    thresholds = row.get("thresholds")
    return Finding(
        id=row["id"],
        name=row["name"],
        ask=row["ask"],
        area=row["area"],
        stage=row["stage"],
        setup=row["setup"],
        minutes=float(row["minutes"]),
        kind=row["kind"],
        states=states,
        state_names=row.get("state_names") or {state: state.replace("-", " ") for state in states},
        background=row.get("background") or {},
        strengths=strengths,
        unit=unit,
        possible=_pair(row.get("possible"), unit),
        half_width=_si(row["half_width"], unit) if "half_width" in row else 0.0,
        instrument=row.get("instrument", ""),
        usual=_pair(row.get("usual"), unit),
        words=row.get("words") or {},
        thresholds=None if thresholds is None else _thresholds(thresholds),
        top_speed=_si(row["top_speed"], "mph") if "top_speed" in row else None,
        part=row.get("part"),
        needs=tuple(row.get("needs") or ()),
        cautions=tuple(row.get("cautions") or ()),
        source=row["source"],
        families=_families(row),
        separates=tuple(row.get("separates") or ()),
        repeats=row.get("repeats"),
        in_family={family: _otherwise(row["id"], other, unit) for family, other in _in_family(row).items()},
    )


def _check_strengths(
    name: str, strengths: Mapping[str, Any], states: Sequence[str], faults: Container[str]
) -> None:
    for fault, states_seen in strengths.items():
        if fault not in faults:
            raise CatalogueError(f"strength for unknown fault '{fault}'", where=name)
        if not set(states_seen) <= set(states[1:]) or sum(states_seen.values()) > 0.97 + 1e-9:
            raise CatalogueError(f"strengths of '{fault}' do not fit the states", where=name)


def _in_family(row: Any) -> Mapping[str, Any]:
    others = row.get("in_family") or {}
    if not set(others) <= set(FAMILIES):
        raise CatalogueError(f"unknown family among {', '.join(others)}", where=row["id"])
    return dict(others)


def _otherwise(name: str, other: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """What of a finding reads otherwise in one family, such as what is asked, window or states."""
    if not set(other) <= _IN_FAMILY:
        raise CatalogueError(f"in_family cannot hold {', '.join(other)}", where=name)
    fields = dict(other)
    if "states" in other:
        fields["states"] = tuple(other["states"])
    if "usual" in other:
        fields["usual"] = _pair(other["usual"], unit)
    if "top_speed" in other:
        fields["top_speed"] = _si(other["top_speed"], "mph")
    return fields


def _families(row: Any) -> tuple[str, ...]:
    families = tuple(row.get("families") or FAMILIES)
    if not set(families) <= set(FAMILIES):
        raise CatalogueError(f"unknown family among {', '.join(families)}", where=row["id"])
    return families


def _thresholds(row: Any) -> Thresholds:
    unit = row["unit"]
    over = {state: _si(text, unit) for state, text in row["over"].items()}
    mild = min(over.values())
    # A width is a difference: for temperatures the offset of the scale cancels out of it.
    width = (
        abs(_si(row["half_width"], unit) - _si("0 " + unit, unit))
        if "half_width" in row
        else 0.05 * abs(mild)
    )
    return Thresholds(unit, over, width)


def _check_references(catalogue: Catalogue) -> None:
    for finding in catalogue.findings.values():
        for kind, names, known in (
            ("set-up", (finding.setup,), catalogue.setups),
            ("condition", finding.needs, catalogue.conditions),
            ("caution", finding.cautions, catalogue.cautions),
            ("area", (finding.area,), catalogue.areas),
        ):
            missing = [name for name in names if name not in known]
            if missing:
                raise CatalogueError(f"unknown {kind} {', '.join(missing)}", where=finding.id)
        unknown = [name for name in finding.separates if name not in catalogue.faults]
        if unknown or (finding.repeats is not None and finding.repeats not in catalogue.findings):
            raise CatalogueError(f"separates or repeats something unknown: {unknown}", where=finding.id)
    for fault in catalogue.faults.values():
        if fault.area not in catalogue.areas:
            raise CatalogueError(f"unknown area '{fault.area}'", where=fault.id)
