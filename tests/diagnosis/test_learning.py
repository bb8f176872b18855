"""Learning: what counts move, what they leave, and tallies out and in."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.learning import BACKGROUND_CARS, CAUSE_CARS, STRENGTH_CARS, learnt
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, prepare, with_figures
from bellhousing.diagnosis.tally import Counts, added, plain_tally, read_tally, tally_digest
from bellhousing.errors import CatalogueError, InputFileError
from tests.shipped import catalogue_as_shipped

KIND = "three-speed-vacuum"
FAULT, FINDING = "modulator-diaphragm-torn", "fluid-in-modulator-hose"
COUNTS = Counts(
    12,
    {FAULT: 9, "modulator-set-wrong": 3},
    {FAULT: {FINDING: {"dry": 5, "wet": 4}}},
    {FINDING: {"dry": 3}},
)


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return catalogue_as_shipped()


def test_nothing_counted_changes_nothing(catalogue: Catalogue) -> None:
    """Without closed jobs the catalogue is the shipped one, its digest too."""
    same, moved = learnt(catalogue, Counts(), KIND)
    assert same == catalogue.of_family(KIND)
    assert same.digest == catalogue.digest
    assert moved == ()


def test_a_cause_that_was_counted_is_commoner_and_the_others_rarer(catalogue: Catalogue) -> None:
    """Weights follow the Dirichlet mean and keep their sum."""
    before = catalogue.of_family(KIND).faults
    after = learnt(catalogue, COUNTS, KIND)[0].faults
    total = sum(fault.weight for fault in before.values())
    assert sum(fault.weight for fault in after.values()) == pytest.approx(total)
    for name, fault in before.items():
        seen = COUNTS.faults.get(name, 0)
        expected = (CAUSE_CARS * fault.weight + total * seen) / (CAUSE_CARS + 12)
        assert after[name].weight == pytest.approx(expected)


def test_a_strength_moves_towards_what_was_seen(catalogue: Catalogue) -> None:
    """What is seen on cars with the fault, its background in it, has the beta posterior mean."""
    before = catalogue.of_family(KIND).findings[FINDING]
    after = learnt(catalogue, COUNTS, KIND)[0].findings[FINDING]
    background = (BACKGROUND_CARS * before.background["wet"] + 0) / (BACKGROUND_CARS + 3)
    assert after.background["wet"] == pytest.approx(background)
    dry = (1.0 - background) * (1.0 - before.strengths[FAULT]["wet"])
    expected = (STRENGTH_CARS * dry + 5) / (STRENGTH_CARS + 9)
    assert (1.0 - background) * (1.0 - after.strengths[FAULT]["wet"]) == pytest.approx(expected)
    others = {name: row for name, row in before.strengths.items() if name != FAULT}
    assert {name: row for name, row in after.strengths.items() if name != FAULT} == others


def test_what_moved_is_told_with_its_counts(catalogue: Catalogue) -> None:
    """Each figure that moved stands there before and after, the most moved first."""
    moved = learnt(catalogue, COUNTS, KIND)[1]
    strength = next(entry for entry in moved if entry.kind == "strength")
    assert (strength.fault, strength.finding, strength.state) == (FAULT, FINDING, "wet")
    assert (strength.counted, strength.of) == (4, 9)
    assert strength.after < strength.before
    cause = next(entry for entry in moved if entry.kind == "cause" and entry.fault == FAULT)
    assert cause.after > cause.before
    odds = [abs(np.log(e.after / (1 - e.after)) - np.log(e.before / (1 - e.before))) for e in moved]
    assert odds == sorted(odds, reverse=True)


def test_other_counts_have_another_digest(catalogue: Catalogue) -> None:
    """The digest of a learnt catalogue tells what was learnt, and of which kind."""
    digests = {
        learnt(catalogue, COUNTS, KIND)[0].digest,
        learnt(catalogue, replace(COUNTS, cars=13), KIND)[0].digest,
        learnt(catalogue, Counts(1, {"pump-worn": 1}), "four-speed-linkage")[0].digest,
        catalogue.digest,
    }
    assert len(digests) == 4


def test_figures_put_in_later_are_those_prepared_with(catalogue: Catalogue) -> None:
    """Other figures on cars simulated before give the very diagnosis of cars prepared with them."""
    box, figures = load_box("box-a"), learnt(catalogue, COUNTS, KIND)[0]
    shipped = prepare(box, CarFacts(), catalogue, cars=20)
    fresh, swapped = prepare(box, CarFacts(), figures, cars=20), with_figures(shipped, figures)
    assert fresh.key == swapped.key != shipped.key
    evidence = [Evidence(FINDING, states=("wet",))]
    first, second = diagnose(fresh, evidence), diagnose(swapped, evidence)
    assert first.causes == second.causes
    assert first.causes != diagnose(shipped, evidence).causes


def test_figures_for_other_faults_are_refused(catalogue: Catalogue) -> None:
    """A catalogue of another kind cannot be put on these cars."""
    shipped = prepare(load_box("box-a"), CarFacts(), catalogue, cars=5)
    with pytest.raises(CatalogueError, match="other faults"):
        with_figures(shipped, catalogue.of_family("four-speed-linkage"))


@st.composite
def some_counts(draw: st.DrawFn) -> Counts:
    """Counts that hang together, of a few faults and findings."""
    own = catalogue_as_shipped().of_family(KIND)
    faults = draw(st.dictionaries(st.sampled_from(sorted(own.faults)), st.integers(0, 60), max_size=6))
    seen: dict[str, dict[str, dict[str, int]]] = {}
    for fault, n in faults.items():
        told = sorted(name for name, f in own.findings.items() if fault in f.strengths)
        for name in draw(st.lists(st.sampled_from(told), max_size=3, unique=True)) if told else []:
            state = draw(st.sampled_from(own.findings[name].states))
            seen.setdefault(fault, {})[name] = {state: draw(st.integers(0, n))}
    names = sorted(name for name, finding in own.findings.items() if finding.kind == "states")
    cars = sum(faults.values()) + draw(st.integers(0, 50))
    background = {
        name: {draw(st.sampled_from(own.findings[name].states)): draw(st.integers(0, cars))}
        for name in draw(st.lists(st.sampled_from(names), max_size=4, unique=True))
    }
    return Counts(cars, faults, seen, background)


@settings(max_examples=60, deadline=None)
@given(counts=some_counts())
def test_learnt_figures_stay_chances(counts: Counts) -> None:
    """Whatever was counted: weights and chances stay chances, no finding tells more than the most."""
    own = learnt(catalogue_as_shipped(), counts, KIND)[0]
    assert all(0.0 < fault.weight <= 900.0 for fault in own.faults.values())
    for finding in own.findings.values():
        for row in (finding.background, *finding.strengths.values()):
            assert all(chance >= 0.0 for chance in row.values())
            assert sum(row.values()) <= 1.0 + 1e-9
        assert all(sum(row.values()) <= 0.97 + 1e-9 for row in finding.strengths.values())


@settings(max_examples=40, deadline=None)
@given(counts=some_counts())
def test_a_tally_comes_back_as_it_went(counts: Counts) -> None:
    """Out and in again it says the same, and two tallies added hold the counts of both."""
    tally = {KIND: counts} if counts.cars else {}
    content = json.dumps(plain_tally(tally)).encode()
    back = read_tally(content, catalogue_as_shipped(), "here")
    assert tally_digest(back) == tally_digest(tally)
    if counts.cars:
        both = added([tally, back])[KIND]
        assert both.cars == 2 * counts.cars
        assert dict(both.faults) == {name: 2 * n for name, n in counts.faults.items()}


def test_a_tally_holds_counts_and_nothing_else() -> None:
    """No key but names of the catalogue, no value but whole numbers."""
    text = json.dumps(plain_tally({KIND: COUNTS}))
    own = catalogue_as_shipped().of_family(KIND)
    known = {
        *own.faults, *own.findings, *(state for f in own.findings.values() for state in f.states),
        "format", "version", "kinds", "cars", "faults", "seen", "background", KIND,
    }  # fmt: skip

    def keys(value: object) -> set[str]:
        if not isinstance(value, dict):
            return set()
        return set(value).union(*(keys(inner) for inner in value.values()))

    assert keys(json.loads(text)) <= known


def _with(**changed: object) -> bytes:
    plain = plain_tally({KIND: COUNTS})
    plain["kinds"][KIND].update(changed)
    return json.dumps(plain).encode()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "no tally"),
        (b"\xff\xfe\x00", "no tally"),
        (b"[" * 100_000, "no tally"),
        (b"[1, 2]", "no tally of closed jobs"),
        (b'{"format": "bellhousing-tally", "version": 2, "kinds": {}}', "version 2"),
        (b'{"format": "bellhousing-tally", "version": true, "kinds": {}}', "version True"),
        (b'{"format": "bellhousing-tally", "version": 1, "kinds": {"two-speed": {}}}', "no such kind"),
        (b'{"format": "bellhousing-tally", "version": 1, "version": 1, "kinds": {}}', "stands twice"),
        (b'{"format": "bellhousing-tally", "version": 1, "kinds": {}, "shop": "x"}', "has no 'shop'"),
        (_with(cars=-1), "cars is -1"),
        (_with(cars=1.5), "no whole number"),
        (_with(cars=True), "no whole number"),
        (_with(cars=10**9), "cars is 1000000000"),
        (_with(cars=10**400), "beyond all measure"),
        (_with(faults={FAULT: -3}), "is -3"),
        (_with(faults={FAULT: 13}), "is 13"),
        (_with(faults={"aliens": 1}), "no such fault"),
        (_with(faults=[1]), "must be an object"),
        (_with(seen={FAULT: {FINDING: {"wet": 10}}}), "is 10"),
        (_with(seen={FAULT: {FINDING: {"dry": 5, "wet": 5}}}), "more often than"),
        (_with(seen={FAULT: {FINDING: {"purple": 1}}}), "cannot be 'purple'"),
        (_with(seen={FAULT: {"line-drive-idle": {"low": 1}}}), "no such finding"),
        (_with(background={FINDING: {"dry": 13}}), "is 13"),
        (_with(owner="somebody"), "has no 'owner'"),
        (json.dumps(plain_tally({KIND: COUNTS})).replace('"cars": 12', '"cars": NaN').encode(), "NaN"),
        (b" " * (3 * 1024 * 1024), "at most"),
    ],
)
def test_a_malformed_tally_is_refused(content: bytes, said: str) -> None:
    """Every kind of nonsense is refused with what is wrong."""
    with pytest.raises(InputFileError, match=said):
        read_tally(content, catalogue_as_shipped(), "here")
