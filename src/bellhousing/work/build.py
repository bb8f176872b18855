"""The build of a box: what goes back in which order, its torques, and the gates it must pass."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

from bellhousing.boxes.parts_tree import Flange, Gate, Part, PartsTree
from bellhousing.work.entries import WorkEntry, number_of, standing
from bellhousing.work.ledger import FlangeState, Ledger, ledger

Passed = Literal["open", "passed", "failed"]
GATE, TORQUE = "gate:", "torque:"
"""Starts of the names under which a gate and a torque are open, and their written reasons kept."""


@dataclass(frozen=True)
class GateState:
    """A gate and how it stands.

    Parameters
    ----------
    gate : the gate
    part : slug of the part it belongs to, None for those before the hand-over
    passed : open (nothing said), passed, or failed (outside its window, or not as it should be)
    value : the number found [SI], None if none was
    text : what was said
    who, at : by whom and when
    entry : number of the entry in the book, None while open
    reason : the written reason for going on all the same, empty without one
    """

    gate: Gate
    part: str | None
    passed: Passed = "open"
    value: float | None = None
    text: str = ""
    who: str = ""
    at: datetime | None = None
    entry: int | None = None
    reason: str = ""

    @property
    def done(self) -> bool:
        """Whether the build may go on past it."""
        return self.passed == "passed" or bool(self.reason)


@dataclass(frozen=True)
class BuildStep:
    """One part going back.

    Parameters
    ----------
    part : the part
    flange : its fasteners, None if it has none
    torque_left : steps of the torque not done yet
    back : whether it is on again
    on_at, on_by : since when and by whom
    gates : what it must pass
    waits_for : names of the gates, earlier in the build, that stop here until somebody has signed
    """

    part: Part
    flange: Flange | None
    torque_left: tuple[int, ...]
    back: bool
    on_at: datetime | None
    on_by: str
    gates: tuple[GateState, ...]
    waits_for: tuple[str, ...] = ()

    @property
    def done(self) -> bool:
        """Whether nothing of it is left to do."""
        return self.back and not self.torque_left and all(state.done for state in self.gates)


@dataclass(frozen=True)
class Build:
    """The whole build: the steps in their order, and the gates before the car is handed over."""

    steps: tuple[BuildStep, ...]
    final: tuple[GateState, ...]

    @property
    def next(self) -> BuildStep | None:
        """The first step with something left to do, None once all are done."""
        return next((step for step in self.steps if not step.done), None)

    @property
    def gates(self) -> tuple[GateState, ...]:
        """Every gate, those before the hand-over last."""
        return (*(state for step in self.steps for state in step.gates), *self.final)

    @property
    def box_out(self) -> bool:
        """Whether anything came off for which the box is out of the car; then the last gates are binding."""
        return any(step.part.where != "in-car" for step in self.steps)

    @property
    def minutes_left(self) -> float:
        """Time that the parts still off take to go back [min]."""
        return sum(step.part.refit.minutes for step in self.steps if not step.back)


def build(tree: PartsTree, entries: Sequence[WorkEntry]) -> Build:
    """Return the build of everything that ever came off on a job, and how far it is."""
    book = ledger(tree, entries)
    told = _told(tree, entries)
    torqued = _torqued(entries, book)
    stopped: list[str] = []
    steps = []
    for slug in build_order(tree, stripped(book)):
        part, state = tree.parts[slug], book.parts[slug]
        flange = None if part.flange is None else tree.flanges[part.flange]
        gates = tuple(told.get(gate.slug, GateState(gate, slug)) for gate in part.refit.gates)
        left = () if flange is None else _torque_left(flange, book.flanges[flange.slug], torqued)
        back = not state.off
        steps.append(
            BuildStep(
                part,
                flange,
                left,
                back,
                state.moved if back else None,
                state.by if back else "",
                gates,
                tuple(stopped),
            )
        )
        stopped += [one.gate.name for one in gates if one.gate.hold and not one.done]
    final = tuple(told.get(gate.slug, GateState(gate, None)) for gate in tree.final_gates) if steps else ()
    return Build(tuple(steps), final)


def stripped(book: Ledger) -> tuple[str, ...]:
    """Return every part that ever came off, in the order it last came off."""
    off = sorted((state for state in book.parts.values() if state.ever_off), key=lambda state: state.order)
    return tuple(state.slug for state in off)


def build_order(tree: PartsTree, off: Sequence[str]) -> tuple[str, ...]:
    """Return the order in which parts go back: last off, first on, as far as access allows.

    A part may go back only while every part still off can be reached without it: of each group one of which
    had to be off before that part, another is still off. Where what was noted does not fit the tree, the
    order of coming off decides alone.

    Parameters
    ----------
    tree : what holds what
    off : slugs in the order they came off
    """
    left = list(off)
    order: list[str] = []
    while left:
        ready = [slug for slug in reversed(left) if not _shuts_in(tree, slug, left)]
        chosen = ready[0] if ready else left[-1]
        left.remove(chosen)
        order.append(chosen)
    return tuple(order)


def _shuts_in(tree: PartsTree, slug: str, left: Sequence[str]) -> bool:
    """Whether a part on its way back closes the only way to another that is still off."""
    remaining = set(left) - {slug}
    for other in remaining:
        for group in tree.parts[other].after:
            if slug in group and not remaining.intersection(group):
                return True
    return False


def judged(gate: Gate, value: float | None, done: bool | None) -> Passed:
    """Return whether a gate passes.

    Parameters
    ----------
    gate : the gate
    value : the number found [SI], None if none was
    done : what somebody said of it, None if nothing; where a window is known the number alone decides
    """
    if value is not None and gate.window is not None:
        return "passed" if gate.window.low <= value <= gate.window.high else "failed"
    if done is None or (done and value is None and gate.kind == "number"):
        return "open"
    return "passed" if done else "failed"


def find_gate(tree: PartsTree, slug: str) -> tuple[Part | None, Gate] | None:
    """Return a gate of a box with its part, None if there is none of that name."""
    return next(((part, gate) for part, gate in tree.gates() if gate.slug == slug), None)


def _told(tree: PartsTree, entries: Sequence[WorkEntry]) -> Mapping[str, GateState]:
    """How each gate of which something was said stands, the latest word counting."""
    found: dict[str, GateState] = {}
    for entry in standing(entries):
        if entry.kind == "part-off" and entry.subject in tree.parts:
            # What comes off again is to be proved again.
            for gate in tree.parts[entry.subject].refit.gates:
                found.pop(gate.slug, None)
        known = find_gate(tree, entry.subject) if entry.kind == "gate" else None
        if known is not None:
            part, gate = known
            value = entry.data.get("value")
            passed = judged(gate, None if value is None else float(value), entry.data.get("done"))
            found[gate.slug] = GateState(
                gate,
                None if part is None else part.slug,
                passed,
                None if value is None else float(value),
                entry.text("text"),
                entry.who,
                entry.at,
                number_of(entry),
            )
    for entry in standing(entries):
        if entry.kind == "reason" and entry.subject.startswith(GATE):
            _let_through(tree, entry, found)
    return found


def _let_through(tree: PartsTree, entry: WorkEntry, found: dict[str, GateState]) -> None:
    known = find_gate(tree, entry.subject.removeprefix(GATE))
    if known is None:
        return
    part, gate = known
    before = found.get(gate.slug, GateState(gate, None if part is None else part.slug))
    if not before.done and entry.text("covers") == says(tree, before):
        found[gate.slug] = replace(before, reason=entry.text("text"))


def says(tree: PartsTree, state: GateState) -> str:
    """Return how a gate stands in words, as its open item says it."""
    where = "" if state.part is None else f" of the {tree.parts[state.part].name}"
    name = f"{state.gate.name}{where}"
    if state.passed == "failed" and state.gate.window is not None:
        return f"{name}: {state.text or 'the figure'} is outside {state.gate.window.text}"
    if state.passed == "failed":
        return f"{name}: not as it should be" + (f" ({state.text})" if state.text else "")
    return f"{name}: not {'measured' if state.gate.kind == 'number' else 'checked'} yet"


def _torqued(entries: Iterable[WorkEntry], book: Ledger) -> Mapping[str, frozenset[int]]:
    """The steps of the torque done at each flange since its bolts last came out."""
    done: dict[str, set[int]] = {}
    for entry in standing(entries):
        if entry.subject not in book.flanges:
            continue
        if entry.kind == "bolts-out":
            done.pop(entry.subject, None)
        elif entry.kind == "torque":
            done.setdefault(entry.subject, set()).update(_steps(entry.data))
    return {flange: frozenset(steps) for flange, steps in done.items()}


def _steps(data: Mapping[str, Any]) -> tuple[int, ...]:
    step = data.get("step")
    return (int(step),) if isinstance(step, int) and not isinstance(step, bool) else ()


def _torque_left(
    flange: Flange, state: FlangeState, torqued: Mapping[str, frozenset[int]]
) -> tuple[int, ...]:
    """The steps not done yet, none where nothing of the flange was undone or no torque is known."""
    touched = any(slot.disturbed for slot in state.holes.by_number.values())
    if not touched or flange.torque is None:
        return ()
    done = torqued.get(flange.slug, frozenset())
    return tuple(step for step in range(1, max(1, flange.steps) + 1) if step not in done)
