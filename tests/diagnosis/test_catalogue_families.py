"""The part of the catalogue that one family of boxes sees."""

from __future__ import annotations

import pytest

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.waiting import load_waiting
from bellhousing.diagnosis.works import load_works
from bellhousing.quantities.units import to_si
from tests.shipped import catalogue_as_shipped

FOUR_SPEED = "four-speed-linkage"


@pytest.mark.parametrize("family", FAMILIES)
def test_a_family_sees_only_its_own_faults(family: str) -> None:
    """Strengths, separated faults and conditions of a family's findings are all of that family."""
    part = catalogue_as_shipped().of_family(family)
    for finding in part.findings.values():
        assert set(finding.strengths) <= set(part.faults)
        assert set(finding.separates) <= set(part.faults)
        assert {part.conditions[name].finding for name in finding.needs} <= set(part.findings)


def test_faults_of_one_family_are_no_faults_of_the_other() -> None:
    """A torn diaphragm is none on a throttle linkage, a worn band none on a vacuum box; a leak is both's."""
    three, four = (set(catalogue_as_shipped().of_family(family).faults) for family in FAMILIES)
    assert {"modulator-diaphragm-torn", "intermediate-clutch-burnt", "stator-slipping"} <= three - four
    assert {"tv-rod-out-of-setting", "front-band-worn", "shift-valve-34-stuck"} <= four - three
    assert {"front-seal-hardened", "pan-gasket-leaking", "fluid-level-low", "mounts-broken"} <= three & four


def test_a_shared_finding_is_asked_in_the_words_of_the_family() -> None:
    """The four-speed has no vacuum signal: its shift speeds are asked by the pedal, in its own window."""
    whole = catalogue_as_shipped()
    three, four = (whole.of_family(family).findings["upshift-12-light"] for family in FAMILIES)
    assert "inHg" in three.ask
    assert "inHg" not in four.ask
    assert four.usual == pytest.approx((to_si(6.0, "mph"), to_si(10.0, "mph")))
    assert "vacuum-known" in three.needs
    assert "vacuum-known" not in four.needs


def test_nothing_said_of_the_four_speed_speaks_of_its_neighbours_parts() -> None:
    """No question, name, area, caution or advice to wait names vacuum hose, modulator or torque converter."""
    part = catalogue_as_shipped().of_family(FOUR_SPEED)
    needed = {name for finding in part.findings.values() for name in finding.cautions}
    needed |= {
        name for work in load_works().values() if FOUR_SPEED in work.families for name in work.cautions
    }
    said = [finding.ask for finding in part.findings.values()]
    said += [finding.name for finding in part.findings.values()]
    said += [fault.name for fault in part.faults.values()]
    said += [row.text for name, row in load_waiting().items() if name in part.faults]
    said += [part.cautions[name] for name in needed]
    said += part.areas.values()
    for word in ("modulator", "hose on", "hose off", "inHg", "converter", "flexplate"):
        assert not [text for text in said if word.lower() in text.lower()], word


def test_every_fault_of_the_four_speed_has_a_look_made_for_it() -> None:
    """A look never sees more than 97 of 100, raises one false alarm in 100 or more, repeats a real look."""
    part = catalogue_as_shipped().of_family(FOUR_SPEED)
    looks = [finding for finding in part.findings.values() if finding.separates]
    told = {fault for look in looks for fault in look.separates}
    own = {name for name, fault in part.faults.items() if fault.families == (FOUR_SPEED,)}
    assert len(own) == 32
    assert own <= told
    for look in looks:
        if look.families != (FOUR_SPEED,):
            continue
        assert 0.01 <= look.background["yes"] <= 0.06, look.id
        strongest = max(look.strengths.values(), key=lambda row: row["yes"])
        assert strongest["yes"] <= 0.97
        assert all(look.strengths[fault] == strongest for fault in look.separates), look.id
        assert look.repeats is None or part.findings[look.repeats].separates == look.separates, look.id
