"""The `strip` section of a box file as typed: parts, what must be off before them, flanges, gates."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, StringConstraints

from bellhousing.boxes.assemblies import WindowText
from bellhousing.boxes.figures import Figure, Spec, problem
from bellhousing.boxes.parts_tree import GateKind, Hardness, Place, SealKind
from bellhousing.boxes.sections import Section
from bellhousing.boxes.train import whole

_Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
_Name = Annotated[str, StringConstraints(min_length=1, max_length=120)]
_Note = Annotated[str, StringConstraints(max_length=400)]
_Notes = Annotated[list[_Note] | None, Field(max_length=30)]
_Slugs = Annotated[list[_Slug] | None, Field(max_length=30)]
_Count = Annotated[int, BeforeValidator(whole), Field(ge=1, le=200)]
_Time = Annotated[Figure | None, Spec("min", "time", 0, 2000, "20 %", "time it takes")]
_Length = Annotated[Figure | None, Spec("in", "length", 0.1, 20, "1 %", "length under the head")]
_FLAGS = {"true": True, "yes": True, "false": False, "no": False}
_ROUND = 24


def _flag(raw: Any) -> Any:
    if isinstance(raw, bool):
        return raw
    if isinstance(raw, str) and raw.strip().lower() in _FLAGS:
        return _FLAGS[raw.strip().lower()]
    raise problem("must be true or false")


def _point(raw: Any) -> Any:
    if not isinstance(raw, list) or len(raw) != 2:
        raise problem("a place on the drawing is two figures, from the left and from the top: [0.5, 0.1]")
    found = []
    for text in raw:
        try:
            value = float(text) if isinstance(text, str) else math.nan
        except ValueError:
            value = math.nan
        if not 0.0 <= value <= 1.0:
            raise problem("places on the drawing run from 0 to 1, from the left and from the top")
        found.append(value)
    return (found[0], found[1])


def _outline(raw: Any) -> Any:
    """Read a list of corners, or the words round and square."""
    if raw == "round":
        turns = [2.0 * math.pi * step / _ROUND for step in range(_ROUND)]
        return [(0.5 + 0.5 * math.sin(turn), 0.5 - 0.5 * math.cos(turn)) for turn in turns]
    if raw == "square":
        return [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    if not isinstance(raw, list):
        raise problem("an outline is round, square, or a list of corners")
    return [_point(corner) for corner in raw]


def _groups(raw: Any) -> Any:
    """Read what must be off first: a name alone, or a list of which one is enough."""
    if isinstance(raw, str):
        raw = [raw]
    if not isinstance(raw, list):
        return raw
    return [[group] if isinstance(group, str) else group for group in raw]


Point = Annotated[tuple[float, float], BeforeValidator(_point, json_schema_input_type=list[float])]
Flag = Annotated[bool, BeforeValidator(_flag)]
Outline = Annotated[
    list[tuple[float, float]], BeforeValidator(_outline, json_schema_input_type=str | list[list[float]])
]
Groups = Annotated[
    list[Annotated[list[_Slug], Field(min_length=1, max_length=12)]],
    BeforeValidator(_groups, json_schema_input_type=list[str | list[str]]),
    Field(max_length=40),
]


class HoleEntry(Section):
    """A bolt hole; they are numbered in the order they stand."""

    at: Point
    length: _Length = None
    shared_with: _Name | None = None
    shared_part: _Slug | None = None
    hidden: _Name | None = None
    behind: _Slug | None = None
    washer: _Name | None = None
    sealant: _Name | None = None
    note: _Note | None = None


class JackEntry(Section):
    """Threaded holes for puller bolts."""

    count: _Count = 2
    thread: _Name | None = None
    note: _Note | None = None


class FlangeEntry(Section):
    """Fasteners that are undone and counted as one; length, washer and sealant are those of every hole."""

    name: _Name | None = None
    fastener: _Name = "bolt"
    thread: _Name | None = None
    length: _Length = None
    washer: _Name | None = None
    sealant: _Name | None = None
    holes: list[HoleEntry] = Field(min_length=1, max_length=60)
    washers_one_use: Flag = False
    torque: Annotated[Figure | None, Spec("lb ft", "torque", 0.3, 300, "10 %", "torque of its fasteners")] = (
        None
    )
    sequence: Annotated[list[_Count], Field(max_length=60)] | None = None
    steps: Annotated[int, BeforeValidator(whole), Field(ge=1, le=6)] = 1
    jack_holes: JackEntry | None = None
    outline: Outline | None = None
    seen_from: _Name = "the side it is undone from"
    note: _Note | None = None


class SealEntry(Section):
    """A seal, or whatever else is counted and thrown away."""

    name: _Name | None = None
    kind: SealKind
    one_use: Flag = True
    count: _Count = 1


class BallEntry(Section):
    """A check ball in its pocket."""

    pocket: Annotated[int, BeforeValidator(whole), Field(ge=1, le=99)]
    name: _Name
    size: Annotated[Figure | None, Spec("in", "length", 0.05, 1, "1 %", "diameter of the ball")] = None
    material: _Name = "steel"


class SpringEntry(Section):
    """A loose spring."""

    name: _Name
    goes_to: _Name
    colour: _Name | None = None
    length: Annotated[Figure | None, Spec("in", "length", 0.1, 20, "3 %", "free length")] = None


class BaselineEntry(Section):
    """What must be measured before the part is undone."""

    measure: _Slug
    why: _Note


class GateEntry(Section):
    """What must be passed; a number where it has a measure, a unit or a window, else somebody's word."""

    name: _Name | None = None
    kind: GateKind | None = None
    measure: _Slug | None = None
    unit: _Name | None = None
    window: WindowText = None
    method: _Note | None = None
    hold: Flag = False
    why: _Note | None = None
    cautions: _Slugs = None


