"""Statements of what drives and what does not, each with the ranges it is of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from bellhousing.words.range_words import Unit


@dataclass
class Segment:
    """One statement: of which ranges, by which verb, denied or not; `link` is what joins it to the last.

    `confirmed` says that a "yes" stands in it: "slips in first no, second yes".
    """

    link: str = ""
    names: list[str] = field(default_factory=list)
    but_for: list[str] = field(default_factory=list)
    verb: str = ""
    denied: bool = False
    confirmed: bool = False
    only: bool = False
    verb_last: bool = False
    named_after_denial: bool = False

    @property
    def judged(self) -> bool:
        """Whether it says that something is right or wrong, and not only of what."""
        return bool(self.verb or self.denied or self.confirmed or (self.but_for and "every" in self.names))

    @property
    def bad(self) -> bool:
        """Whether what it says is a trouble."""
        return (self.verb in {"slip", "dead"}) != self.denied


def sentences_of(units: Sequence[Unit]) -> list[list[Unit]]:
    """The words between full stops, each "but" that takes something out told from one that goes on."""
    found: list[list[Unit]] = [[]]
    for place, unit in enumerate(units):
        if unit.kind == "break" and unit.name in {".", ";"}:
            found.append([])
        elif unit.name == "but" and _excepts(units, place):
            found[-1].append(replace(unit, kind="except"))
        else:
            found[-1].append(unit)
    return found


def _excepts(units: Sequence[Unit], place: int) -> bool:
    """Whether a "but" takes out what follows: "all gears but second"."""
    judging = {"move", "right", "dead", "slip"}
    before: list[str] = []
    for unit in reversed(units[:place]):
        if unit.kind == "break":
            break
        before.append(unit.kind)
    after: list[str] = []
    for unit in units[place + 1 :]:
        if unit.kind == "break":
            break
        after.append(unit.kind)
    if "every" not in before or "range" not in after or "not" in after:
        return False
    return judging.isdisjoint(before) or judging.isdisjoint(after)


def runs_of(sentence: Sequence[Unit]) -> list[list[list[Unit]]]:
    """Stretches of parts all of whose words are known here; none beside a part that also tells of a range."""
    parts: list[list[Unit]] = [[]]
    for unit in sentence:
        if unit.kind in {"break", "join"}:
            parts.append([unit])
        else:
            parts[-1].append(unit)
    runs: list[list[list[Unit]]] = [[]]
    for part in parts:
        if all(unit.kind != "other" for unit in part):
            if part:
                runs[-1].append(part)
        elif any(unit.kind in {"range", "every", "slip", "rest", "move"} for unit in part):
            return []
        else:
            runs.append([])
    return [run for run in (_trimmed(run) for run in runs) if run]


def _trimmed(run: Sequence[list[Unit]]) -> list[list[Unit]]:
    """A run without the breaks that only part it from what stands before."""
    kept = [[unit for unit in part if unit.kind not in {"break", "join"}] for part in run[:1]]
    kept += [list(part) for part in run[1:]]
    while kept and all(unit.kind in {"break", "join", "quiet"} for unit in kept[-1]):
        kept.pop()
    return kept if kept and kept[0] else kept[1:] if len(kept) > 1 else []


def segments_of(run: Sequence[Sequence[Unit]]) -> list[Segment]:
    """The statements of a run, cut where another range is judged: "forward ok | reverse dead"."""
    found: list[Segment] = []
    for place, part in enumerate(run):
        opening = part[0]
        link = "" if place == 0 else (opening.kind if opening.kind == "join" else opening.name)
        now = Segment(link)
        found.append(now)
        taking = False
        for unit in part:
            if unit.kind == "except":
                taking = True
                now.names = now.names or (["every"] if now.denied else [])
            elif taking and unit.kind == "range":
                now.but_for.append(unit.name)
            elif _starts_anew(now, unit):
                moved = now.names[-1:] if _takes_the_last(now, unit) else []
                now.names = now.names[: len(now.names) - len(moved)]
                now.named_after_denial &= bool(now.names)
                now = Segment("then", list(moved))
                found.append(now)
                _add(now, unit)
            else:
                _add(now, unit)
    return found


def _starts_anew(now: Segment, unit: Unit) -> bool:
    """Whether a word begins another statement: "no reverse | forward fine", "forward ok | reverse dead"."""
    if unit.kind == "not":
        return bool(now.verb) or now.named_after_denial
    if unit.kind == "yes":
        return now.named_after_denial
    if unit.kind in {"range", "every", "rest"}:
        return now.verb_last and bool(now.names)
    if unit.kind in {"move", "right", "dead", "slip"}:
        if now.verb and now.names:
            return now.denied or unit.kind in {"dead", "slip"} or now.verb in {"dead", "slip"}
        return now.named_after_denial and len(now.names) > 1
    return False


def _takes_the_last(now: Segment, unit: Unit) -> bool:
    if unit.kind == "yes":
        return bool(now.names)
    return unit.kind in {"move", "right", "dead", "slip"} and len(now.names) > 1 and not now.verb_last


def _add(now: Segment, unit: Unit) -> None:
    if unit.kind == "not":
        now.denied = True
    elif unit.kind == "yes":
        now.confirmed = True
    elif unit.kind == "only":
        now.only = True
    elif unit.kind in {"range", "every", "rest"}:
        now.names.append(unit.name if unit.kind == "range" else unit.kind)
        now.verb_last = False
        now.named_after_denial |= now.denied
    elif unit.kind in {"move", "right", "dead", "slip"}:
        now.verb = unit.kind if not now.verb or unit.kind != "right" else now.verb
        now.verb_last = bool(now.names)


def joined(segments: Sequence[Segment]) -> list[Segment] | None:
    """Bare names given to the statement they belong to; None where one belongs to none."""
    rest = _completed(segments)
    if any(segment.denied and segment.confirmed for segment in rest):
        return None
    place = len(rest) - 1
    while place >= 0:
        bare = rest[place]
        if bare.judged or not bare.names:
            place -= 1
            continue
        if bare.only or not (_from(rest, place, after=True) or _from(rest, place, after=False)):
            return None
        if _from(rest, place, after=True):
            rest[place + 1].names[:0] = bare.names
            rest[place + 1].link = bare.link
        else:
            rest[place - 1].names += bare.names
            rest[place - 1].but_for += bare.but_for
        del rest[place]
        place = min(place, len(rest)) - 1
    return rest


def _completed(segments: Sequence[Segment]) -> list[Segment]:
    """Statements with what they leave out: "reverse slips, third doesn't", "D nothing", "slips in D no"."""
    done: list[Segment] = []
    for segment in segments:
        before = done[-1] if done else None
        answers = (segment.denied or segment.confirmed) and not segment.verb
        if before is not None and answers and not segment.named_after_denial:
            if segment.names and before.verb:
                segment.verb = before.verb
            elif not segment.names and before.verb and not before.denied:
                before.denied, before.confirmed = segment.denied, segment.confirmed
                continue
            elif not segment.names and not segment.but_for and before.names and not before.judged:
                before.denied = before.named_after_denial = True
                continue
        done.append(segment)
    return done


def _from(rest: Sequence[Segment], place: int, *, after: bool) -> bool:
    """Whether a bare name takes what is said from the statement after it, or else before it."""
    following = rest[place + 1] if place + 1 < len(rest) else None
    takes_after = (
        following is not None and following.judged and following.verb_last and following.link in {"join", ","}
    )
    if not after:
        return place > 0 and rest[place].link in {"join", ","}
    closer_before = (
        place > 0 and rest[place].link == "join" and following is not None and following.link != "join"
    )
    return takes_after and not closer_before
