"""The strip plan: the least work that reaches the parts wanted, as steps, work they share counted once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from bellhousing.boxes.parts_tree import Flange, Part, PartsTree
from bellhousing.errors import FindingError
from bellhousing.work.entries import WorkEntry, number_of, standing
from bellhousing.work.least_work import Unreachable, least_work
from bellhousing.work.naming import find_parts

PER_MINUTE = 60_000  # weights are whole thousandths of a second, so that sums are exact


@dataclass(frozen=True)
class Step:
    """One part coming off.

    Parameters
    ----------
    part : the part
    minutes : time it takes
    flange : fasteners to undo for it, None if there are none or an earlier step undid them
    out_already : holes of that flange whose bolt came out with a bracket before
    opens : slugs of later parts of the plan that it alone makes way for
    instead : slugs of parts that would have made way as well, at more work in all
    wanted : whether it is one of the parts aimed at
    """

    part: Part
    minutes: float
    flange: Flange | None
    out_already: tuple[int, ...]
    opens: tuple[str, ...]
    instead: tuple[str, ...]
    wanted: bool


@dataclass(frozen=True)
class StripPlan:
    """Steps in order; `order` has their slugs, `targets` those of the parts aimed at."""

    steps: tuple[Step, ...]
    minutes: float
    order: tuple[str, ...]
    targets: tuple[str, ...]


def aimed_at(entries: Iterable[WorkEntry]) -> tuple[str, ...]:
    """Return the slugs of the parts the strip of a job was last said to reach, none where nobody said."""
    said = [entry.text("parts") for entry in standing(entries) if entry.kind == "aim"]
    return tuple(part for part in said[-1].split(", ") if part) if said else ()


def aims_left(entries: Iterable[WorkEntry]) -> tuple[str, ...]:
    """Return the slugs of those parts aimed at that did not come off since they were aimed at."""
    kept = standing(entries)
    since = max((number_of(entry) for entry in kept if entry.kind == "aim"), default=0)
    off: set[str] = set()
    for entry in kept:
        if entry.kind == "part-off":
            off.add(entry.subject)
        elif entry.kind == "part-on" and number_of(entry) < since:
            off.discard(entry.subject)
    return tuple(slug for slug in aimed_at(kept) if slug not in off)


def strip_plan(tree: PartsTree, targets: Sequence[str], already_off: Collection[str] = ()) -> StripPlan:
    """Return the least minutes of work that take every target off, and what that work is.

    Targets are slugs, names in plain words, or faults of the catalogue, which mean the parts they sit in.

    Raises
    ------
    FindingError : no target, one that is not of this box (with the nearest names), one that never comes off
    """
    if not targets:
        raise FindingError("no part is aimed at", remedy="name the parts to reach")
    wanted = tuple(dict.fromkeys(slug for target in targets for slug in find_parts(tree, target)))
    off = {slug for name in already_off for slug in find_parts(tree, name)}
    weights = {slug: round(part.minutes * PER_MINUTE) for slug, part in tree.parts.items()}
    groups = {slug: part.after for slug, part in tree.parts.items()}
    try:
        order = least_work(weights, groups, wanted, off)
    except Unreachable as stuck:
        raise FindingError(
            f"{tree.parts[stuck.name].name} never comes off: what must be off first waits for it"
        ) from None
    return StripPlan(
        steps=_steps(tree, order, wanted, off),
        minutes=sum(weights[slug] for slug in order) / PER_MINUTE,
        order=order,
        targets=wanted,
    )


def _steps(
    tree: PartsTree, order: tuple[str, ...], wanted: Collection[str], off: Collection[str]
) -> tuple[Step, ...]:
    gone = set(off)
    undone = {tree.parts[slug].flange for slug in off}
    held = set(order) | gone
    steps = []
    for slug in order:
        part = tree.parts[slug]
        flange = None if part.flange is None or part.flange in undone else tree.flanges[part.flange]
        opens, instead = _ways(tree, slug, order, held)
        steps.append(
            Step(
                part=part,
                minutes=part.minutes,
                flange=flange,
                out_already=()
                if flange is None
                else tuple(hole.number for hole in flange.holes if hole.shared_part in gone),
                opens=opens,
                instead=instead,
                wanted=slug in wanted,
            )
        )
        gone.add(slug)
        undone.add(part.flange)
    return tuple(steps)


def _ways(
    tree: PartsTree, slug: str, order: Sequence[str], held: Collection[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What a part alone makes way for, and what would have made way in its place."""
    opens, instead = [], []
    for later in order:
        for group in tree.parts[later].after:
            if slug in group and not any(other in held for other in group if other != slug):
                opens.append(later)
                instead += [other for other in group if other != slug]
    return tuple(dict.fromkeys(opens)), tuple(dict.fromkeys(instead))
