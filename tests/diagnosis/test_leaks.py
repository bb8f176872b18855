"""Leak tracing: geometry, conditions, several at once, against sums done by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from math import prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.boxes.box import Box
from bellhousing.boxes.leak_sites import Coordinate, LeakSite
from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.leak_levels import levels_of
from bellhousing.diagnosis.leak_reach import Point, Source, drips_of, runs_to
from bellhousing.diagnosis.leaks import LeakTrace, Wet, trace
from bellhousing.errors import FindingError
from tests.shipped import catalogue_as_shipped

BOX = load_box("box-a")
SITES = {site.id: site for site in BOX.leak_sites}
RARE = {fault: 0.02 for site in BOX.leak_sites for fault in site.faults}


def at(site: str, *, near: float = 0.008, along: float = 0.0, height: float = 0.0) -> Point:
    """A point at a site, moved rearwards and upwards."""
    place = SITES[site]
    assert place.along is not None
    assert place.across is not None
    assert place.height is not None
    return Point(place.along.value + along, place.across.value, place.height.value + height, near)


def belief(found: LeakTrace, site: str) -> float:
    """What is believed of one site."""
    return next(entry.probability for entry in found.sites if entry.site.id == site)


def factor(found: LeakTrace, site: str) -> float:
    """How many times likelier the places are if a site leaks."""
    return next(entry.factor for entry in found.sites if entry.site.id == site)


@pytest.mark.parametrize("name", ["box-a", "three-speed-vacuum", "box-b", "four-speed-linkage"])
def test_every_fault_of_a_site_is_one_of_its_family(name: str) -> None:
    """Boxes and families name only faults there are, and only those their own kind can have."""
    known = catalogue_as_shipped().faults
    box = load_box(name)
    for site in box.leak_sites:
        for fault in site.faults:
            assert (box.family or box.slug) in known[fault].families, (site.id, fault)


@pytest.mark.parametrize("name", ["box-a", "box-b"])
def test_every_leak_of_the_catalogue_has_a_site(name: str) -> None:
    """What the catalogue files under the leaks of this kind of box can be traced to a place on it."""
    box = load_box(name)
    at_sites = {fault for site in box.leak_sites for fault in site.faults}
    inside = {"converter-drain-back", "coupling-drains-back"}
    for fault in catalogue_as_shipped().faults.values():
        if fault.area.startswith("leaks") and box.family in fault.families:
            assert fault.id in at_sites | inside, fault.id


@pytest.mark.parametrize("site", [site.id for site in BOX.leak_sites if site.outlet is None])
def test_a_trail_that_begins_at_a_site_makes_it_likelier(site: str) -> None:
    """The highest wet point at a site raises that site, and raises no other as much."""
    found = trace(BOX, [Wet("top", at(site))], RARE)
    factors = {entry.site.id: entry.factor for entry in found.sites}
    assert factors[site] > 10.0
    assert factors[site] == max(factors.values())


def test_fluid_runs_down_and_back_never_up_or_forward() -> None:
    """A wet point well below and behind a source is reached; one above or before it hardly ever."""
    source = Source(Coordinate(0.4, 0.01), None, Coordinate(0.08, 0.01), 0.0, True, True)
    below_and_behind = runs_to(source, Point(0.5, None, 0.02, 0.008))
    above = runs_to(source, Point(0.5, None, 0.14, 0.008))
    before = runs_to(source, Point(0.3, None, 0.02, 0.008))
    assert below_and_behind > 0.5
    assert max(above, before) < 0.01


@settings(max_examples=60, deadline=None)
@given(st.floats(0.0, 0.6), st.floats(0.0, 0.3), st.floats(0.0, 0.1))
def test_further_back_is_never_likelier(behind: float, fall: float, more: float) -> None:
    """The farther fluid has to be carried, the less likely the place is wetted."""
    source = Source(Coordinate(0.4, 0.01), None, Coordinate(0.3, 0.01), 0.0, True, True)
    near = runs_to(source, Point(0.4 + behind, None, 0.3 - fall, 0.008))
    far = runs_to(source, Point(0.4 + behind + more, None, 0.3 - fall, 0.008))
    assert 0.0 <= far <= near <= 1.0


@pytest.mark.beside("by hand", code="diagnosis.leak_levels.levels_of:parked.height")
def test_a_level_rises_by_volume_over_surface() -> None:
    """Half a litre back into 350 cm² raises it 14.3 mm; a tenth of 6.2 l of the converter 17.7 mm more."""
    levels = levels_of(BOX)
    assert levels.parked.height - levels.running.height == pytest.approx(0.5e-3 / 0.035)
    assert levels.overnight.height - levels.parked.height == pytest.approx(0.1 * 6.2e-3 / 0.035)
    low = levels_of(BOX, missing=0.35e-3)
    assert levels.running.height - low.running.height == pytest.approx(0.010)


def test_a_joint_drips_parked_only_if_fluid_stands_above_it() -> None:
    """The selector shaft drips after a night, less than half as surely soon after stopping, not when low."""
    site = SITES["selector-shaft"]
    levels = levels_of(BOX)
    assert drips_of(site, levels).parked > 0.7
    assert drips_of(site, levels, overnight=False).parked < 0.5 * drips_of(site, levels).parked
    assert drips_of(site, levels_of(BOX, missing=1e-3)).parked < 0.2
    assert drips_of(site, levels).running < 0.2


def test_when_it_drips_decides_between_neighbours() -> None:
    """At one wet point, parked only speaks for the standing joint, running only for the pressed one."""
    between = Point(0.44, None, 0.0, 0.05)
    parked = trace(BOX, [Wet("wet", between, "parked-only")], RARE)
    running = trace(BOX, [Wet("wet", between, "running-only")], RARE)
    assert factor(parked, "selector-shaft") > 3 * factor(parked, "pressure-tap")
    assert factor(running, "pressure-tap") > 3 * factor(running, "selector-shaft")


def test_a_dry_place_clears_what_would_have_wetted_it() -> None:
    """Dry at the modulator speaks against the modulator and says nothing of the front seal."""
    found = trace(BOX, [Wet("dry", at("modulator"))], RARE)
    assert belief(found, "modulator") < 0.25 * 0.02
    assert belief(found, "front-seal") == pytest.approx(
        next(entry.before for entry in found.sites if entry.site.id == "front-seal"), rel=0.02
    )


def test_brown_fluid_at_the_bell_points_to_the_engine() -> None:
    """Colour alone turns the order of front seal and engine round."""
    bell = Point(0.11, 0.0, -0.045, 0.02)
    even = {"front-seal-hardened": 0.05, "engine-oil-leak": 0.05}
    red, brown = (trace(BOX, [Wet("wet", bell, "", colour)], even) for colour in ("red", "brown"))
    assert belief(red, "front-seal") > belief(red, "engine-rear")
    assert belief(brown, "engine-rear") > belief(brown, "front-seal")


def test_two_leaks_are_found_at_once() -> None:
    """A wet bell while running and a wet connector when parked need two sites; the leading set holds both."""
    places = [
        Wet("wet", Point(0.11, 0.0, -0.045, 0.02), "running-only"),
        Wet("top", at("connector"), "parked-only"),
    ]
    found = trace(BOX, places, RARE)
    leading = found.together[0][0]
    assert set(leading) == {"front-seal", "connector"}


def small_box(ids: tuple[str, ...]) -> Box:
    """Box A with only some of its sites."""
    return replace(BOX, leak_sites=tuple(SITES[name] for name in ids))


@pytest.mark.beside("every set written out", code="diagnosis.leaks.trace:sites.probability")
def test_the_sum_over_sets_is_exact() -> None:
    """With three sites every set is written out by hand, and all chances agree to twelve places."""
    ids = ("selector-shaft", "connector", "pan-gasket")
    box = small_box(ids)
    prior = {SITES[name].faults[0]: p for name, p in zip(ids, (0.1, 0.05, 0.2), strict=True)}
    places = [
        Wet("wet", Point(0.45, -0.14, 0.0, 0.02), "parked"),
        Wet("dry", Point(0.30, 0.10, 0.0, 0.02)),
    ]
    found = trace(box, places, prior)
    told = {entry.site.id: [item.chance for item in entry.told] for entry in found.sites}
    chances = {name: prior[SITES[name].faults[0]] for name in ids}
    total, holding = 0.0, dict.fromkeys(ids, 0.0)
    for size in range(4):
        for pick in combinations(ids, size):
            weight = prod([chances[n] if n in pick else 1 - chances[n] for n in ids])
            silent = [
                (1 - place.background) * prod([1 - told[n][j] for n in pick])
                for j, place in enumerate(places)
            ]
            weight *= (1 - silent[0]) * silent[1]
            total += weight
            for name in pick:
                holding[name] += weight
    for name in ids:
        assert belief(found, name) == pytest.approx(holding[name] / total, rel=1e-12)


def test_the_factor_of_a_fault_is_the_ratio_it_says() -> None:
    """Prior odds of a fault times e to its factor are its odds after, where every set is weighed."""
    places = [Wet("top", at("selector-shaft"), "parked-only")]
    found = trace(small_box(("selector-shaft", "connector", "modulator")), places, RARE)
    after, before = belief(found, "selector-shaft"), 0.02
    odds = np.exp(found.fault_factor["selector-seal-hard"]) * before / (1 - before)
    assert odds / (1 + odds) == pytest.approx(after, rel=1e-9)


def test_a_fault_that_shares_its_site_gains_less_than_one_alone() -> None:
    """A leaking front seal is explained by any of its faults: none of them gains more than the site does."""
    places = [Wet("wet", Point(0.11, 0.0, -0.045, 0.02), "running-only")]
    found = trace(BOX, places, RARE)
    site = next(entry for entry in found.sites if entry.site.id == "front-seal")
    for fault in site.site.faults:
        assert 0.0 < found.fault_factor[fault] < np.log(site.factor)


def test_without_places_nothing_moves() -> None:
    """No place seen: every probability is its prior, every factor one."""
    found = trace(BOX, [], RARE)
    assert max(abs(value) for value in found.fault_factor.values()) < 1e-9
    for entry in found.sites:
        assert entry.factor == pytest.approx(1.0)
        assert entry.probability == pytest.approx(entry.before, abs=0.003)
    assert found.unexplained == 0.0


def test_belief_on_more_than_three_sites_is_the_counts_own_tail() -> None:
    """Four sites, each leaking half the time, leak all at once in one car of sixteen."""
    ids = ("selector-shaft", "connector", "pan-gasket", "filler-tube")
    prior = {SITES[name].faults[0]: 0.5 for name in ids}
    assert trace(small_box(ids), [], prior).unweighed == pytest.approx(1 / 16)


def test_a_stray_spot_is_called_unexplained() -> None:
    """A place no site can reach is put down to old fluid, and moves hardly anything."""
    found = trace(BOX, [Wet("top", Point(-1.2, 0.5, 0.5, 0.01))], RARE)
    assert found.unexplained > 0.9


def test_a_box_without_sites_is_refused() -> None:
    """The answer says what to add to its file."""
    with pytest.raises(FindingError, match="leak_sites"):
        trace(replace(BOX, leak_sites=()), [], {})


def test_an_unknown_position_is_neither_for_nor_against() -> None:
    """A site nobody has measured keeps a middling chance where a known one is ruled out."""
    site: LeakSite = replace(SITES["connector"], along=None, across=None, height=None)
    box = replace(BOX, leak_sites=(site, SITES["selector-shaft"]))
    found = trace(box, [Wet("wet", Point(0.1, None, 0.1, 0.01))], RARE)
    assert belief(found, "connector") > 5 * belief(found, "selector-shaft")
