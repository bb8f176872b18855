"""Schema 1 of the box file: every section, every key, what each figure must be."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StringConstraints, model_validator

from bellhousing.boxes.assemblies import Assemblies, Measurements, Parts
from bellhousing.boxes.figures import Spec, problem
from bellhousing.boxes.kinds import has_figure
from bellhousing.boxes.leak_sites import Landmarks, Sites
from bellhousing.boxes.linkage_sections import Anchor, Coupling, RearPump, ThrottleValve
from bellhousing.boxes.readings import ReadingsSection
from bellhousing.boxes.sections import (
    Accumulator,
    Band,
    Converter,
    Detent,
    Engine,
    Fluid,
    Governor,
    Meshes,
    Modulator,
    OneWayClutch,
    PlateClutch,
    Pump,
    Ratios,
    Regulator,
    Section,
    ShiftValves,
    Sump,
)
from bellhousing.boxes.strip_file import StripSection
from bellhousing.boxes.train import TrainSection, whole

Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
Sentence = Annotated[str, StringConstraints(max_length=2000)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=120)]


def _unknown(raw: Any) -> Any:
    return None if isinstance(raw, str) and raw.strip().lower() == "unknown" else raw


Unsure = BeforeValidator(_unknown)


class BoxFile(Section):
    """A gearbox as typed from its manual, its bench sheet, or not known at all."""

    schema_: Annotated[Literal[1], BeforeValidator(whole)] = Field(alias="schema")
    name: Name
    slug: Slug
    family: Annotated[Slug | None, Unsure] = None
    source: Annotated[Sentence | None, Unsure] = None
    note: Sentence | None = None
    lacks: list[Slug] | None = Field(default=None, max_length=60)
    windows: dict[Slug, str | None] | None = Field(default=None, max_length=300)
    fluid: Fluid = Field(default_factory=Fluid)
    sump: Sump = Field(default_factory=Sump)
    pump: Pump = Field(default_factory=Pump)
    rear_pump: RearPump = Field(default_factory=RearPump)
    regulator: Regulator = Field(default_factory=Regulator)
    modulator: Modulator = Field(default_factory=Modulator)
    throttle_valve: ThrottleValve = Field(default_factory=ThrottleValve)
    governor: Governor = Field(default_factory=Governor)
    shift_valves: ShiftValves = Field(default_factory=ShiftValves)
    detent: Detent = Field(default_factory=Detent)
    forward_clutch: PlateClutch = Field(default_factory=PlateClutch)
    direct_clutch: PlateClutch = Field(default_factory=PlateClutch)
    intermediate_clutch: PlateClutch = Field(default_factory=PlateClutch)
    low_reverse_band: Band = Field(default_factory=Band)
    overrun_band: Band = Field(default_factory=Band)
    second_band: Band = Field(default_factory=Band)
    front_band: Band = Field(default_factory=Band)
    rear_band: Band = Field(default_factory=Band)
    front_clutch: PlateClutch = Field(default_factory=PlateClutch)
    rear_clutch: PlateClutch = Field(default_factory=PlateClutch)
    reverse_anchor: Anchor = Field(default_factory=Anchor)
    low_one_way_clutch: OneWayClutch = Field(default_factory=OneWayClutch)
    intermediate_one_way_clutch: OneWayClutch = Field(default_factory=OneWayClutch)
    accumulator_first_second: Accumulator = Field(default_factory=Accumulator)
    accumulator_second_third: Accumulator = Field(default_factory=Accumulator)
    converter: Converter = Field(default_factory=Converter)
    coupling: Coupling = Field(default_factory=Coupling)
    engine: Engine = Field(default_factory=Engine)
    meshes: Meshes = Field(default_factory=Meshes)
    ratios: Ratios = Field(default_factory=Ratios)
    gear_train: TrainSection | None = None
    landmarks: Landmarks = None
    leak_sites: Sites = None
    readings: ReadingsSection | None = None
    assemblies: Assemblies = None
    selective_parts: Parts = None
    measurements: Measurements = None
    strip: StripSection | None = None

    @model_validator(mode="before")
    @classmethod
    def _mapping(cls, raw: Any) -> Any:
        if not isinstance(raw, dict):
            raise problem("a box file is a list of keys such as `name: ...`")
        return raw


def sections(kind: str | None = None) -> dict[str, type[Section]]:
    """Return the sections that hold figures, by dotted name, in file order; only those of a kind of box."""
    found: dict[str, type[Section]] = {}

    def walk(model: type[Section], prefix: str) -> None:
        for name, field in model.model_fields.items():
            kind = field.annotation
            if isinstance(kind, type) and issubclass(kind, Section):
                found[f"{prefix}{name}"] = kind
                walk(kind, f"{prefix}{name}.")

    walk(BoxFile, "")
    return {name: model for name, model in found.items() if has_figure(kind, name)}


def specs(kind: str | None = None) -> dict[str, Spec]:
    """Return what each figure must be, by dotted key, in file order; only those of a kind of box."""
    found: dict[str, Spec] = {}
    for prefix, model in sections(kind).items():
        for name, field in model.model_fields.items():
            for mark in field.metadata:
                if isinstance(mark, Spec) and has_figure(kind, f"{prefix}.{name}"):
                    found[f"{prefix}.{name}"] = mark
    return found
