"""What is still open on a job, why, and how each is answered; and the job told in five lines.

An open item may be closed by a written reason. The reason covers what the item said when it was written: if
more comes open there later, the item is open again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from bellhousing.boxes.parts_tree import Flange, Hole, PartsTree
from bellhousing.work.account import Account, Terms, account
from bellhousing.work.build import GATE, TORQUE, build, says
from bellhousing.work.entries import WorkEntry, number_of, standing
from bellhousing.work.ledger import FlangeState, Ledger, PartState, ledger, washers_needed
from bellhousing.work.orders import (
    ARRIVED,
    TO_ORDER,
    OrderLine,
    decisions,
    old_parts_to_settle,
    order_lines,
    seals_short,
)
from bellhousing.work.slots import ExceptionLine, Slot, Slots

IN_WORDS = {
    "missing-on-arrival": "missing on arrival",
    "wrong-length": "of the wrong length",
    "stripped": "stripped",
    "shared-and-out": "shared with a bracket and already out",
    "other": "not as drawn",
}
ANSWER = {
    "missing-on-arrival": "say what went in: replaced, or left empty with a reason",
    "wrong-length": "say: replaced, refitted as it was, or why not",
    "stripped": "say: thread insert, replaced, or why not",
    "shared-and-out": "say who refitted it, or why not",
    "other": "say what became of it",
}


@dataclass(frozen=True)
class OpenItem:
    """One thing that keeps a job open.

    Parameters
    ----------
    id : its name, stable as long as it is about the same thing
    what : what is open, in words
    where : where it lies or stands, empty if that is not known
    why : why it matters
    next : what answers it
    reason : the written reason that closes it, empty while it is open
    reason_entry : the entry the reason stands in, None without one
    """

    id: str
    what: str
    where: str
    why: str
    next: str
    reason: str = ""
    reason_entry: int | None = None


def open_items(
    tree: PartsTree | None,
    entries: Sequence[WorkEntry],
    usual: Terms | None = None,
    taken: Mapping[str, datetime] | None = None,
) -> tuple[OpenItem, ...]:
    """Return what is open and has no written reason; raises as `all_items`."""
    return tuple(item for item in all_items(tree, entries, usual, taken) if not item.reason)


def all_items(
    tree: PartsTree | None,
    entries: Sequence[WorkEntry],
    usual: Terms | None = None,
    taken: Mapping[str, datetime] | None = None,
) -> tuple[OpenItem, ...]:
    """Return everything that is open, those closed by a written reason among them with that reason.

    Parameters
    ----------
    tree : the parts of the box, None if it has none; then only orders, decisions and money can be open
    entries : the job's book of work
    usual : rate and tax where the job's own do not say
    taken : what else was measured on the job, by its short name, and when first
    """
    found: list[OpenItem] = []
    if tree is not None:
        book = ledger(tree, entries)
        for flange in tree.flanges.values():
            found += _of_flange(flange, book.flanges[flange.slug], book)
        for part in tree.parts.values():
            found += _of_part(tree, part.slug, book.parts[part.slug], taken or {})
        found += _of_seals(tree, book)
        found += _of_build(tree, entries)
    lines = order_lines(entries)
    found += _of_decisions(tree, entries, lines)
    for line in lines:
        found += _of_line(line)
    found += [_of_old(line) for line in old_parts_to_settle(lines)]
    found += _of_money(account(entries, usual))
    return tuple(_with_reasons(found, entries))


def _with_reasons(found: Iterable[OpenItem], entries: Sequence[WorkEntry]) -> Iterator[OpenItem]:
    reasons = {entry.subject: entry for entry in standing(entries) if entry.kind == "reason"}
    for item in found:
        entry = reasons.get(item.id)
        covered = entry is not None and entry.text("covers") == item.what
        if entry is not None and covered:
            yield replace(item, reason=entry.text("text"), reason_entry=number_of(entry))
        else:
            yield item


def _of_flange(flange: Flange, state: FlangeState, book: Ledger) -> Iterator[OpenItem]:
    drawn = {hole.number: hole for hole in flange.holes}
    yield from _exceptions(flange.slug, flange.name, flange.fastener, state.holes, drawn)
    loose = [slot for slot in state.holes.at("out", "bagged") if not slot.open_exceptions]
    if loose:
        yield OpenItem(
            f"bolts:{flange.slug}",
            f"{len(loose)} of {state.count.drawn} {flange.fastener}s of the {the(flange.name)} are not back: "
            f"{numbers(loose, 'hole')}",
            where_lies(loose, book),
            "what went out must go in again",
            "put them back and tick them",
        )
    for slot in _empty(state.holes):
        yield OpenItem(
            f"empty:{flange.slug}:{slot.number}",
            f"hole {slot.number} of the {the(flange.name)} is empty",
            "",
            "it was missing on arrival and nothing was put in",
            "put one in and tick it, or write why it stays empty",
        )
    if state.jack_bolts:
        yield OpenItem(
            f"jack-bolts:{flange.slug}",
            f"{state.jack_bolts} puller bolts are still in the {the(flange.name)}",
            "",
            "left in, they hold the parts apart",
            "take them out and tick them",
        )
    needed = washers_needed(flange, state)
    if state.washers_new < needed:
        yield OpenItem(
            f"washers:{flange.slug}",
            f"{state.washers_new} of {needed} sealing washers of the {the(flange.name)} are new",
            "",
            "a sealing washer seals once",
            "fit new ones and say how many are new",
        )


def _exceptions(
    subject: str, name: str, fastener: str, held: Slots, drawn: dict[int, Hole]
) -> Iterator[OpenItem]:
    place = "hole" if drawn else "pocket"
    for slot in held.by_number.values():
        for line in slot.open_exceptions:
            told = _line_text(line, drawn.get(slot.number))
            yield OpenItem(
                f"{place}:{subject}:{slot.number}:{line.what}",
                f"{fastener} of {place} {slot.number} of the {the(name)}: {told}",
                line.where_now or ("" if slot.place == "none" else _where(slot)),
                f"noted by {line.who} on {day(line.at)}",
                ANSWER[line.what],
            )


def _line_text(line: ExceptionLine, hole: Hole | None) -> str:
    said = IN_WORDS[line.what]
    if line.what == "shared-and-out" and hole is not None and hole.shared_with:
        said = f"shared with the {hole.shared_with} and already out"
    return f"{said} ({line.note})" if line.note else said


def _empty(held: Slots) -> list[Slot]:
    return [slot for slot in held.at("none") if not slot.open_exceptions and not slot.left_empty]


def _of_part(
    tree: PartsTree, slug: str, state: PartState, taken: Mapping[str, datetime]
) -> Iterator[OpenItem]:
    part = tree.parts[slug]
    yield from _exceptions(slug, part.name, "ball", state.pockets, {})
    loose = [slot for slot in state.pockets.at("out", "bagged") if not slot.open_exceptions]
    if loose:
        yield OpenItem(
            f"balls:{slug}",
            f"{len(loose)} of {state.count.drawn} check balls of the {the(part.name)} are not back: "
            f"{numbers(loose, 'pocket')}",
            "",
            "a ball left out spoils a shift",
            "put each in its pocket and tick it",
        )
    for slot in _empty(state.pockets):
        yield OpenItem(
            f"empty-pocket:{slug}:{slot.number}",
            f"pocket {slot.number} of the {the(part.name)} is empty",
            "",
            "its ball was missing on arrival and none was put in",
            "put one in and tick it, or write why not",
        )
    if state.off:
        yield OpenItem(
            f"part:{slug}",
            f"the {the(part.name)} is off",
            "",
            f"off since {day(state.moved)}",
            "refit it and tick it",
        )
    lost = [one.measure for one in part.measure_before if not state.measured(one.measure, taken)]
    if state.ever_off and lost:
        yield OpenItem(
            f"baseline:{slug}",
            f"not measured before the {the(part.name)} came off: {', '.join(plain(one) for one in lost)}",
            "",
            part.measure_before[0].why,
            "note the figure, or decline it with a reason from the list",
        )


def _of_seals(tree: PartsTree, book: Ledger) -> Iterator[OpenItem]:
    for (part, seal), (name, count, new) in seals_short(tree, book).items():
        yield OpenItem(
            f"seal:{part}:{seal}",
            f"{new} of {count} new: {the(name)} of the {the(tree.parts[part].name)}",
            "",
            "never used twice",
            "fit it new and say so",
        )


def _of_build(tree: PartsTree, entries: Sequence[WorkEntry]) -> Iterator[OpenItem]:
    """Torques and gates of what came off; those of the hand-over only once the box was out of the car."""
    built = build(tree, entries)
    for step in built.steps:
        if step.torque_left and step.flange is not None:
            left = step.torque_left
            rounds = f"round{'s' if len(left) > 1 else ''} {', '.join(map(str, left))} of {step.flange.steps}"
            yield OpenItem(
                f"{TORQUE}{step.flange.slug}",
                f"the {step.flange.fastener}s of the {the(step.flange.name)} are not torqued, {rounds}",
                "",
                "a joint is tight when somebody put the wrench to it and said so",
                "torque them in their order and tick each round",
            )
    gates = built.gates if built.box_out else tuple(state for step in built.steps for state in step.gates)
    for state in gates:
        if state.passed != "passed":
            yield OpenItem(
                f"{GATE}{state.gate.slug}",
                says(tree, state),
                "",
                state.gate.why or "nothing is handed over unproved",
                "measure it and note the figure" if state.gate.kind == "number" else "check it and say so",
            )


def _of_decisions(
    tree: PartsTree | None, entries: Sequence[WorkEntry], lines: Sequence[OrderLine]
) -> Iterator[OpenItem]:
    ordered = {line.part for line in lines} | {line.line.removeprefix("part-") for line in lines}
    back = {entry.subject: number_of(entry) for entry in standing(entries) if entry.kind == "part-on"}
    for slug, entry in decisions(entries).items():
        name = tree.parts[slug].name if tree is not None and slug in tree.parts else plain(slug)
        decision = entry.text("decision")
        if decision == "replace" and slug not in ordered:
            yield OpenItem(
                f"decided:{slug}",
                f"the {the(name)} is to be replaced, and nothing is on order",
                "",
                entry.text("reason") or entry.text("condition"),
                "order it, or decide anew",
            )
        elif decision == "machine" and back.get(slug, 0) < number_of(entry):
            yield OpenItem(
                f"decided:{slug}",
                f"the {the(name)} is to be machined",
                entry.text("note"),
                entry.text("reason") or entry.text("condition"),
                "refit it when it is back, or decide anew",
            )


def _of_line(line: OrderLine) -> Iterator[OpenItem]:
    called = f"{line.count} × {line.name}"
    from_whom = f" from {line.supplier}" if line.supplier else ""
    if line.came_different:
        note = f" ({line.check_note})" if line.check_note else ""
        yield OpenItem(
            f"order:{line.line}",
            f"{called} came and differ from the old{note}",
            line.supplier,
            "the wrong part fitted is the longest delay of all",
            "send it back, or write why it may be used",
        )
    elif line.status == TO_ORDER:
        yield OpenItem(
            f"order:{line.line}", f"{called}: not ordered yet", "", line.why, "order it or cancel it"
        )
    elif line.status == ARRIVED:
        checked = "" if line.check else ", not laid against the old"
        yield OpenItem(
            f"order:{line.line}",
            f"{called}: here{checked}, not fitted",
            "",
            line.why,
            "fit it, or send it back",
        )
    elif not line.closed:
        when = f", promised for {line.promised.isoformat()}" if line.promised else ", no day promised"
        yield OpenItem(
            f"order:{line.line}", f"{called}: on order{from_whom}{when}", line.supplier, line.why, "chase it"
        )


def _of_old(line: OrderLine) -> OpenItem:
    said = f" ({line.old_part})" if line.old_part else ""
    return OpenItem(
        f"old-part:{line.line}",
        f"the owner was not offered the old {the(line.name)}{said}",
        "",
        "replaced parts are the owner's",
        "offer it back and note the answer",
    )


def _of_money(found: Account) -> Iterator[OpenItem]:
    if found.over > Decimal(0):
        yield OpenItem(
            "money",
            f"{found.total:,.2f} is charged and {found.authorised:,.2f} authorised: {found.over:,.2f} beyond",
            "",
            "more than was said yes to needs a new yes: who, when, how, how much",
            "record a variation or an authority",
        )


def numbers(found: Iterable[Slot], word: str) -> str:
    """Return numbers of holes or pockets in words: "hole 3", "holes 2, 3 and 5"."""
    listed = [str(slot.number) for slot in found]
    if len(listed) == 1:
        return f"{word} {listed[0]}"
    return f"{word}s {', '.join(listed[:-1])} and {listed[-1]}"


def where_lies(found: Iterable[Slot], book: Ledger) -> str:
    """Return where bolts lie: by bag with its place, and loose."""
    places = {bag.tag: bag.place for bag in book.bags}
    counts: dict[str, int] = {}
    for slot in found:
        counts[slot.tag] = counts.get(slot.tag, 0) + 1
    told = []
    for tag, count in counts.items():
        if not tag:
            told.append(f"{count} loose")
        else:
            told.append(f"{count} in bag {tag}" + (f", {places[tag]}" if places.get(tag) else ""))
    return "; ".join(told)


def _where(slot: Slot) -> str:
    return f"in bag {slot.tag}" if slot.tag else ""


def day(at: datetime | None) -> str:
    """Return a day as it is written here."""
    return "" if at is None else at.date().isoformat()


def the(name: str) -> str:
    """Return a name as it stands within a sentence."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def plain(slug: str) -> str:
    """Return a short name in words."""
    return slug.replace("-", " ")
