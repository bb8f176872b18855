"""Whether every fault can be told from its neighbours before the gearbox comes out, or is cured with them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.works import load_works
from tests.shipped import catalogue_as_shipped

CLEAR = 20.0
"""How many times likelier an answer must be with the fault than without."""

OUT = {"box-out", "stripped"}
"""Set-ups that need the gearbox out."""

CATALOGUES = {family: catalogue_as_shipped().of_family(family) for family in FAMILIES}


def before_the_box_is_out(catalogue: Catalogue) -> list[Finding]:
    """Findings with states that need no gearbox on the bench."""
    return [
        finding
        for finding in catalogue.findings.values()
        if finding.kind == "states" and finding.setup not in OUT
    ]


def told_by(catalogue: Catalogue, fault: str, other: str | None = None) -> Iterator[str]:
    """Findings that answer CLEAR times likelier with a fault than with another alone, or with none."""
    for finding in before_the_box_is_out(catalogue):
        for state, chance in finding.strengths.get(fault, {}).items():
            against = finding.background[state]
            if other is not None:
                against = max(against, finding.strengths.get(other, {}).get(state, 0.0))
            if chance >= CLEAR * against * (1 - 1e-9):
                yield finding.id


def clear_look(catalogue: Catalogue, fault: str) -> bool:
    """Whether a look made for a fault is CLEAR times likelier to say so than with nothing near it wrong."""
    return any(fault in catalogue.findings[name].separates for name in told_by(catalogue, fault))


def confused_with(catalogue: Catalogue, fault: str) -> set[str]:
    """Neighbours that would say yes to a fault's own look, and that nothing else tells from it."""
    near: set[str] = set()
    for finding in catalogue.findings.values():
        if fault not in finding.separates or finding.setup in OUT:
            continue
        for other, chances in finding.strengths.items():
            if any(chances.get(state, 0.0) * CLEAR > own for state, own in finding.strengths[fault].items()):
                near.add(other)
    return {
        other
        for other in near - {fault}
        if not catalogue.faults[other].effects and not any(told_by(catalogue, other, fault))
    }


def cured_together(catalogue: Catalogue, fault: str) -> bool:
    """Whether one work cures a fault and every neighbour it is confused with."""
    group = {fault} | confused_with(catalogue, fault)
    return any(group <= work.cures for work in load_works().values())


def looked_for(catalogue: Catalogue, fault: str) -> bool:
    """Whether some finding before the box is out was made for the fault."""
    return any(fault in finding.separates for finding in before_the_box_is_out(catalogue))


@pytest.mark.parametrize("family", FAMILIES)
def test_every_fault_is_told_apart_or_cured_with_its_neighbours(family: str) -> None:
    """A clear look, a reading the physics explains, or one work for it and all it is confused with."""
    catalogue = CATALOGUES[family]
    failing = {
        name: sorted(confused_with(catalogue, name))
        for name, fault in catalogue.faults.items()
        if not (clear_look(catalogue, name) or fault.effects)
        and not (looked_for(catalogue, name) and cured_together(catalogue, name))
    }
    assert not failing


@pytest.mark.parametrize("family", FAMILIES)
def test_every_fault_has_a_look_made_for_it(family: str) -> None:
    """A fault without a look of its own is one that the readings explain."""
    catalogue = CATALOGUES[family]
    looked = {name for finding in before_the_box_is_out(catalogue) for name in finding.separates}
    assert not [name for name, fault in catalogue.faults.items() if name not in looked and not fault.effects]


def test_a_look_shows_the_fault_it_was_made_for_before_all_others() -> None:
    """Nothing near says yes as often as the fault itself, and the look is never surer than 97 in 100."""
    for finding in catalogue_as_shipped().findings.values():
        if not finding.separates or finding.states != ("no", "yes"):
            continue
        own = max(finding.strengths[name]["yes"] for name in finding.separates)
        assert own <= 0.97, finding.id
        assert own > finding.background["yes"] >= 0.01, finding.id
        if finding.repeats is None:
            continue
        first = catalogue_as_shipped().findings[finding.repeats]
        assert first.id != finding.id
        assert set(first.strengths) & set(finding.separates), f"{finding.id} repeats a look at another fault"


def test_a_look_a_neighbour_passes_more_often_is_named() -> None:
    """Only swapping a whole part in or out answers yes for another fault as loudly as for its own."""
    loud = set()
    for finding in catalogue_as_shipped().findings.values():
        if finding.states == ("no", "yes") and finding.separates:
            own = max(finding.strengths[name]["yes"] for name in finding.separates)
            others = [
                chances["yes"] for name, chances in finding.strengths.items() if name not in finding.separates
            ]
            if others and max(others) > own:
                loud.add(finding.id)
    assert loud <= {"known-good-modulator", "hand-pump-round-loop"}


def test_a_blunt_look_is_not_enough() -> None:
    """With its looks blunted to one yes in four a fault of the pan joint is no longer told apart."""
    catalogue = CATALOGUES["three-speed-vacuum"]
    blunt = {
        name: replace(
            finding, strengths={**finding.strengths, "pan-gasket-leaking": {finding.states[-1]: 0.25}}
        )
        if "pan-gasket-leaking" in finding.separates
        else finding
        for name, finding in catalogue.findings.items()
    }
    assert clear_look(catalogue, "pan-gasket-leaking")
    assert not clear_look(replace(catalogue, findings=blunt), "pan-gasket-leaking")


def test_hot_and_cold_are_never_one_question() -> None:
    """A finding asks of the hot or of the cold car; only one that compares the two names both."""
    comparisons = {
        "complaint-temperature",
        "line-hot-against-cold",
        "gap-opens-with-heat",
        "cooler-outlet-hot-return-cold",
        "clutch-tap-cold-and-hot",
    }
    both = {
        finding.id
        for finding in catalogue_as_shipped().findings.values()
        if {"hot", "cold"} <= set(re.findall("[a-z]+", f"{finding.name} {finding.ask}".lower()))
    }
    assert both <= comparisons
