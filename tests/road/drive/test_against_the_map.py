"""Simulated drives against the steady shift map, the gauge and the stall speed of the same cars."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.road.drive.drive import Drive
from bellhousing.road.driving import down_speed, readings, shift_vacuum, up_speed
from bellhousing.road.engaging import engagement_time
from bellhousing.road.gauge import line_at
from bellhousing.road.pressures import PSI
from bellhousing.road.shifts import shift_speeds
from tests.road.drive.drives import INHG, MPH, RPM, box_a, drive, first_shift, middle, some


@pytest.mark.parametrize("pull", ["light-pull", "medium-pull", "full-pull"])
def test_upshifts_come_where_the_steady_map_has_them(pull: str) -> None:
    """Within a tenth of a second's worth of speed, on every one of forty sound cars."""
    cars, (_, car) = some(), box_a()
    made = drive(cars, pull)
    felt = shift_vacuum(cars, car, pull.partition("-")[0])
    for name, valve in (("1-2", "first_second"), ("2-3", "second_third")):
        steady = up_speed(cars, car, valve, felt, floor=pull == "full-pull") / MPH
        for row in range(len(cars)):
            found = first_shift(made, name, row)
            if found is None:  # so light a foot that the car never gets there
                assert made.speed[:, row].max() / MPH < steady[row]
                continue
            assert abs(found[0] - steady[row]) <= 0.1 * abs(found[1]) + 0.05


def test_downshifts_on_the_coast_come_where_the_steady_map_has_them() -> None:
    """3-2 and 2-1, at the vacuum there is at that moment."""
    cars, (_, car) = some(8), box_a()
    made = drive(cars, "coast-down")
    for row in range(len(cars)):
        for name in ("3-2", "2-1"):
            found = first_shift(made, name, row)
            assert found is not None
            one = cars.take(np.array([row]))
            steady = float(shift_speeds(one, car, found[2])[name][0]) / MPH
            assert found[0] == pytest.approx(steady, abs=0.1 * abs(found[1]) + 0.1)


def test_deep_throttle_at_45_brings_second_and_a_light_one_does_not() -> None:
    """As the map has it: the 3-2 at 2 inHg lies above 45 mph."""
    cars, (_, car) = middle(), box_a()
    steady = float(shift_speeds(cars, car, 2.0 * INHG)["3-2"][0]) / MPH
    assert steady > 45.0
    made = [shift.name for shift in drive(cars, "deep-throttle-45").shifts()]
    assert made[0] == "3-2"


def test_the_pedal_on_its_stop_brings_second_at_once() -> None:
    """Within the foot's quarter of a second; a dead detent leaves it to part throttle or to nothing."""
    made = drive(middle(), "forced-downshift").shifts()
    assert made[0].name == "3-2"
    assert 3.0 < made[0].time < 3.3
    _, car = box_a()
    dead = middle(detent__works=0.0)
    steady = float(down_speed(dead, car, "second_third", shift_vacuum(dead, car, "full"))[0]) / MPH
    shifted = [shift for shift in drive(dead, "forced-downshift").shifts() if shift.name == "3-2"]
    assert bool(shifted) == (steady > 52.0)


def test_stall_speed_is_the_one_of_the_stall_test() -> None:
    """Engine against converter at full throttle, forty cars, forwards and in reverse."""
    cars, (_, car) = some(), box_a()
    steady = readings(cars, car)
    for what, name in (("stall", "stall-drive"), ("stall-reverse", "stall-reverse")):
        made = drive(cars, what)
        phase = 2.0
        last = np.array([made.engine[made.phase[:, row] == phase, row][-1] for row in range(len(cars))])
        # The gauge leaves half an inch of vacuum on the road, so the torque is a little below full.
        assert last == pytest.approx(steady[name], rel=0.03)


def test_engagement_takes_the_time_a_stopwatch_finds() -> None:
    """N to D at a hot idle: from the lever to the turbine at rest."""
    cars, (_, car) = some(12), box_a()
    made = drive(cars, "engagement", record=0.02)
    steady = engagement_time(cars, car, "D", 80.0)
    for row in range(len(cars)):
        stopped = made.time[(made.time > 3.0) & (made.turbine[:, row] < 1.0)][0] - 3.0
        assert stopped == pytest.approx(steady[row], abs=0.3)


def test_line_pressure_under_way_is_cut_back_and_standing_it_is_the_gauges() -> None:
    """The gauge of a standing car and of the simulated one agree to half a psi at an open hose."""
    off = middle(hose__share=0.0)
    _, car = box_a()
    made = drive(off, "engagement")
    there = made.line[(made.time > 7.0) & (made.time < 9.0), 0].mean()
    steady = line_at(off, car, "D1", float(made.engine[80, 0] / RPM), hose=False)[0]
    assert there / PSI == pytest.approx(steady / PSI, abs=0.5)
    full = drive(middle(), "full-pull")
    assert full.line[-1, 0] < full.line[60, 0]


@pytest.mark.beside("the steady shift map of the same car", code="road.drive.shifting.look")
def test_a_hose_that_is_off_shifts_late_at_every_throttle() -> None:
    """Light and full throttle then shift alike, as the map of the same car without vacuum has them."""
    off = middle(hose__share=0.0)
    _, car = box_a()
    steady = shift_speeds(off, car, 0.0)
    made = drive(off, "medium-pull")
    found = first_shift(made, "1-2", 0)
    assert found is not None
    assert found[0] == pytest.approx(float(steady["1-2"][0]) / MPH, abs=0.3)


def test_valves_stuck_either_way_do_as_they_must() -> None:
    """Stuck down never shifts; stuck up starts in second."""
    down = drive(middle(shift_valves__first_second__stuck=-1.0), "light-pull")
    assert down.shifts() == ()
    up = drive(middle(shift_valves__first_second__stuck=1.0), "light-pull")
    assert up.gear[up.time > 6.0, 0].min() == 2.0


def test_a_clutch_that_cannot_hold_slips_and_a_sound_one_does_not() -> None:
    """The direct clutch with a tenth of its grip: engine and road no longer agree in third."""
    sound = drive(middle(), "medium-pull")
    worn = drive(middle(direct_clutch__grip=0.1), "medium-pull")

    def slip(made: Drive) -> float:
        late = (made.gear[:, 0] == 3.0) & (made.time > made.shifts()[-1].time + 3.0)
        ratio = made.turbine[late, 0] / (made.speed[late, 0] * 3.08 / 0.345)
        return float(np.max(np.abs(ratio - 1.0)))

    assert slip(sound) < 1e-9
    assert slip(worn) > 0.05


def test_a_shift_takes_the_time_that_is_usual() -> None:
    """From the command to the turbine at the new ratio 0.4 to 1.0 s in a medium 1-2."""
    made = drive(middle(), "medium-pull", record=0.01)
    shift = made.shifts()[0]
    _, car = box_a()
    ratio = car.gears["second"].ratio
    slip = made.turbine[:, 0] - ratio * made.speed[:, 0] * 3.08 / 0.345
    done = made.time[(made.time > shift.time) & (np.abs(slip) < 1e-6)][0]
    assert 0.4 < done - shift.time < 1.0
