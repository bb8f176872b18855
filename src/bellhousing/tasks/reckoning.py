"""What follows from the findings on one car, each part of it worked out when first asked for, and once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.further_tests import FurtherTests, further_tests
from bellhousing.diagnosis.next_test import NextTests, Test, next_tests
from bellhousing.diagnosis.outcomes import outcomes
from bellhousing.diagnosis.plan import Plan, make_plan
from bellhousing.diagnosis.posterior import Diagnosis, diagnose
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.shift_bands import ShiftBands, shift_bands
from bellhousing.diagnosis.waiting import Waiting, load_waiting
from bellhousing.diagnosis.works import Work, load_works, works_of
from bellhousing.tasks.shipped import parsed_once

MOST_KEPT = 6
MOST_BANDS = 24

TELLING = 1e-3
"""Bits below which a test is not asked whether it pays."""


@dataclass(frozen=True, eq=False)
class Reckoning:
    """Diagnosis, next tests and plan after some evidence; all follow from these two fields alone."""

    prepared: Prepared
    evidence: tuple[Evidence, ...]

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """Every cause with its probability and its reasons."""
        return diagnose(self.prepared, self.evidence)

    @cached_property
    def works(self) -> tuple[Work, ...]:
        """The works that may be done on this kind of box."""
        return tuple(works_of(load_works(parsed_once), self.prepared.box.kind, self.prepared.faults))

    @cached_property
    def tests(self) -> NextTests:
        """What to look at next, by how much it tells about what to do."""
        return next_tests(self.prepared, self.diagnosis, self.evidence, works=self.works)

    @property
    def telling(self) -> dict[str, Test]:
        """Tests that tell what to do, by finding, when anything was noted at all."""
        ranked = self.tests.ranked if self.evidence else ()
        return {test.finding: test for test in ranked if test.bits > TELLING}

    @property
    def waiting(self) -> dict[str, Waiting]:
        """What waiting does with each fault."""
        return dict(load_waiting(parsed_once))

    @cached_property
    def plan(self) -> Plan:
        """What to do."""
        belief = self.diagnosis.belief
        return make_plan(
            self.works,
            self.waiting,
            self.prepared.faults,
            belief.members,
            belief.weights,
            alone=belief.alone,
            prior=1.0 / (1.0 + np.exp(-self.prepared.ln_odds)),
        )

    @cached_property
    def further(self) -> FurtherTests:
        """Tests that pay before the plan is begun."""
        tests = self.telling
        if not tests:
            return FurtherTests((), 0.0)
        told = outcomes(self.prepared, self.diagnosis, self.evidence, tests)
        return further_tests(self.plan, told, {name: test.minutes for name, test in tests.items()})


class Reckonings:
    """The last reckonings and shift bands of a shop, so that a page shown again costs no second diagnosis."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, str, tuple[Evidence, ...]], Reckoning] = OrderedDict()
        self._bands: OrderedDict[tuple[str, str | None], ShiftBands] = OrderedDict()
        self._guard = threading.Lock()

    def after(self, prepared: Prepared, evidence: Sequence[Evidence]) -> Reckoning:
        """The reckoning of a prepared model after some evidence."""
        key = (prepared.key, prepared.catalogue.digest, tuple(evidence))
        with self._guard:
            found = self._kept.setdefault(key, Reckoning(prepared, key[2]))
            self._kept.move_to_end(key)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return found

    def bands(self, prepared: Prepared, fault: str | None = None) -> ShiftBands:
        """The shift bands of a prepared model, sound or with one fault; raises as `shift_bands`."""
        key = (prepared.key, fault)
        with self._guard:
            found = self._bands.get(key)
        if found is None:
            found = shift_bands(prepared, fault)
            with self._guard:
                self._bands[key] = found
                while len(self._bands) > MOST_BANDS:
                    self._bands.popitem(last=False)
        return found
