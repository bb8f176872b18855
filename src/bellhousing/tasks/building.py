"""Building a box up again: what goes back in which order, torques by rounds, gates that want a number."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import UTC
from difflib import get_close_matches

from bellhousing.boxes.parts_tree import Flange, Gate, Part, PartsTree
from bellhousing.errors import FindingError
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.show import show
from bellhousing.tasks.building_shapes import BuildAnswer, BuildStepAnswer, GateAnswer, ReturnedAnswer
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Book, find_flange, read_book, write
from bellhousing.work.build import Build, BuildStep, GateState, build, judged, stripped
from bellhousing.work.entries import standing
from bellhousing.work.ledger import ledger
from bellhousing.work.naming import plain
from bellhousing.work.open_items import the

DONE = ("done", "ok", "yes", "passed")
NOT_RIGHT = ("no", "failed", "not right")
WORK = "recent-work"
MOST_TOLD = 6
LATELY = 730
"""Days within which work on the gearbox may be the cause of what a car comes back with."""


def building(shop: Shop, job: int, *, said: str = "") -> BuildAnswer:
    """Return the build of a job: parts in the order they go back, torques, gates, and the one next thing.

    Raises
    ------
    RecordError : no such job
    BoxFileError : its box has no list of its parts
    """
    book = read_book(shop, job)
    built = build(book.need_tree(), book.entries)
    cautions = shop.catalogue.cautions
    return BuildAnswer(
        job=job,
        car=shop.store.job(job).car,
        box="" if book.box is None else book.box.name,
        steps=tuple(_step(step, cautions) for step in built.steps),
        final=tuple(_gate(state, cautions) for state in built.final),
        binding=built.box_out,
        minutes_left=built.minutes_left,
        next=_next(built),
        said=said,
    )


def note_gate(
    shop: Shop, job: int, gate: str, text: str, *, who: str = WHO, key: str | None = None
) -> BuildAnswer:
    """Note what a gate showed: a figure with its unit, "done", or "not right: what is wrong".

    Raises
    ------
    FindingError : no such gate, or words where a figure is wanted
    QuantityError : a figure that cannot be read, or of another kind
    RecordError : no such job
    """
    book = read_book(shop, job)
    known = _find_gate(book.need_tree(), gate)
    said = " ".join(text.split())
    data = _number(known, said) if _wants_number(known, said) else _word(known, said)
    write(book, "gate", known.slug, data, who=who, key=key)
    value = data.get("value")
    passed = judged(known, value if isinstance(value, float) else None, data.get("done") is True)
    told = {"passed": "passes", "failed": "does not pass", "open": "is noted"}[passed]
    window = "" if known.window is None else f", window {known.window.text}"
    return building(shop, job, said=f"{known.name}: {said}{window}: it {told}.")


def note_torque(
    shop: Shop, job: int, flange: str, step: int | None = None, *, who: str = WHO, key: str | None = None
) -> BuildAnswer:
    """Note that the fasteners of a flange were torqued, one round or all that are left.

    Raises
    ------
    FindingError : no such flange or round, or nothing of it is to be torqued
    RecordError : no such job
    """
    book = read_book(shop, job)
    found = find_flange(book.need_tree(), flange)
    built = build(book.need_tree(), book.entries)
    left = next(
        (s.torque_left for s in built.steps if s.flange is not None and s.flange.slug == found.slug), ()
    )
    if not left or (step is not None and step not in left):
        raise FindingError(
            f"there is no such round left to torque at the {found.name}",
            remedy=f"left are: {', '.join(map(str, left))}"
            if left
            else "its bolts were not out, or all is done",
        )
    for number in left if step is None else (step,):
        told = None if key is None else f"{key}-{number}"
        write(book, "torque", found.slug, {"step": number}, who=who, key=told)
    rounds = f"round {step}" if step is not None else "every round"
    return building(shop, job, said=f"{found.name}: {rounds} torqued ({_torque(found)}).")


def returned(shop: Shop, job: int) -> ReturnedAnswer | None:
    """Return what earlier work on the car may have to do with its coming back, None if there was none lately.

    The faults are those that the finding on work done lately speaks for, less those whose seat nobody
    touched. A car back after work is asked about that work first.

    Raises
    ------
    RecordError : no such job
    """
    record = shop.store.job(job)
    earlier = [one.number for one in shop.store.jobs(car=record.car) if one.number < job]
    for last in sorted(shop.store.books_of(earlier), reverse=True):
        book = read_book(shop, last)
        if book.tree is None:
            continue
        touched = stripped(ledger(book.tree, book.entries))
        days = (record.opened_at - max(entry.at for entry in standing(book.entries))).days
        if touched and days <= LATELY:
            return _returned(shop, book, job, touched, days)
    return None


def _returned(shop: Shop, book: Book, job: int, touched: tuple[str, ...], days: int) -> ReturnedAnswer:
    tree = book.need_tree()
    opened = any(tree.parts[slug].where != "in-car" for slug in touched)
    state = "opened" if opened else "serviced"
    strengths: Mapping[str, Mapping[str, float]] = shop.catalogue.finding(WORK).strengths
    found = sorted(
        (fault for fault, by_state in strengths.items() if by_state.get(state)),
        key=lambda fault: -strengths[fault][state],
    )
    # A fault that only boxes of another kind can have sits nowhere here either.
    known = shop.catalogue.faults if book.box is None else shop.catalogue.of_family(book.box.kind).faults
    found = [fault for fault in found if fault in known and _could(tree, fault, touched)]
    names = tuple(known[fault].name for fault in found)
    parts = tuple(tree.parts[slug].name for slug in touched)
    say = shop.catalogue.finding(WORK).state_names[state]
    return ReturnedAnswer(
        job=job,
        earlier=book.job,
        days=days,
        touched=parts,
        faults=names,
        say=say,
        text=(
            f"Back {days} days after job {book.job}, on which {', '.join(parts[:MOST_TOLD])} came off. "
            f"Look first at: {', '.join(names[:MOST_TOLD])}."
        ),
    )


def _could(tree: PartsTree, fault: str, touched: tuple[str, ...]) -> bool:
    seats = tree.seats_of(fault)
    return not seats or any(part.slug in touched for part in seats)


def _step(step: BuildStep, cautions: Mapping[str, str]) -> BuildStepAnswer:
    part = step.part
    return BuildStepAnswer(
        part=part.slug,
        name=part.name,
        back=step.back,
        done=step.done,
        on_at="" if step.on_at is None else step.on_at.astimezone(UTC).isoformat(timespec="seconds"),
        on_by=step.on_by,
        minutes=part.refit.minutes,
        todo=tuple(_todo(part, step.flange)),
        flange="" if step.flange is None else step.flange.slug,
        torque="" if step.flange is None else _torque(step.flange),
        torque_steps=0 if step.flange is None or step.flange.torque is None else step.flange.steps,
        torque_left=step.torque_left,
        gates=tuple(_gate(state, cautions) for state in step.gates),
        waits_for=step.waits_for,
        cautions=tuple(cautions[name] for name in part.cautions if name in cautions),
    )


def _todo(part: Part, flange: Flange | None) -> Iterator[str]:
    new = [
        f"{seal.count} × {seal.name}" if seal.count > 1 else seal.name for seal in part.seals if seal.one_use
    ]
    if new:
        yield f"New: {', '.join(new)}."
    if part.refit.soaked:
        yield f"Soak plates and linings in clean fluid for {part.refit.soaked / 60:.0f} min first."
    if part.refit.lubricant:
        yield f"Lubricate with {part.refit.lubricant}."
    if part.refit.lip:
        yield f"Lip: {part.refit.lip}."
    if part.check_balls:
        balls = ", ".join(f"pocket {ball.pocket} ({ball.name})" for ball in part.check_balls)
        yield f"{len(part.check_balls)} check balls, one in each: {balls}."
    for spring in part.springs:
        yield f"Spring {spring.name}{f', {spring.colour}' if spring.colour else ''}: {spring.goes_to}."
    yield from (f"Mark: {mark}" for mark in part.marks)
    yield from part.refit.note
    if flange is not None:
        yield from _bolts(flange)


def _bolts(flange: Flange) -> Iterator[str]:
    lengths = Counter(None if hole.length is None else show(hole.length, "in") for hole in flange.holes)
    usual = lengths.most_common(1)[0][0]
    thread = f" {flange.thread}" if flange.thread else ""
    length = "" if usual is None else f", {usual} under the head"
    yield f"{len(flange.holes)}{thread} {flange.fastener}s{length}."
    alike: dict[str, list[int]] = {}
    for hole in flange.holes:
        told = []
        own = None if hole.length is None else show(hole.length, "in")
        if own != usual and own is not None:
            told.append(own)
        told += [text for text in (hole.washer, hole.sealant) if text]
        if hole.shared_with:
            told.append(f"with the {hole.shared_with}")
        if hole.hidden:
            told.append(f"hidden: {hole.hidden}")
        if told:
            alike.setdefault(", ".join(told), []).append(hole.number)
    for said, numbers in alike.items():
        listed = ", ".join(str(number) for number in numbers)
        yield f"Hole{'' if len(numbers) == 1 else 's'} {listed}: {said}."


def _torque(flange: Flange) -> str:
    if flange.torque is None:
        return "torque: see the manual"
    figure = show(flange.torque, flange.torque_unit)
    rounds = f" in {flange.steps} rounds" if flange.steps > 1 else ""
    order = f", order {'-'.join(map(str, flange.sequence))}" if flange.sequence else ""
    source = f" ({flange.torque_source})" if flange.torque_source else ""
    return f"{figure}{rounds}{order}{source}"


def _gate(state: GateState, cautions: Mapping[str, str]) -> GateAnswer:
    gate = state.gate
    shown = "passed over" if state.reason and state.passed != "passed" else state.passed
    window = "" if gate.window is None else gate.window.text
    wants = f"window {window}" if window else ("a figure" if gate.kind == "number" else "a check")
    told = f"{gate.name}: {state.text or 'not yet'} ({wants})"
    return GateAnswer(
        slug=gate.slug,
        name=gate.name,
        kind=gate.kind,
        unit=gate.unit,
        window=window,
        method=gate.method,
        why=gate.why,
        hold=gate.hold,
        state=shown,
        said=state.text,
        reason=state.reason,
        who=state.who,
        at="" if state.at is None else state.at.astimezone(UTC).isoformat(timespec="seconds"),
        cautions=tuple(cautions[name] for name in gate.cautions if name in cautions),
        text=f"{told}, {shown}",
    )


def _next(built: Build) -> str:
    step = built.next
    if not built.steps:
        return "Nothing came off yet: there is nothing to build."
    if step is None:
        left = [state.gate.name for state in built.final if not state.done and built.box_out]
        return f"Before the hand-over: {left[0]}." if left else "Everything is back and proved."
    if step.waits_for:
        return f"Hold: {step.waits_for[0]}. Nothing goes on top of it until it is signed."
    if not step.back:
        return f"Refit the {the(step.part.name)}."
    if step.torque_left and step.flange is not None:
        return f"Torque the {the(step.flange.name)}: {_torque(step.flange)}, round {step.torque_left[0]}."
    return f"Prove: {next(state.gate.name for state in step.gates if not state.done)}."


def _find_gate(tree: PartsTree, said: str) -> Gate:
    wanted = plain(said)
    every = [gate for _, gate in tree.gates()]
    named = [gate for gate in every if wanted in (plain(gate.slug), plain(gate.name))]
    named = named or [gate for gate in every if wanted and plain(gate.slug).startswith(wanted)]
    if len(named) == 1:
        return named[0]
    near = [gate.slug for gate in named] or get_close_matches(
        "-".join(wanted.split()), [gate.slug for gate in every], n=4, cutoff=0.4
    )
    raise FindingError(
        f"'{said[:60]}' {'could be several gates' if named else 'is no gate of this box'}",
        remedy=f"say one of: {', '.join(near or (gate.slug for gate in every))}",
    )


def _wants_number(gate: Gate, said: str) -> bool:
    return gate.kind == "number" and not said.lower().startswith(NOT_RIGHT)


def _number(gate: Gate, said: str) -> dict[str, float | str | bool]:
    read = parse_measured(said, usual_unit=gate.unit)
    text = f"{said} {gate.unit}".strip() if read.unit_assumed else said
    if read.unit != gate.unit:
        text = f"{said}, {show(read.value, gate.unit)}"
    return {"value": float(read.value), "unit": gate.unit, "text": text, "done": True}


def _word(gate: Gate, said: str) -> dict[str, float | str | bool]:
    lowered = said.lower()
    if lowered.startswith(NOT_RIGHT):
        return {"done": False, "text": said}
    if not said or lowered in DONE or lowered.startswith(DONE):
        return {"done": True, "text": said or "done"}
    raise FindingError(
        f"'{said[:60]}' does not say whether {gate.name} is as it should be",
        where=gate.name,
        remedy="say done, or: no, and what is wrong",
    )
