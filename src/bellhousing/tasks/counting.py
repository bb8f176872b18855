"""Counting what closed jobs hold: their confirmed causes, and what each finding showed on them."""

from __future__ import annotations

import threading
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
from bellhousing.records.learning import Change, FoundOnJob
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


class OwnCount:
    """What a shop's own closed jobs hold, followed from change to change so that no job is read twice."""

    def __init__(self, catalogue: Catalogue, kind_of: Callable[[str], str | None]) -> None:
        self._catalogue = catalogue
        self._kind_of = kind_of
        self._guard = threading.Lock()
        self._begin(frozenset())

    def _begin(self, forgotten: frozenset[int]) -> None:
        self._forgotten = forgotten
        self._last = 0
        self._counters: dict[str, _Counter] = {}
        self._held: dict[int, tuple[_Counter, ClosedJob, tuple[Evidence, ...]]] = {}

    def tally(self, store: Store, state: Decided) -> Tally:
        """The counts by kind of box, those forgotten left out."""
        with self._guard:
            if state.forgotten != self._forgotten:
                self._begin(state.forgotten)
            kind_of = cache(self._kind_of)
            for change in store.job_list.last_changes(self._last):
                self._last = max(self._last, change.number)
                self._follow(change, kind_of)
            return {kind: found.counts() for kind, found in sorted(self._counters.items()) if found.cars}

    def _follow(self, change: Change, kind_of: Callable[[str], str | None]) -> None:
        before = self._held.pop(change.job.number, None)
        if before is not None:
            before[0].add(before[1], before[2], times=-1)
        if not change.closed or change.job.number in self._forgotten:
            return
        kind = kind_of(change.box)
        if kind is None:
            return
        counter = self._counters.get(kind)
        if counter is None:
            counter = self._counters.setdefault(kind, _Counter(self._catalogue.of_family(kind), kind))
        held = (counter, change.job, evidence_of(change.entries))
        counter.add(held[1], held[2])
        self._held[change.job.number] = held


def taken_in(catalogue: Catalogue, state: Decided) -> dict[str, Tally]:
    """The tallies taken in, by digest; one that no longer fits the catalogue counts for nothing."""
    found = {}
    for digest, plain in state.tallies.items():
        try:
            found[digest] = checked_tally(plain, catalogue, "a tally taken in")
        except BellhousingError:
            continue
    return found


def evidence_of(entries: Sequence[FoundOnJob]) -> tuple[Evidence, ...]:
    """What the shop found on a job and was understood; of several entries for one finding the last.

    What was only read from the owner's complaint teaches nothing.
    """
    last = {
        entry.finding: Evidence(
            entry.finding, entry.states, entry.word, entry.value_si, entry.standard_uncertainty
        )
        for entry in entries
        if entry.who != OWNER
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
        self.states: dict[Evidence, str | None] = {}

    def add(self, job: ClosedJob, evidence: Sequence[Evidence], times: int = 1) -> None:
        """One closed job, -1 to take it out; with a cause that left the catalogue it counts for nothing."""
        causes = [cause for cause in job.causes if cause != NOTHING]
        if any(cause not in self.catalogue.faults for cause in causes):
            return
        self.cars += times
        for cause in causes:
            self.faults[cause] += times
        for entry in evidence:
            state = self._state(entry)
            if state is not None:
                self._look(entry.finding, state, causes, times)

    def _look(self, finding: str, state: str, causes: Sequence[str], times: int) -> None:
        """Where one cause bears it is its; where none does, the background's; of several, nobody's."""
        strengths = self.catalogue.findings[finding].strengths
        physical = any(self.catalogue.faults[cause].effects for cause in causes)
        if physical and finding in physics_decides(self.kind):
            return
        bearing = [cause for cause in causes if cause in strengths]
        if not bearing:
            self.background.setdefault(finding, Counter())[state] += times
        elif len(bearing) == 1:
            self.seen.setdefault(bearing[0], {}).setdefault(finding, Counter())[state] += times

    def _state(self, entry: Evidence) -> str | None:
        if entry not in self.states:
            self.states[entry] = self._decided(entry)
        return self.states[entry]

    def _decided(self, entry: Evidence) -> str | None:
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
        seen = {
            fault: {name: dict(+row) for name, row in rows.items() if +row}
            for fault, rows in self.seen.items()
        }
        return Counts(
            self.cars,
            dict(+self.faults),
            {fault: rows for fault, rows in seen.items() if rows},
            {name: dict(+row) for name, row in self.background.items() if +row},
        )
