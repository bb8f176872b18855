"""What is said range by range or gear by gear: "no drive in reverse, forward fine", "slips in 1 and 3"."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from bellhousing.words.model import FindingShape, Understood
from bellhousing.words.range_statements import Segment, joined, runs_of, segments_of, sentences_of
from bellhousing.words.range_words import Unit, units_of
from bellhousing.words.text import tokens

_ALL_RANGES = frozenset({"reverse", "drive", "low"})
_GEAR_NAMES = ("first", "second", "third", "fourth")
CONFIDENCE = 0.9
_GAUGE = frozenset({"gauge", "line", "pressure", "tap"})  # beside "full": looks of their own


@dataclass(frozen=True)
class ByRange:
    """What a stretch of text says range by range, and where it stands."""

    start: int
    end: int
    found: tuple[Understood, ...]


def read_by_range(text: str, findings: Mapping[str, FindingShape]) -> tuple[ByRange, ...]:
    """Every stretch of a text that says what drives, what does not and what slips, range by range.

    Only stretches all of whose words are of that kind are read, and only those that tell of a trouble.
    """
    row = tokens(text)
    words = {token.text for token in row}
    if "full" in words and not _GAUGE.isdisjoint(words):
        return ()
    found: list[ByRange] = []
    for sentence in sentences_of(units_of(row)):
        for run in runs_of(sentence):
            said = _understood(run, text, findings)
            if said:
                found.append(ByRange(run[0][0].start, run[-1][-1].end, said))
    return tuple(found)


def _understood(
    run: Sequence[Sequence[Unit]], text: str, findings: Mapping[str, FindingShape]
) -> tuple[Understood, ...]:
    highest = "fourth" if "slip-fourth" in findings else "third"
    segments = joined(segments_of(run))
    if not segments or not all(segment.judged for segment in segments):
        return ()
    for segment in segments:
        segment.names = [highest if name == "top" else name for name in segment.names]
        segment.but_for = [highest if name == "top" else name for name in segment.but_for]
    named = {name for segment in segments for name in (*segment.names, *segment.but_for)}
    if not any(_tells_trouble(segment) for segment in segments) or ("fourth" in named and highest == "third"):
        return ()
    plain = len(segments) == 1 and not segments[0].but_for and named <= set(_GEAR_NAMES)
    if plain and not any(unit.digit for part in run for unit in part):
        return ()
    said = text[run[0][0].start : run[-1][-1].end]
    slips = [segment for segment in segments if segment.verb == "slip"]
    states = _of_slip(segments, highest, bool(slips))
    if states is None:
        return ()
    drives = [segment for segment in segments if segment.verb != "slip"]
    dead = _of_drive(drives) if not slips or any(_tells_trouble(segment) for segment in drives) else ""
    if dead is None:
        return ()
    found = [
        _found(finding, state, said, assumed) for finding, state, assumed in states if finding in findings
    ]
    if dead and "dead-ranges" in findings:
        found.insert(0, _found("dead-ranges", dead, said, ()))
    return tuple(found)


def _tells_trouble(segment: Segment) -> bool:
    return segment.bad or bool(segment.but_for) or (segment.only and segment.verb in {"move", "right"})


def _found(finding: str, state: str, said: str, assumed: tuple[str, ...]) -> Understood:
    in_words = finding.startswith("upshift-")
    states, word = ((), state) if in_words else ((state,), None)
    return Understood(said, finding, states, word, None, {}, CONFIDENCE, (), assumed)


def _status(segments: Sequence[Segment], whole: Collection[str]) -> dict[str, bool] | None:
    """Whether each of some ranges is right, as far as it is said; None where it is said both ways."""
    status: dict[str, bool] = {}
    for segment in segments:
        if "every" in segment.names:
            status |= dict.fromkeys(whole, not segment.bad)
            status |= {name: segment.bad for name in segment.but_for if name in whole}
    explicit: dict[str, bool] = {}
    for segment in segments:
        for name in segment.names:
            if name in whole and explicit.setdefault(name, not segment.bad) is segment.bad:
                return None
    status |= explicit
    for segment in segments:
        if "rest" in segment.names:
            status = dict.fromkeys(whole, not segment.bad) | status
        if segment.only:
            status = dict.fromkeys(whole, segment.bad) | status
    return status


def _of_drive(segments: Sequence[Segment]) -> str | None:
    """The state of the ranges in some statements: empty where they tell of none, None where unclear."""
    spread = [
        replace(
            segment,
            names=[
                part
                for name in segment.names
                for part in (("drive", "low") if name == "forward" else (name,))
            ],
            but_for=[
                part
                for name in segment.but_for
                for part in (("drive", "low") if name == "forward" else (name,))
            ],
        )
        for segment in segments
    ]
    about = [
        s for s in spread if not s.names or not {*s.names, *s.but_for}.isdisjoint(_ALL_RANGES | {"every"})
    ]
    if not about or not any(_tells_trouble(segment) for segment in about):
        return ""
    gears = {name for segment in spread for name in (*segment.names, *segment.but_for)} & set(_GEAR_NAMES)
    if gears and not any(_ALL_RANGES & {*segment.names, *segment.but_for} for segment in about):
        return ""
    status = _status(spread, _ALL_RANGES)
    if status is None:
        return None
    if any(not segment.names and segment.bad for segment in spread):
        if not status.get("reverse") and not status.get("low"):
            return None if status else ""
        status = {"drive": False} | status
    return _state(status)


def _state(status: Mapping[str, bool]) -> str | None:
    drive, low, reverse = (status.get(name) for name in ("drive", "low", "reverse"))
    if drive is False:
        if low:
            return "no-drive-but-low-drives"
        return "nothing-drives" if reverse is False else "no-drive-forward"
    if reverse is False and low is not False:
        return "no-reverse"
    return None


def _of_slip(
    segments: Sequence[Segment], highest: str, slips: bool
) -> list[tuple[str, str, tuple[str, ...]]] | None:
    """The findings of each gear: slipping, dead, or right beside one that is not."""
    gears = _GEAR_NAMES[: _GEAR_NAMES.index(highest) + 1]
    whole = (*gears, "reverse") if slips else gears
    spread = [
        replace(
            segment,
            names=[
                part
                for name in segment.names
                for part in (gears if slips and name in {"forward", "drive"} else (name,))
            ],
        )
        for segment in segments
        if segment.verb in {"slip", "right", "move"} or not slips or not segment.names
    ]
    if slips:
        spread = [s for s in spread if s.verb == "slip" or not _tells_trouble(s)]
    status = _status([s for s in spread if not s.only or s.verb != "slip"], whole)
    if status is None or (slips and any("low" in segment.names for segment in segments)):
        return None
    for segment in spread:
        if segment.only and segment.verb == "slip":
            status |= dict.fromkeys((name for name in segment.names if name in whole), False)
    named = {name for segment in spread for name in (*segment.names, *segment.but_for)}
    told = set(whole) if slips and "every" in named else named
    dead = [gear for gear in gears if status.get(gear) is False]
    if not slips and not dead:
        return []
    if not slips and (not any(status.get(gear) for gear in gears) or not named & set(_GEAR_NAMES)):
        return [] if not named & set(_GEAR_NAMES) else None
    found: list[tuple[str, str, tuple[str, ...]]] = []
    for gear in whole:
        if status.get(gear) is None or gear not in told:
            continue
        found += [(f"slip-{gear}", "none", ())] if status[gear] else _wrong(gear, highest, slips)
    return found


def _wrong(gear: str, highest: str, slips: bool) -> list[tuple[str, str, tuple[str, ...]]]:
    """A gear that slips, or one that is not there: the highest is never reached, another slips wholly."""
    if slips:
        return [(f"slip-{gear}", "slips", ())]
    if gear == highest:
        into = "34" if highest == "fourth" else "23"
        return [
            (f"upshift-{into}-light", "never", ("taken as light throttle",)),
            (f"shift-feel-{into}", "never", ()),
        ]
    return [(f"slip-{gear}", "slips", (f"no drive in {gear} taken as slipping there wholly",))]
