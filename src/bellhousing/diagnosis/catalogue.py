"""The catalogue of faults and findings: data files read once, checked, and handed on as frozen objects."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from typing import Any, Literal

from ruamel.yaml import YAML

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.catalogue_rows import check_strengths, families_of, in_family, otherwise, pair, si
from bellhousing.errors import CatalogueError, FindingError

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
_OF_FINDING = {
    "name",
    "ask",
    "usual",
    "part",
    "top_speed",
    "states",
    "state_names",
    "background",
    "strengths",
}
_OF_FAULT = {"name"}


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
    """An entry of the catalogue: what can be wrong, how common it is, and what it does to the car.

    `in_family` holds what one family of boxes calls otherwise: fields of this class by family.
    """

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
    in_family: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


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
    areas_in_family: Mapping[str, Mapping[str, str]]
    digest: str

    def finding(self, name: str) -> Finding:
        """Look a finding up by its slug; FindingError if there is none."""
        try:
            return self.findings[name]
        except KeyError:
            raise FindingError(f"there is no finding '{name}'", remedy="see the list of findings") from None

    def of_family(self, family: str) -> Catalogue:
        """The part of the catalogue that concerns one family of boxes."""
        faults = {
            name: replace(fault, **fault.in_family.get(family, {}))
            for name, fault in self.faults.items()
            if family in fault.families
        }
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
        areas = {**self.areas, **self.areas_in_family.get(family, {})}
        return replace(self, faults=faults, findings=findings, areas=areas)


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
            families_of(row),
        )
        for row in read("conditions")
    }
    cautions = {row["id"]: row["text"] for row in read("cautions")}
    areas = read("areas")
    names = {row["id"]: row["name"] for row in areas}
    own = {
        family: {row["id"]: row["in_family"][family] for row in areas if family in row.get("in_family", ())}
        for family in FAMILIES
    }
    catalogue = Catalogue(faults, findings, setups, conditions, cautions, names, own, digest.hexdigest())
    _check_references(catalogue)
    return catalogue


def _effects(fault: str, rows: Any) -> list[Effect]:
    found = []
    for row in rows:
        law = next((key for key in ("times", "add", "set") if key in row), None)
        if law is None:
            raise CatalogueError("an effect needs one of times, add, set", where=fault)
        mild, severe = (
            si(end, str(row.get("unit", ""))) if row.get("unit") else float(end) for end in row[law]
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
        families=families_of(row),
        in_family=in_family(row, _OF_FAULT),
    )


def _finding(row: Any, faults: Mapping[str, Fault]) -> Finding:
    unit = str(row.get("unit", ""))
    states = tuple(row.get("states") or ())
    strengths = row.get("strengths") or {}
    check_strengths(row["id"], strengths, states, faults)
    for other in (row.get("in_family") or {}).values():
        own = tuple(other.get("states") or states)
        check_strengths(row["id"], {**strengths, **(other.get("strengths") or {})}, own, faults)
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
        possible=pair(row.get("possible"), unit),
        half_width=si(row["half_width"], unit) if "half_width" in row else 0.0,
        instrument=row.get("instrument", ""),
        usual=pair(row.get("usual"), unit),
        words=row.get("words") or {},
        thresholds=None if thresholds is None else _thresholds(thresholds),
        top_speed=si(row["top_speed"], "mph") if "top_speed" in row else None,
        part=row.get("part"),
        needs=tuple(row.get("needs") or ()),
        cautions=tuple(row.get("cautions") or ()),
        source=row["source"],
        families=families_of(row),
        separates=tuple(row.get("separates") or ()),
        repeats=row.get("repeats"),
        in_family={family: otherwise(other, unit) for family, other in in_family(row, _OF_FINDING).items()},
    )


def _thresholds(row: Any) -> Thresholds:
    unit = row["unit"]
    over = {state: si(text, unit) for state, text in row["over"].items()}
    mild = min(over.values())
    # A width is a difference: for temperatures the offset of the scale cancels out of it.
    width = (
        abs(si(row["half_width"], unit) - si("0 " + unit, unit)) if "half_width" in row else 0.05 * abs(mild)
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