Gates = Annotated[dict[_Slug, GateEntry] | None, Field(max_length=30)]


class RefitEntry(Section):
    """How a part goes back."""

    lubricant: _Name | None = None
    note: _Notes = None
    lip: _Name | None = None
    soaked: Annotated[
        Figure | None, Spec("min", "time", 1, 3000, "20 %", "time linings soak in fluid before they go in")
    ] = None
    minutes: _Time = None
    gates: Gates = None


class PartEntry(Section):
    """One part, or one group of parts that comes off together."""

    name: _Name | None = None
    words: Annotated[list[_Name] | None, Field(max_length=20)] = None
    inside: _Slug | None = None
    after: Groups | None = None
    flange: _Slug | None = None
    seals: Annotated[dict[_Slug, SealEntry] | None, Field(max_length=30)] = None
    check_balls: Annotated[list[BallEntry] | None, Field(max_length=30)] = None
    springs: Annotated[list[SpringEntry] | None, Field(max_length=40)] = None
    minutes: _Time = None
    tools: Annotated[list[_Name] | None, Field(max_length=20)] = None
    weight: Annotated[Figure | None, Spec("kg", "mass", 0.001, 400, "5 %", "weight")] = None
    marks: _Notes = None
    cautions: _Slugs = None
    measure_before: Annotated[list[BaselineEntry] | None, Field(max_length=10)] = None
    may_be_found: _Notes = None
    faults: _Slugs = None
    where: Place = "bench"
    refit: RefitEntry = Field(default_factory=RefitEntry)
    hardness: Hardness = "hard"
    order_name: _Name | None = None
    note: _Note | None = None


class StripSection(Section):
    """Everything a box comes apart into."""

    source: Annotated[str, StringConstraints(max_length=2000)] | None = None
    identification: Annotated[list[_Name] | None, Field(max_length=20)] = None
    flanges: Annotated[dict[_Slug, FlangeEntry] | None, Field(max_length=80)] = None
    parts: Annotated[dict[_Slug, PartEntry] | None, Field(max_length=200)] = None
    final_gates: Gates = None
