"""A small box to take apart, and entries of its book written short."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from bellhousing.boxes.parts_tree import (
    Baseline,
    CheckBall,
    Flange,
    Hole,
    JackHoles,
    Part,
    PartsTree,
    Seal,
)
from bellhousing.work.entries import WorkEntry

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
INCH = 0.0254
Step = tuple[str, str, dict[str, Any]]


def small_tree() -> PartsTree:
    """A pump held by seven bolts with sealing washers, a pan with six, and a valve body with three balls."""
    ring = tuple(
        Hole(
            number,
            (0.5, number / 8),
            length=INCH * (2.25 if number == 6 else 1.75),
            shared_with="filler tube" if number == 6 else None,
            shared_part="filler-tube" if number == 6 else None,
            washer="bonded sealing washer",
            sealant="thread sealant" if number == 1 else None,
        )
        for number in range(1, 8)
    )
    pan = tuple(Hole(number, (number / 7, 0.5), length=INCH * 0.75) for number in range(1, 7))
    parts = (
        Part(
            "pump",
            "front pump",
            after=(("converter",),),
            flange="pump-ring",
            seals=(
                Seal("pump-gasket", "pump gasket", "gasket"),
                Seal("rings", "hook rings", "sealing-ring", False, 2),
                Seal("pump-washers", "pump bolt washers", "sealing-washer", True, 7),
            ),
            minutes=20.0,
            measure_before=(Baseline("front-end-play", "the washer is chosen by it"),),
        ),
        Part("filler-tube", "filler tube", minutes=5.0),
        Part("converter", "converter", minutes=10.0, hardness="hard"),
        Part(
            "pan", "pan", flange="pan-rail", seals=(Seal("pan-gasket", "pan gasket", "gasket"),), minutes=15.0
        ),
        Part(
            "valve-body",
            "valve body",
            after=(("pan",),),
            check_balls=tuple(CheckBall(pocket, f"pocket {pocket}") for pocket in (1, 2, 5)),
        ),
        Part(
            "friction-plates",
            "forward clutch plates",
            after=(("pump",),),
            hardness="soft",
            order_name="plate set",
        ),
    )
    flanges = (
        Flange(
            "pump-ring", "pump ring", "5/16-18", ring, washers_one_use=True, jack_holes=JackHoles(2, "3/8-16")
        ),
        Flange("pan-rail", "pan rail", "5/16-18", pan),
    )
    return PartsTree(
        parts={part.slug: part for part in parts},
        flanges={flange.slug: flange for flange in flanges},
        identification=("casting number", "tag number"),
        source="invented",
    )


def book(*steps: Step, who: str = "bench", start: int = 0) -> tuple[WorkEntry, ...]:
    """Entries numbered from `start` + 1, an hour apart."""
    return tuple(
        WorkEntry(
            id=start + place,
            job=1,
            at=AT + timedelta(hours=start + place),
            who=who,
            kind=kind,
            subject=subject,
            data={name: value for name, value in data.items() if name != "supersedes"},
            supersedes=data.get("supersedes"),
        )
        for place, (kind, subject, data) in enumerate(steps, start=1)
    )


def ids(items: Iterable[Any]) -> set[str]:
    """The names of open items."""
    return {item.id for item in items}
