"""Figures of the reading of logs worked out another way: virtual work, the simulated converter, a library."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import null_space
from scipy.stats import norm

from bellhousing.road.drive.four.layout import CARRIER, ENGINE, OUTPUT, TURBINE, layout_of
from bellhousing.road.drive.mechanics import Converter
from bellhousing.road.logs.blocks import layout_of_file
from bellhousing.road.logs.columns import guess_columns
from bellhousing.road.logs.gear_costs import sample_costs
from bellhousing.road.logs.gear_set import GearSet, gear_set, pull
from bellhousing.road.logs.gears import GearPath
from bellhousing.road.logs.slips import SlipReader
from bellhousing.road.logs.store import keep_log, kept_rows
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.usual_gain import given, unusual_gain
from bellhousing.road.logs.usual_pull import unusual_pull
from tests.road.drive.drives import MPH, RPM, box_b

FloatArray = NDArray[np.float64]

GEARS = GearSet((2.5, 1.5, 1.0), 1900.0 * RPM, 3.08, 0.345)


def track(engine: FloatArray, output: FloatArray, load: FloatArray, step: float = 0.1) -> Track:
    """A stretch of a drive."""
    time = step * np.arange(len(engine), dtype=np.float64)
    return Track(time, time, GEARS.road_speed(output), engine, output, load)


def everywhere(count: int) -> NDArray[np.bool_]:
    """Yes at every sample."""
    return np.ones(count, dtype=bool)


def steady(output: FloatArray, gear: int) -> GearPath:
    """A stretch in one gear without a change."""
    count = len(output)
    return GearPath(
        np.full(count, gear), (), GEARS.road_speed(output), output, np.zeros(count), everywhere(count),
        650.0 * RPM, 0.0, GEARS.array, GEARS.factors, ~everywhere(count),
    )  # fmt: skip


@pytest.mark.beside("virtual work in the planetary sets", code="road.logs.gear_set.GearSet.factors")
def test_pull_of_a_coupling_between_two_units_by_virtual_work() -> None:
    """At little slip the engine's torque is the coupling's times how far an engine's turn twists it.

    The root of that over `pull`, which takes the coupling to sit behind the engine, is the gear's factor.
    """
    box = box_b()[0]
    gears, layout, found = gear_set(box, 3.08, 0.345), layout_of(box, 1.0), []
    for name, ratio in zip(("first", "second", "third", "fourth"), gears.ratios, strict=True):
        free = null_space(layout.rows[list(layout.gears[name])])
        all_speeds = free @ np.linalg.inv(free[[ENGINE, OUTPUT]])
        engine, output = 200.0, 200.0 * (1.0 - 1e-5) / ratio
        front, rear = all_speeds[[CARRIER, TURBINE]] @ [engine, output]
        twist = all_speeds[CARRIER, 0] - all_speeds[TURBINE, 0]
        torque = twist * (front**2 - rear**4 / front**2)
        found.append(np.sqrt(torque) / pull(np.array([engine]), np.array([ratio * output]))[0])
    assert gears.factors == pytest.approx(np.array(found) / found[0], rel=1e-3)
    assert gears.factors.max() > 1.3


@pytest.mark.beside("the simulated converter", code="road.logs.usual_gain.given")
def test_what_a_gear_gives_by_the_simulated_converter() -> None:
    """Its turbine torque through the gear, in units of its capacity."""
    converter = Converter(np.ones(1), np.array([2.0]), np.array([0.88]), np.ones(1))
    engine, output = np.array([220.0, 260.0, 300.0]), np.array([40.0, 70.0, 110.0])
    turbine = output[:, None] * GEARS.array
    pulls = pull(engine[:, None], turbine)
    wanted = [
        [ratio * converter.torques(np.array([w]), np.array([ratio * o]))[1][0] for ratio in GEARS.ratios]
        for w, o in zip(engine, output, strict=True)
    ]
    assert given(GEARS, engine, output, pulls) == pytest.approx(np.array(wanted), rel=1e-9)


@pytest.mark.other_program(
    "scipy, logarithms of the normal density", code="road.logs.usual_gain.unusual_gain"
)
def test_an_unusual_gain_by_a_library() -> None:
    """A car whose gain in second follows its engine: in another gear the odds of so much or so little."""
    count = 120
    engine, output = np.linspace(230.0, 300.0, count), np.linspace(60.0, 130.0, count)
    pulls = pull(engine[:, None], output[:, None] * GEARS.array)
    gives = given(GEARS, engine, output, pulls)
    speed, heavy = GEARS.road_speed(output), 2.5e-5
    gain = heavy * gives[:, 1] - 0.15 - 3e-4 * speed**2
    assert gain.min() > 0.5
    found = unusual_gain(
        track(engine, output, np.full(count, 0.7)), GEARS, np.ones(count, dtype=np.intp), pulls, gain,
        speed, output, everywhere(count),
    )  # fmt: skip
    assert found is not None
    expected = heavy * gives
    odds = norm(expected, 0.35 + 0.10 * expected)
    wanted = odds.logpdf(expected) - odds.logpdf(expected[:, [1]])
    assert found == pytest.approx(np.minimum(wanted, 2.5), rel=1e-9, abs=1e-9)
    assert ((found > 0.1) & (found < 2.4)).any(axis=0).tolist() == [True, False, True]


@pytest.mark.other_program(
    "scipy, logarithms of the normal density", code="road.logs.usual_pull.unusual_pull"
)
def test_an_unusual_pull_by_a_library() -> None:
    """The pull grows evenly with the foot; 200 rpm more or less cost their odds about that line."""
    load = (3.0 + 11.0 * (np.arange(1100) + 0.5) / 1100) / 16.0
    usual = 80.0 + 90.0 * load
    pulls = usual[:, None] + np.array([200.0, 0.0, -300.0]) * RPM
    there = track(np.full(1100, 250.0), np.full(1100, 90.0), load, 0.05)
    found = unusual_pull(
        there, GEARS, np.ones(1100, dtype=np.intp), pulls, np.ones(1100), there.speed, everywhere(1100)
    )
    assert found is not None
    odds = norm(0.0, 250.0 * RPM)
    wanted = odds.logpdf(0.0) - odds.logpdf(np.array([200.0, 0.0, 300.0]) * RPM)
    between_middles = (load > 3.5 / 16.0) & (load < 13.5 / 16.0)
    assert found[between_middles] == pytest.approx(np.tile(wanted, (between_middles.sum(), 1)), rel=1e-6)


@pytest.mark.beside("by hand; the costs themselves are judgement", code="road.logs.gear_costs.sample_costs")
def test_costs_of_the_gears_by_hand() -> None:
    """Pulling, pulling too hard, idling while the wheels turn faster, and foot off as the top gear asks.

    Turbine over engine 1.25, 0.75 and 0.5 under load: first would need the turbine 0.21 faster than it can
    be, which is more than costs at most; the others 0.4 times the logarithm. A fifth more pull than there is
    costs six. An idling engine left alone at 1.3 costs one, in top only.
    """
    engine = np.full(4, 300.0)
    output = np.array([150.0, 150.0, 390.0, 285.0])
    load = np.array([0.5, 0.5, 0.5, 0.05])
    pulls = np.zeros((4, 3))
    pulls[1, 1] = 1.2 * 1.15 * GEARS.stall * np.sqrt(0.85)
    told = np.array([True, True, False, True])
    found = sample_costs(
        track(engine, output, load), GEARS, output, np.array([1.0, 1.0, 1.0, 0.0]), pulls, told, 68.0
    )
    assert found == pytest.approx(
        np.array(
            [[10.0, 0.11507, 0.27726], [10.0, 6.11507, 0.27726], [0.0, 0.0, 1.0], [1.84600, 1.64167, 0.02052]]
        ),
        abs=1e-4,
    )


@pytest.mark.beside("what was put in", code="road.logs.slips.SlipReader.converter")
def test_slip_of_a_cruising_converter_is_what_was_put_in() -> None:
    """Three in a hundred in top with some scatter: their middle and spread, and nothing from too few."""
    shares = 0.03 + 0.004 * np.random.default_rng(4).normal(size=200)
    output = np.full(200, 220.0)
    for count, told in ((200, (np.median(shares), np.std(shares))), (12, None)):
        reader = SlipReader(GEARS)
        engine = output[:count] / (1.0 - shares[:count])
        there = track(engine, output[:count], np.full(count, 0.3), 0.2)
        reader.take(there, steady(output[:count], 2), slice(None))
        assert reader.converter() == (told if told is None else pytest.approx(told, rel=1e-9))


@pytest.mark.beside("what was put in", code="road.logs.store.kept_rows")
def test_rows_of_a_kept_log_are_what_was_put_in(tmp_path: Path) -> None:
    """Written in mph and rpm, kept, and read ten rows at a time in SI units."""
    log = tmp_path / "drive.csv"
    mph, rpm = np.linspace(0.0, 60.0, 45), np.linspace(600.0, 2600.0, 45)
    rows = [
        f"{0.1 * row:.1f},{one:.3f},{other:.2f}"
        for row, (one, other) in enumerate(zip(mph, rpm, strict=True))
    ]
    log.write_text("\n".join(["time [s],speed [mph],engine [rpm]", *rows]), encoding="utf-8")
    kept = keep_log(log, guess_columns(layout_of_file(log)), tmp_path)
    parts = list(kept_rows(kept, ["engine-speed", "speed"], rows=10))
    assert [len(part["speed"]) for part in parts] == [10, 10, 10, 10, 5]
    assert np.concatenate([part["speed"] for part in parts]) == pytest.approx(mph * MPH, abs=1e-3)
    assert np.concatenate([part["engine-speed"] for part in parts]) == pytest.approx(rpm * RPM, abs=1e-3)


@pytest.mark.parametrize(
    ("slipping", "charged", "told"), [(0.0, False, []), (0.12, False, [3]), (0.0, True, [2])]
)
def test_an_engine_pulls_harder_where_it_turns_slower_at_the_same_opening(
    slipping: float, charged: bool, told: list[int]
) -> None:
    """Of so much air in a time each turn gets the more the slower it is: that is no slip of the lower gear.

    Where the manifold says that each turn gets the same, what else the lower gear's engine does is slip.
    """
    reader = SlipReader(GEARS)
    for gear, speed in ((1, 1600.0 * RPM), (2, 2600.0 * RPM)):
        drawn = 900.0 * RPM * np.sqrt(2600.0 * RPM / speed)
        turbine = (speed**4 - speed**2 * drawn**2) ** 0.25
        output = np.full(60, turbine / GEARS.ratios[gear] / (1.0 + (slipping if gear == 2 else 0.0)))
        there = track(np.full(60, speed), output, np.full(60, 0.25))
        if charged:
            there = replace(there, charge=np.full(60, 0.25))
        reader.take(there, steady(output, gear), slice(None))
    assert [slip.gear for slip in reader.slips()] == told
