"""Counting what closed jobs hold: their confirmed causes, and what each finding showed on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.likelihood import state_weights
from bellhousing.diagnosis.tally import Counts, Tally, checked_tally
from bellhousing.errors import BellhousingError
from bellhousing.records.entries import ClosedJob, LearningEvent
from bellhousing.records.store import Store
from bellhousing.road.cars import middle_car
from bellhousing.road.shown import show_cars, vehicle
from bellhousing.tasks.hearing import OWNER

NOTHING = "nothing-wrong"
"""What is confirmed where no fault was found at all."""

USE, LEAVE = "use-own", "leave-own"
FORGET, RECALL = "forget-job", "recall-job"
IN, OUT = "tally-in", "tally-out"

CLEAR = 0.9
"""Chance from which a figure counts as one of the states figures decide; common practice, no source."""


@dataclass(frozen=True)
class Decided:
    """What stands after everything decided about learning."""

    own: bool
    forgotten: frozenset[int]
    tallies: Mapping[str, Any]  # digest -> plain tally


def decided(events: Sequence[LearningEvent]) -> Decided:
    """What the events, oldest first, come to; the shop's own records are used unless told otherwise."""
    own, forgotten, tallies = True, set[int](), dict[str, Any]()
    for event in events:
        if event.event in (USE, LEAVE):
            own = event.event == USE
        elif event.event == FORGET and event.job is not None:
            forgotten.add(event.job)
        elif event.event == RECALL and event.job is not None:
            forgotten.discard(event.job)
        elif event.event == IN and event.digest is not None:
            tallies[event.digest] = event.data
        elif event.event == OUT and event.digest is not None:
            tallies.pop(event.digest, None)
    return Decided(own, frozenset(forgotten), tallies)


def own_tally(
    store: Store, catalogue: Catalogue, kind_of: Callable[[str], str | None], state: Decided
) -> Tally:
    """What the shop's own closed jobs hold, those forgotten left out; `kind_of` tells a car's kind of box."""
    parts: dict[str, _Counter] = {}
    for job in store.closed_jobs():
        kind = None if job.number in state.forgotten else kind_of(job.car)
        if kind is None:
            continue
        counter = parts.setdefault(kind, _Counter(catalogue.of_family(kind), kind))
        counter.add(job, evidence_of(store, job.number))
    return {kind: counter.counts() for kind, counter in sorted(parts.items()) if counter.cars}


def taken_in(catalogue: Catalogue, state: Decided) -> dict[str, Tally]:
    """The tallies taken in, by digest; one that no longer fits the catalogue counts for nothing."""
    found = {}
    for digest, plain in state.tallies.items():
        try:
            found[digest] = checked_tally(plain, catalogue, "a tally taken in")
        except BellhousingError:
            continue
    return found


def evidence_of(store: Store, job: int) -> tuple[Evidence, ...]:
    """What the shop found on a job and was understood; of several entries for one finding the last.

    What was only read from the owner's complaint teaches nothing.
    """
    last = {
        entry.finding: Evidence(
            entry.finding, entry.states, entry.word, entry.value_si, entry.standard_uncertainty
        )
        for entry in store.current_findings(job)
        if entry.finding is not None and entry.who != OWNER
    }
    return tuple(last.values())


@cache
def physics_decides(kind: str) -> frozenset[str]:
    """Findings with states that the simulated car of a kind decides, whatever the tables say."""
    box = load_box(kind)
    return frozenset(show_cars(middle_car(box), vehicle(box, 3.08, 0.345, 0.0)).chances)


class _Counter:
    """Counts one kind of box up, job by job."""

    def __init__(self, catalogue: Catalogue, kind: str) -> None:
        self.catalogue = catalogue
        self.kind = kind
        self.cars = 0
        self.faults: Counter[str] = Counter()
        self.seen: dict[str, dict[str, Counter[str]]] = {}
        self.background: dict[str, Counter[str]] = {}

    def add(self, job: ClosedJob, evidence: Sequence[Evidence]) -> None:
        """One closed job; a cause that left the catalogue makes the job count for nothing."""
        causes = [cause for cause in job.causes if cause != NOTHING]
        if any(cause not in self.catalogue.faults for cause in causes):
            return
        self.cars += 1
        self.faults.update(causes)
        for entry in evidence:
            state = self._state(entry)
            if state is not None:
                self._look(entry.finding, state, causes)

    def _look(self, finding: str, state: str, causes: Sequence[str]) -> None:
        """Where one cause bears it is its; where none does, the background's; of several, nobody's."""
        strengths = self.catalogue.findings[finding].strengths
        physical = any(self.catalogue.faults[cause].effects for cause in causes)
        if physical and finding in physics_decides(self.kind):
            return
        bearing = [cause for cause in causes if cause in strengths]
        if not bearing:
            self.background.setdefault(finding, Counter())[state] += 1
        elif len(bearing) == 1:
            self.seen.setdefault(bearing[0], {}).setdefault(finding, Counter())[state] += 1

    def _state(self, entry: Evidence) -> str | None:
        finding = self.catalogue.findings.get(entry.finding)
        if finding is None or finding.kind != "states":
            return None
        if not all(state in finding.states for state in entry.states):
            return None
        weights = state_weights(finding, entry)
        place = int(weights.argmax())
        clear = weights[place] >= CLEAR and (weights >= CLEAR).sum() == 1
        return finding.states[place] if clear else None

    def counts(self) -> Counts:
        """What was counted."""
        return Counts(
            self.cars,
            dict(self.faults),
            {fault: {name: dict(row) for name, row in rows.items()} for fault, rows in self.seen.items()},
            {name: dict(row) for name, row in self.background.items()},
        )
