"""Whether every finding that can hurt somebody carries the warnings that its place and its deed ask for."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.works import load_works
from tests.shipped import catalogue_as_shipped

CATALOGUE = catalogue_as_shipped()

BY_SETUP = {
    "lift": {"lift-balance"},
    "wheels-clear": {"wheels-off-floor", "propshaft-and-fan"},
    "wheels-turning": {"wheels-off-floor", "propshaft-and-fan"},
    "gauge": {"hot-fluid", "exhaust-gas", "fan-and-belts", "hot-exhaust"},
    "governor-tap": {"hot-fluid", "hot-exhaust"},
    "cold-start": {"exhaust-gas"},
    "dye": {"lamp-and-dye", "hot-exhaust"},
    "bell-cover-off": {"key-out"},
    "governor-out": {"catch-fluid", "hot-fluid"},
    "pan-off": {"pan-drop", "hot-fluid"},
    "box-out": {"heavy-box", "box-out-balance"},
    "stripped": {"old-linings"},
}
"""Warnings a set-up asks for; those of the set-up it stands on come with them."""

BY_DEED = {
    r"\bidl(e|ing)\b|\brevs\b|\brpm\b|engage|snap the throttle": {"exhaust-gas"},
    r"\bon the brake\b|\bin gear\b": {"held-on-brakes", "chocks-and-neutral"},
    r"\bwheels (clear|free)\b|\bfree wheels\b": {"wheels-off-floor"},
    r"\bair (at|on|in|of)\b|\bof air\b|\bblow(n|)\b": {"air-pressure", "case-air", "blow-off-air"},
    r"servo cover off|accumulator (or|out)|draw the (regulator|boost|first|second|detent)": {"spring-covers"},
    r"\bpropshaft\b|\bpropeller shaft\b": {"chocks-and-neutral", "propshaft-and-fan"},
    r"inches the starter": {"starter-inched"},
    r"\bjumper\b": {"jumper-wire"},
    r"\bstall\b": {"stall-limits"},
    r"\bdrive (the loop|ten miles|the same loop)\b|\bmph\b": {"road-test", "wheels-off-floor"},
    r"\bbattery off\b|\bconnector (round|rim)\b": {"battery-off"},
}
"""What a question asks to be done, and the warnings of which one at least must go with it."""

ENGINE_OFF = re.compile(r"engine off|engine turned by|turned by the bar|turn the engine", re.IGNORECASE)


def chain(catalogue: Catalogue, finding: Finding) -> Iterator[str]:
    """The set-up of a finding and those it stands on; the bench stands on the floor."""
    name: str | None = finding.setup
    while name is not None:
        yield name
        name = None if name == "box-out" else catalogue.setups[name].under


def in_the_open(finding: Finding) -> bool:
    """Whether no exhaust gas gathers: on the road, or with the engine off."""
    return finding.setup == "road" or ENGINE_OFF.search(finding.ask) is not None


@pytest.mark.parametrize("setup", BY_SETUP)
def test_a_set_up_brings_its_warnings(setup: str) -> None:
    """Lift, turning wheels, gauge, dye, open bell, pan and bench: each question there carries its warning."""
    short = {
        finding.id: sorted(BY_SETUP[setup] - set(finding.cautions))
        for finding in CATALOGUE.findings.values()
        if setup in chain(CATALOGUE, finding) and not set(finding.cautions) >= BY_SETUP[setup]
    }
    assert not short


def test_the_road_brings_its_warnings() -> None:
    """What the road set-up asks is a road test, a stall, or something heard on the brake in the bay."""
    roads = {"road-test", "stall-limits", "held-on-brakes"}
    assert not [
        f.id for f in CATALOGUE.findings.values() if f.setup == "road" and not roads & set(f.cautions)
    ]


@pytest.mark.parametrize("deed", BY_DEED)
def test_a_deed_brings_its_warning(deed: str) -> None:
    """Whatever the set-up, the words of a question bring the warning of what they ask for."""
    short = [
        finding.id
        for finding in CATALOGUE.findings.values()
        if re.search(deed, finding.ask, re.IGNORECASE)
        and finding.setup != "talk"
        and not (BY_DEED[deed] & set(finding.cautions))
        and not (BY_DEED[deed] == {"exhaust-gas"} and in_the_open(finding))
    ]
    assert not short


@pytest.mark.parametrize(
    ("access", "wanted"),
    [
        ("pan-off", {"pan-drop", "hot-fluid", "lift-balance"}),
        ("box-out", {"heavy-box", "lift-balance", "box-out-balance", "battery-off"}),
    ],
)
def test_a_work_brings_the_warnings_of_its_way(access: str, wanted: set[str]) -> None:
    """Pan and gearbox come down with hot fluid and weight, whatever the work is."""
    works = [work for work in load_works().values() if work.access == access]
    assert works
    assert not {work.id: sorted(wanted - set(work.cautions)) for work in works if wanted - set(work.cautions)}


def test_every_warning_is_used() -> None:
    """A warning that nothing carries is one that somebody forgot to attach."""
    used = {name for finding in CATALOGUE.findings.values() for name in finding.cautions}
    used |= {name for work in load_works().values() for name in work.cautions}
    assert set(CATALOGUE.cautions) - used == set()


def test_a_warning_names_the_rule_that_goes_before_it() -> None:
    """Each warning defers to the manual or a local rule; the rule of one country is only an example."""
    for name, text in CATALOGUE.cautions.items():
        assert re.search(r"manual|[Ll]ocal|shop's own|yours may differ|rule", text), name
        if "CFR" in text:
            assert "xample of a rule" in text, name
            assert "yours may differ" in text, name


def test_the_rule_on_cleaning_air_is_quoted_as_it_stands() -> None:
    """29 CFR 1910.242(b): under 30 psi at a blocked nozzle, and only with a chip guard and goggles."""
    text = CATALOGUE.cautions["blow-off-air"]
    assert all(part in text for part in ("1910.242(b)", "30 psi", "blocked", "guard", "goggles"))
