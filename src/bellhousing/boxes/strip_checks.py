"""What contradicts itself in the `strip` section of a box file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from difflib import get_close_matches
from itertools import pairwise

from bellhousing.boxes.strip_file import FlangeEntry, GateEntry, Gates, PartEntry, StripSection
from bellhousing.boxes.strip_tree import behind, gate_kind
from bellhousing.boxes.tree import Path
from bellhousing.errors import QuantityError
from bellhousing.fits.measures import shipped_measures
from bellhousing.quantities.units import unit

Problem = tuple[Path, str]
_CLOSE = 0.04
_ALMOST = 0.85


def strip_problems(section: StripSection | None, own_measures: Collection[str] = ()) -> Iterator[Problem]:
    """Yield each contradiction with its path; `own_measures` are those the box file adds of its own."""
    if section is None:
        return
    parts, flanges = section.parts or {}, section.flanges or {}
    for slug, flange in flanges.items():
        yield from _flange_problems(("strip", "flanges", slug), flange, parts)
        if not any(part.flange == slug for part in parts.values()):
            yield ("strip", "flanges", slug), "no part is held by this flange"
    measures = (*shipped_measures(), *own_measures)
    for slug, part in parts.items():
        yield from _part_problems(("strip", "parts", slug), slug, part, section)
        yield from _measure_problems(("strip", "parts", slug), part, measures)
    yield from _repeated_seals(parts)
    yield from _gate_problems(section, measures)
    groups = {slug: _groups(section, part, parts) for slug, part in parts.items()}
    found = cycle(groups)
    if found:
        said = ", ".join(f"`{one}` comes off after `{two}`" for one, two in pairwise(found))
        yield ("strip", "parts", found[0], "after"), f"nothing of these can come off first: {said}"


def _groups(section: StripSection, part: PartEntry, parts: Mapping[str, PartEntry]) -> list[list[str]]:
    """What must be off first, as far as it is known."""
    written = [*(part.after or ()), *(list(group) for group in behind(section, part))]
    known = [[name for name in group if name in parts] for group in written]
    return [group for group in known if group]


def cycle(groups: Mapping[str, Sequence[Sequence[str]]]) -> list[str]:
    """Return parts of which none can ever come off, each waiting for the next, the first again at the end.

    `groups` are, by part, the groups of which one part each must be off first.  Empty if all come off.
    """
    off: set[str] = set()
    grew = True
    while grew:
        free = {
            name
            for name, wanted in groups.items()
            if name not in off and all(any(other in off for other in group) for group in wanted)
        }
        grew = bool(free)
        off |= free
    stuck = [name for name in groups if name not in off]
    if not stuck:
        return []
    walked = [stuck[0]]
    while True:
        held = next(group for group in groups[walked[-1]] if not any(other in off for other in group))
        if held[0] in walked:
            return [*walked[walked.index(held[0]) :], held[0]]
        walked.append(held[0])


def _near(name: str, known: Collection[str]) -> str:
    close = get_close_matches(name, known, n=1, cutoff=0.5)
    return f": did you mean `{close[0]}`?" if close else ""


def _flange_problems(path: Path, flange: FlangeEntry, parts: Mapping[str, PartEntry]) -> Iterator[Problem]:
    count = len(flange.holes)
    for number, hole in enumerate(flange.holes):
        at = (*path, "holes", number)
        for key in ("shared_part", "behind"):
            name = getattr(hole, key)
            if name is not None and name not in parts:
                yield (*at, key), f"no part is called `{name}`{_near(name, parts)}"
        if hole.behind is not None and hole.hidden is None:
            yield at, "`behind` goes with `hidden`, which says in words where the bolt is"
        if hole.shared_part is not None and hole.shared_with is None:
            yield at, "`shared_part` goes with `shared_with`, which names the bracket"
        for other in range(number):
            apart = max(abs(a - b) for a, b in zip(hole.at, flange.holes[other].at, strict=True))
            if apart < _CLOSE:
                yield (*at, "at"), f"hole {number + 1} lies on hole {other + 1}: a finger needs room"
    sequence = flange.sequence
    if sequence is None:
        return
    absent = [number for number in sequence if number > count]
    twice = [number for number, times in Counter(sequence).items() if times > 1]
    left = [number for number in range(1, count + 1) if number not in sequence]
    if absent:
        yield (*path, "sequence"), f"there is no hole {absent[0]}: the flange has {count}"
    if twice:
        yield (*path, "sequence"), f"hole {twice[0]} is tightened twice"
    if left:
        yield (*path, "sequence"), f"hole {left[0]} is never tightened"


def _part_problems(path: Path, slug: str, part: PartEntry, section: StripSection) -> Iterator[Problem]:
    parts, flanges = section.parts or {}, section.flanges or {}
    if part.flange is not None and part.flange not in flanges:
        yield (*path, "flange"), f"no flange is called `{part.flange}`{_near(part.flange, flanges)}"
    if part.inside is not None and part.inside not in parts:
        yield (*path, "inside"), f"no part is called `{part.inside}`{_near(part.inside, parts)}"
    if part.inside == slug:
        yield (*path, "inside"), "it cannot be inside itself"
    for number, group in enumerate(part.after or ()):
        for name in group:
            if name not in parts:
                yield (*path, "after", number), f"no part is called `{name}`{_near(name, parts)}"
    pockets = Counter(ball.pocket for ball in part.check_balls or ())
    for pocket, times in pockets.items():
        if times > 1:
            yield (*path, "check_balls"), f"pocket {pocket} is named twice: a pocket holds one ball"


def _repeated_seals(parts: Mapping[str, PartEntry]) -> Iterator[Problem]:
    owner: dict[str, str] = {}
    for slug, part in parts.items():
        for name in part.seals or {}:
            if name in owner:
                yield (
                    ("strip", "parts", slug, "seals", name),
                    f"`{name}` is already a seal of {owner[name]}: each seal has a name of its own",
                )
            owner.setdefault(name, slug)


def _measure_problems(path: Path, part: PartEntry, measures: Collection[str]) -> Iterator[Problem]:
    for number, row in enumerate(part.measure_before or ()):
        yield from _mistyped((*path, "measure_before", number, "measure"), row.measure, measures)


def _mistyped(path: Path, name: str, measures: Collection[str]) -> Iterator[Problem]:
    """A name that is no measure may be a finding, unless it is a measure but for a letter."""
    if name not in measures:
        close = get_close_matches(name, measures, n=1, cutoff=_ALMOST)
        if close:
            yield path, f"nothing is measured as `{name}`: did you mean `{close[0]}`?"


def _gate_problems(section: StripSection, measures: Collection[str]) -> Iterator[Problem]:
    owner: dict[str, str] = {}
    listed: list[tuple[Path, str, Gates]] = [
        (("strip", "parts", slug, "refit", "gates"), slug, part.refit.gates)
        for slug, part in (section.parts or {}).items()
    ]
    for path, holder, gates in (*listed, (("strip", "final_gates"), "the end", section.final_gates)):
        for slug, gate in (gates or {}).items():
            if slug in owner:
                yield (*path, slug), f"`{slug}` is already a gate of {owner[slug]}"
            owner.setdefault(slug, holder)
            yield from _one_gate((*path, slug), gate, measures)


def _one_gate(path: Path, gate: GateEntry, measures: Collection[str]) -> Iterator[Problem]:
    if gate.measure is not None:
        yield from _mistyped((*path, "measure"), gate.measure, measures)
    known = shipped_measures().get(gate.measure or "")
    if gate_kind(gate) == "check":
        if gate.window is not None or gate.unit is not None:
            yield path, "a gate that is only looked at has neither unit nor window"
        return
    name = gate.unit or (known.unit if known is not None else None)
    if name is None and gate.window is None and gate.measure is None:
        yield path, "a gate that wants a number needs a `measure`, a `unit` or a `window`"
    try:
        wanted = None if name is None else unit(name).dimension
    except QuantityError as error:
        yield (*path, "unit"), str(error)
        return
    if wanted is not None and gate.window is not None and unit(gate.window.unit).dimension != wanted:
        yield (*path, "window"), f"the window must be in {name or 'plain figures'} or another of that kind"
