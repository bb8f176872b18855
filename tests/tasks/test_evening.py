"""The evening view's tables against the road room's own functions, its drives, and its cases."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.errors import BoxFileError, FindingError, QuantityError
from bellhousing.quantities.units import from_si
from bellhousing.road import driving, gauge
from bellhousing.road.engine import vacuum_at_travel
from bellhousing.road.four_speed import driving as four_driving
from bellhousing.road.four_speed.pressures import reached
from bellhousing.road.pressures import felt_vacuum
from bellhousing.tasks.evening import ALWAYS, box_of, boxes, breaks, broken_of, evening, one_car
from bellhousing.tasks.evening_drives import evening_drive
from bellhousing.tasks.evening_game import titles, told
from bellhousing.tasks.shop import Shop
from tests.shipped import catalogue_as_shipped

HALF = 16
"""Place of half throttle in the grid."""


def test_a_three_speed_follows_the_road() -> None:
    """Line, throttle signal and shifts at half throttle and 40 mph are those of the road's own functions."""
    box = load_box("box-a")
    shown = evening(box)
    _, one, car = one_car(box, (), 0.5)
    felt = felt_vacuum(one, vacuum_at_travel(one, shown.travel[HALF]))
    at = shown.speed.index(40.0)
    rpm = shown.engine[2][HALF][at]
    line = gauge.line_under_way(one, car, "D3", 40.0, rpm, felt)
    assert shown.line[2][HALF][at] == pytest.approx(from_si(line[0], "psi"), abs=0.06)
    for valve, name in zip(shown.valves, ("first_second", "second_third"), strict=True):
        up, down = (move(one, car, name, felt)[0] for move in (driving.up_speed, driving.down_speed))
        assert valve.up[HALF] == pytest.approx(from_si(up, "mph"), abs=0.01)
        assert valve.down[HALF] == pytest.approx(from_si(down, "mph"), abs=0.01)


def test_a_four_speed_follows_the_road() -> None:
    """The shifts of all three valves at half throttle, and on the pedal's stop, are the road's own."""
    box = load_box("box-b")
    shown = evening(box, unit="km/h")
    _, one, car = one_car(box, (), 0.5)
    travel = reached(one, np.array([shown.travel[HALF]]))
    for valve, name in zip(shown.valves, ("first_second", "second_third", "third_fourth"), strict=True):
        up = four_driving.up_speed(one, car, name, travel)[0]
        forced = four_driving.down_speed(one, car, name, 1.0, floor=True)[0]
        assert valve.up[HALF] == pytest.approx(from_si(up, "km/h"), abs=0.01)
        assert valve.floor.down == pytest.approx(from_si(forced, "km/h"), abs=0.01)
        assert valve.pushed_by == (("first",) if name == "first_second" else ("first", "second"))


def test_a_valve_moves_where_its_pressure_is_reached() -> None:
    """At the upshift speed what pushes the valve is what it needs, so picture and map tell the same."""
    for name in ALWAYS:
        shown = evening(load_box(name))
        for number, valve in enumerate(shown.valves):
            speed = valve.up[HALF]
            assert speed is not None
            push = sum(
                np.interp(speed, shown.speed, shown.governor[by][number][HALF]) for by in valve.pushed_by
            )
            # The governor lags by its friction while the car gathers speed.
            assert push == pytest.approx(valve.up_needs[HALF], abs=1.0)


@pytest.mark.parametrize("name", ALWAYS)
def test_members_obey_every_lever(name: str) -> None:
    """On each set's lever the three speeds lie on one straight line, in every gear."""
    shown = evening(load_box(name))
    for gear in shown.gears:
        assert gear.speeds[shown.output] == pytest.approx(1.0)
        assert gear.speeds[shown.input] == pytest.approx(gear.ratio)
        assert all(gear.speeds[member] == 0.0 for member in gear.still)
        for one in shown.sets:
            (_, sun), (place, carrier), (_, ring) = (
                (node.place, gear.speeds.get(node.member, np.nan)) for node in one.nodes
            )
            if np.isfinite([sun, carrier, ring]).all():
                assert carrier == pytest.approx(sun + place * (ring - sun), abs=1e-4)


@pytest.mark.parametrize("name", ALWAYS[:2])
def test_everything_offered_changes_the_picture(name: str) -> None:
    """Each thing to break is a fault of the catalogue, and pressures or shifts are no longer as before."""
    box = load_box(name)
    catalogue = catalogue_as_shipped()
    sound = evening(box).model_dump(exclude={"broken", "severity"})
    for thing in breaks(box):
        assert box.kind in catalogue.faults[thing.fault].families
        broken = evening(box, (thing.id,), severity=1.0).model_dump(exclude={"broken", "severity"})
        assert broken != sound, thing.id


def test_a_hose_off_is_full_throttle_at_any_pedal() -> None:
    """With no vacuum at the modulator the light shift comes where the full one does."""
    box = load_box("box-a")
    sound, off = evening(box), evening(box, ("hose-off",), severity=1.0)
    assert off.valves[0].up[2] == sound.valves[0].up[-1]
    light = sound.valves[0].up[2]
    assert light is not None
    assert light < 20.0
    assert off.felt[0] == 0.0
    assert off.line[0][0][0] > sound.line[0][0][0] + 40.0


def test_what_cannot_be_is_refused() -> None:
    """Another family's part, too much at once, and a severity beyond the worst."""
    box = load_box("box-b")
    with pytest.raises(FindingError, match="hose-off"):
        evening(box, ("hose-off",))
    with pytest.raises(FindingError, match="too much"):
        broken_of(box, [thing.id for thing in breaks(box)][:7])
    with pytest.raises(QuantityError):
        evening(box, severity=1.5)


def test_only_boxes_that_are_known_are_shown(shop: Shop) -> None:
    """An address never leads to a file."""
    assert tuple(box.slug for box in boxes(shop)) == ALWAYS
    with pytest.raises(BoxFileError):
        box_of(shop, "/etc/passwd")


@pytest.mark.parametrize("name", ALWAYS[:2])
def test_a_drive_is_simulated_for_both_kinds(name: str) -> None:
    """With the pedal on the floor the travel runs from shut to its stop, and the car gathers speed."""
    made = evening_drive(load_box(name), "full")
    assert made.travel[0] == 0.0
    assert max(made.travel) == 1.0
    assert max(made.speed) > 55.0
    with pytest.raises(QuantityError, match="medium"):
        evening_drive(load_box(name), "sideways")


def test_every_case_is_understood_and_solved(shop: Shop) -> None:
    """Each step is understood, the truth can be voted for, is not given away first, and wins at the end."""
    kinds, places = set(), set()
    for title in titles(shop):
        case = told(shop, title.id)
        kinds.add(case.kind)
        options = [option.fault for option in case.options]
        assert set(case.truth) <= set(options)
        places.add(options.index(case.truth[0]))
        assert case.steps[-1].leading[0].fault == case.truth[0]
        assert case.steps[-1].leading[0].chance > 0.75
        assert case.steps[0].options[options.index(case.truth[0])] < 0.8
    assert len(kinds) == 2
    assert len(places) > 2, "the place of the truth gives it away"
