"""The gear train of a box file: as typed, and as plain data for whoever solves it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from bellhousing.boxes.kinds import HOLDING

Member = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]
Gear = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9]{1,8}$")]
CASE = "case"
MOST_ONE_WAY = 6  # each doubles the states to be tried


def whole(raw: Any) -> Any:
    """Turn digits as typed into a count; anything else is left to be refused."""
    return int(raw) if isinstance(raw, str) and raw.isascii() and raw.isdigit() and len(raw) < 9 else raw


def _unknown(raw: Any) -> Any:
    return None if isinstance(raw, str) and raw.strip().lower() == "unknown" else whole(raw)


Teeth = Annotated[Annotated[int, Field(ge=8, le=300)] | None, BeforeValidator(_unknown)]
Count = Annotated[Annotated[int, Field(ge=2, le=8)] | None, BeforeValidator(_unknown)]


Applied = Annotated[list[Member], Field(max_length=24)]
Gears = Annotated[dict[Gear, Applied | None], Field(max_length=12)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class SetSection(_Part):
    """A planetary set as typed."""

    name: Member
    sun: Member
    ring: Member
    carrier: Member
    sun_teeth: Teeth = None
    ring_teeth: Teeth = None
    pinion_teeth: Teeth = None
    pinion_count: Count = None
    pinions: Literal["single", "double"] = "single"


class ElementSection(_Part):
    """A clutch, brake, one-way clutch or fluid coupling as typed."""

    name: Member
    kind: Literal["clutch", "brake", "one-way", "coupling"]
    joins: Annotated[list[Member], Field(min_length=2, max_length=2)] | None = None
    holds: Member | None = None
    blocks: Literal["forward", "backward"] | None = None


class TrainSection(_Part):
    """The gear train as typed."""

    input: Member
    output: Member
    members: list[Member] = Field(min_length=2, max_length=40)
    sets: list[SetSection] = Field(min_length=1, max_length=8)
    elements: list[ElementSection] = Field(min_length=1, max_length=24)
    ranges: dict[Gear, Gears | None] = Field(max_length=12)


Problem = tuple[tuple[str | int, ...], str]


def train_data(train: TrainSection) -> Mapping[str, Any]:
    """Turn a checked gear train as typed into plain read-only data.

    The keys are those of the file. In `ranges` (lever range -> gear -> elements) only what the hydraulics
    apply is left: one-way clutches hold or run free by themselves. A fluid coupling, which is always full,
    is added to every gear that applies anything.
    """
    one_way = {element.name for element in train.elements if element.kind == "one-way"}
    couplings = tuple(element.name for element in train.elements if element.kind == "coupling")
    ranges = {
        lever: MappingProxyType(
            {gear: _applied(names or (), one_way, couplings) for gear, names in (gears or {}).items()}
        )
        for lever, gears in train.ranges.items()
    }
    return MappingProxyType(
        {
            "input": train.input,
            "output": train.output,
            "members": tuple(train.members),
            "sets": tuple(MappingProxyType(one.model_dump()) for one in train.sets),
            "elements": tuple(_element(element) for element in train.elements),
            "ranges": MappingProxyType(ranges),
        }
    )


def _applied(names: Sequence[str], one_way: set[str], couplings: tuple[str, ...]) -> tuple[str, ...]:
    applied = tuple(name for name in names if name not in one_way and name not in couplings)
    return (*applied, *couplings) if applied else ()


def has_teeth(train: Mapping[str, Any]) -> bool:
    """Return whether every set of a gear train has its tooth counts."""
    return all(one["sun_teeth"] is not None and one["ring_teeth"] is not None for one in train["sets"])


def parts_not_in(train: Mapping[str, Any] | None, kind: str) -> frozenset[str]:
    """Return the clutches, bands and one-way clutches of a kind of box that a gear train does not have."""
    if train is None:
        return frozenset()
    return frozenset(HOLDING[kind]) - {element["name"] for element in train["elements"]}


def name_problems(train: TrainSection, kind: str) -> list[Problem]:
    """Return which elements no section of the box file has figures for, each with its path."""
    known = HOLDING[kind]
    found: list[Problem] = []
    for index, element in enumerate(train.elements):
        if element.kind != "coupling" and element.name not in known:
            taken = {one.name for one in train.elements}
            one_way = element.kind == "one-way"
            free = [name for name in known if name not in taken and ("one-way" in name) == one_way]
            names = ", ".join(f"{name} ({known[name]})" for name in free) or "none is left"
            said = f"no section has figures of `{element.name}`: name it by what it does: {names}"
            found.append((("elements", index, "name"), said))
    return found


def _element(element: ElementSection) -> Mapping[str, Any]:
    plain: dict[str, Any] = {"name": element.name, "kind": element.kind}
    if element.joins is not None:
        plain["joins"] = tuple(element.joins)
    else:
        plain["holds"] = element.holds
    if element.kind == "one-way":
        plain["blocks"] = element.blocks or "backward"
    return MappingProxyType(plain)


def train_problems(train: TrainSection) -> list[Problem]:
    """Return what contradicts itself in a gear train, each with its path below `gear_train`."""
    found: list[Problem] = []
    known = set(train.members)
    for end in ("input", "output"):
        if getattr(train, end) not in known:
            found.append(((end,), f"`{getattr(train, end)}` is not among the members"))
    if CASE in known:
        found.append((("members",), "`case` stands still: it is not a member"))
    found += _twice("members", train.members)
    found += _twice("sets", [one.name for one in train.sets])
    found += _twice("elements", [one.name for one in train.elements])
    for index, one in enumerate(train.sets):
        found += [(("sets", index, *path), said) for path, said in _set_problems(one, known)]
    for index, element in enumerate(train.elements):
        found += [(("elements", index, *path), said) for path, said in _element_problems(element, known)]
    if sum(element.kind == "one-way" for element in train.elements) > MOST_ONE_WAY:
        found.append((("elements",), f"more than {MOST_ONE_WAY} one-way clutches cannot be solved"))
    names = {element.name for element in train.elements}
    for lever, gears in train.ranges.items():
        for gear, applied in (gears or {}).items():
            for place, name in enumerate(applied or ()):
                if name not in names:
                    found.append((("ranges", lever, gear, place), f"`{name}` is not among the elements"))
    return found


def _twice(key: str, names: list[str]) -> list[Problem]:
    return [((key, i), f"`{name}` is listed twice") for i, name in enumerate(names) if name in names[:i]]


def _set_problems(one: SetSection, known: set[str]) -> list[Problem]:
    found: list[Problem] = []
    roles = {"sun": one.sun, "ring": one.ring, "carrier": one.carrier}
    for role, member in roles.items():
        if member not in known:
            found.append(((role,), f"`{member}` is not among the members"))
    if len(set(roles.values())) < 3:
        found.append(((), "sun, ring and carrier of one set must be three different members"))
    if one.sun_teeth is not None and one.ring_teeth is not None:
        found += mesh_problems(
            one.sun_teeth, one.ring_teeth, one.pinions == "double", one.pinion_teeth, one.pinion_count
        )
    return found


def mesh_problems(
    sun: int, ring: int, double: bool, pinion: int | None = None, count: int | None = None
) -> list[Problem]:
    """Return why tooth counts cannot mesh or be assembled.

    A ring goes round its sun: Zr > Zs. Single pinions fill the gap, Zp = (Zr - Zs)/2, so Zr - Zs is even
    (one tooth of profile shift is not allowed for). Equally spaced pinions go in only if (Zs + Zr)/n is
    whole, or (Zr - Zs)/n for double pinions. Tooth counts [1].
    Source: the assembly conditions of planetary gears, common textbook matter (from memory).
    """
    if ring <= sun:
        return [(("ring_teeth",), f"a ring of {ring} teeth cannot go round a sun of {sun}")]
    found: list[Problem] = []
    if not double:
        if (ring - sun) % 2:
            found.append((("ring_teeth",), f"ring {ring} less sun {sun} is odd: no pinion fits between them"))
        elif pinion is not None and pinion != (ring - sun) // 2:
            said = f"between ring {ring} and sun {sun} a pinion has {(ring - sun) // 2} teeth, not {pinion}"
            found.append((("pinion_teeth",), said))
    total = ring - sun if double else ring + sun
    if not found and count is not None and total % count:
        found.append(
            (
                ("pinion_count",),
                f"{count} equally spaced pinions cannot be put in: {total} / {count} is not whole",
            )
        )
    return found


def _element_problems(element: ElementSection, known: set[str]) -> list[Problem]:
    found: list[Problem] = []
    if (element.joins is None) == (element.holds is None):
        return [((), "an element either `joins: [a, b]` or `holds: a`")]
    if element.kind == "coupling" and element.joins is None:
        found.append((("holds",), "a fluid coupling joins two members"))
    if element.kind == "clutch" and element.joins is None:
        found.append((("holds",), "a clutch joins two members; what holds one to the case is a brake"))
    if element.kind == "brake" and element.holds is None:
        found.append((("joins",), "a brake holds one member to the case: write `holds: a`"))
    if element.kind != "one-way" and element.blocks is not None:
        found.append((("blocks",), "only a one-way clutch blocks one direction"))
    for place, member in enumerate(element.joins or ()):
        if member not in known and not (place == 1 and member == CASE and element.kind == "one-way"):
            found.append((("joins", place), f"`{member}` is not among the members"))
    if element.joins is not None and element.joins[0] == element.joins[1]:
        found.append((("joins",), "an element cannot join a member to itself"))
    if element.holds is not None and element.holds not in known:
        found.append((("holds",), f"`{element.holds}` is not among the members"))
    return found
