"""How far to adjust: what speaks against it, what must be known first, and laws that hold for every car."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from bellhousing.boxes.load import box_from_bytes
from bellhousing.diagnosis.adjusting import Bench, Setting, Step, bench
from bellhousing.diagnosis.adjusting_advice import Advice, advise
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.quantities.units import from_si, to_si
from tests.shipped import catalogue_as_shipped, ready

VACUUM = ("modulator-vacuum-idle", 18.0, "inHg")
HIGH = (("line-drive-hose-off", 166.0, "psi"), ("upshift-23-medium", 54.0, "mph"), VACUUM)
LOW = (("line-drive-hose-off", 122.0, "psi"), ("upshift-23-medium", 24.0, "mph"), VACUUM)


@cache
def prepared(extra: str, cars: int = 40) -> Prepared:
    """A box of the family in its usual car; `extra` is written at the end of its file."""
    text = f"schema: 1\nname: Test\nslug: test-box\nfamily: three-speed-vacuum\nsource: invented\n{extra}"
    return prepare(box_from_bytes(text.encode()), CarFacts(), catalogue_as_shipped(), cars=cars)


def read(*readings: tuple[str, float, str]) -> list[Evidence]:
    """Measured evidence."""
    return [Evidence(name, value=float(to_si(value, unit))) for name, value, unit in readings]


def setting(advice: Advice) -> Setting:
    assert advice.setting is not None
    return advice.setting


@pytest.fixture(scope="module")
def box_a() -> Prepared:
    return ready("box-a")


@pytest.fixture(scope="module")
def table(box_a: Prepared) -> Bench:
    return bench(box_a)


def test_further_in_raises_line_and_shifts_on_every_car(table: Bench) -> None:
    """On every plausible car each turn in raises, or leaves, every line reading and every change up."""
    for name, rows in table.readings.items():
        if name.startswith("line-drive-1000") or name in ("line-drive-hose-off", "line-drive-idle"):
            assert (np.diff(rows, axis=0) > -1.0).all(), name
        if name.startswith("upshift-12-") or name in ("upshift-23-light", "upshift-23-medium"):
            assert (np.diff(np.minimum(rows, 50.0), axis=0) > -0.02).all(), name


def test_a_longer_rod_raises_throttle_pressure_and_shifts() -> None:
    """The same on the four-speed: longer is later everywhere."""
    table = bench(ready("box-b", 60))
    for name in ("tv-half", "tv-full", "upshift-12-medium", "upshift-23-medium", "upshift-34-light"):
        assert (np.diff(np.minimum(table.readings[name], 1e6), axis=0) > -1.0).all(), name
        assert table.readings[name][-1].mean() > table.readings[name][0].mean()


def test_at_the_right_setting_the_weights_are_those_of_the_diagnosis(box_a: Prepared, table: Bench) -> None:
    """Cars are weighed by the same likelihoods as in the diagnosis."""
    evidence = read(*HIGH)
    right = table.weighed(evidence).weights[len(table.settings) // 2]
    assert right / right.sum() == pytest.approx(diagnose(box_a, evidence).belief.car_weights[0], rel=1e-3)


def test_high_readings_ask_out_and_low_ones_in(box_a: Prepared, table: Bench) -> None:
    """The advice has the sign that cures, its band holds it, and both readings end in their windows."""
    for readings, sign in ((HIGH, -1.0), (LOW, 1.0)):
        advice = advise(box_a, read(*readings), table=table)
        found = setting(advice)
        assert advice.state == "adjust"
        assert advice.rate_source == "box"
        assert np.sign(found.amount) == sign
        assert found.needed.low <= found.amount <= found.needed.high
        assert not found.needed.low < 0.0 < found.needed.high
        assert found.amount * 4.0 == pytest.approx(round(found.amount * 4.0))
        for outcome in found.outcomes:
            if outcome.finding in ("line-drive-hose-off", "upshift-23-medium"):
                assert outcome.window is not None
                assert outcome.window.low < outcome.then.middle < outcome.window.high
                assert np.sign(outcome.then.middle - outcome.now.middle) == sign


def test_the_further_off_the_more_turns(box_a: Prepared, table: Bench) -> None:
    """More line pressure than the map's asks for more turns out."""
    amounts = [
        setting(advise(box_a, read(("line-drive-hose-off", psi, "psi"), VACUUM), table=table)).needed.middle
        for psi in (130.0, 141.0, 152.0, 160.0, 168.0)
    ]
    assert (np.diff(amounts) < 0.0).all()


def test_turning_as_told_leaves_nothing_to_turn(box_a: Prepared, table: Bench) -> None:
    """After the turns told, and readings that came as predicted, the car is on its map."""
    evidence = read(*HIGH)
    first = setting(advise(box_a, evidence, table=table))
    line = next(entry.then.middle for entry in first.outcomes if entry.finding == "line-drive-hose-off")
    after = [*evidence, Evidence("line-drive-hose-off", value=line)]
    advice = advise(box_a, after, [Step(len(evidence), first.amount)], table=table)
    assert advice.state == "on-map"
    assert abs(setting(advice).needed.middle) < 1.5


def test_a_car_as_the_map_says_is_left_alone(box_a: Prepared, table: Bench) -> None:
    """Readings in the middle of their windows ask for nothing."""
    evidence = read(("line-drive-hose-off", 141.0, "psi"), ("upshift-23-medium", 44.0, "mph"), VACUUM)
    assert advise(box_a, evidence, table=table).state == "on-map"


def test_a_harsh_change_alone_never_lowers_the_line(box_a: Prepared, table: Bench) -> None:
    """Harsh with every reading in its window: nothing is turned out, whatever would soften it."""
    evidence = [
        *read(("line-drive-hose-off", 145.0, "psi"), ("line-drive-1000", 66.0, "psi"), VACUUM),
        *read(("upshift-23-light", 19.0, "mph"), ("upshift-12-light", 13.0, "mph")),
        Evidence("shift-feel-23", states=("harsh",)),
    ]
    advice = advise(box_a, evidence, table=table)
    assert advice.state in ("on-map", "not-to-soften", "other-cause")


def test_another_cause_is_named_with_the_finding_that_speaks_for_it(box_a: Prepared, table: Bench) -> None:
    """A torn diaphragm is not adjusted away, and the fluid in the hose is what says so."""
    late = read(("line-drive-hose-off", 141.0, "psi"), ("upshift-23-medium", 70.0, "mph"), VACUUM)
    evidence = [*late, Evidence("fluid-in-modulator-hose", states=("wet",))]
    advice = advise(box_a, evidence, table=table)
    assert advice.state == "other-cause"
    torn = next(entry for entry in advice.against if entry.cause.id == "modulator-diaphragm-torn")
    assert torn.evidence == len(evidence) - 1


def test_a_weak_governor_is_not_adjusted_away(box_a: Prepared, table: Bench) -> None:
    """Late shifts with the line as it should be and governor pressure low: the governor comes first."""
    evidence = read(
        ("line-drive-hose-off", 141.0, "psi"),
        ("line-drive-1000", 65.0, "psi"),
        ("governor-20", 14.0, "psi"),
        ("governor-30", 18.0, "psi"),
        ("upshift-23-medium", 54.0, "mph"),
        VACUUM,
    )
    advice = advise(box_a, evidence, table=table)
    assert advice.state == "other-cause"
    assert any(entry.cause.id.startswith("governor") for entry in advice.against)


@pytest.mark.parametrize("left_out", ["line-drive-hose-off", "modulator-vacuum-idle"])
def test_what_must_be_measured_is_asked_for(box_a: Prepared, table: Bench, left_out: str) -> None:
    """Without a pressure, or without the vacuum that reaches the modulator, nothing is told."""
    evidence = read(*(entry for entry in HIGH if entry[0] != left_out))
    advice = advise(box_a, evidence, table=table)
    assert advice.state == "measure"
    assert left_out in advice.measure
    assert advice.setting is None


def test_nothing_found_asks_for_measurements(box_a: Prepared, table: Bench) -> None:
    """An empty job asks for the vacuum, a pressure and nothing else of it is guessed."""
    assert advise(box_a, [], table=table).measure[:2] == ("modulator-vacuum-idle", "line-drive-hose-off")


@pytest.mark.parametrize("part", ["modulator-screw", "modulator"])
def test_a_box_without_the_screw_has_nothing_to_turn(part: str) -> None:
    """What the box file lists under `lacks` is not adjusted."""
    evidence = read(*(HIGH[:2] if part == "modulator" else HIGH))
    assert advise(prepared(f"lacks: [{part}]\n", cars=4), evidence).state == "no-adjustment"


def test_the_line_floor_stops_it_short() -> None:
    """With the manual's low end just below what is measured, the screw goes out no further than that."""
    free = prepared("modulator: {screw_rate: 3 N/turn}\n")
    held = prepared('modulator: {screw_rate: 3 N/turn}\nwindows: {line-stall: "172-200 psi"}\n')
    evidence = read(
        ("line-drive-hose-off", 184.0, "psi"),
        ("upshift-23-medium", 66.0, "mph"),
        ("upshift-23-light", 40.0, "mph"),
        ("line-stall", 184.0, "psi"),
        VACUUM,
    )
    loose, tight = advise(free, evidence), advise(held, evidence)
    assert setting(loose).amount < setting(tight).amount <= 0.0
    assert tight.floor == "line-stall"
    stall = next(entry.then for entry in setting(tight).outcomes if entry.finding == "line-stall")
    assert from_si(stall.middle, "psi") >= 172.0 or setting(tight).amount == 0.0


def test_the_floor_can_forbid_it_altogether() -> None:
    """Where the line is at its floor already, nothing is turned out, and the floor is named."""
    held = prepared('modulator: {screw_rate: 3 N/turn}\nwindows: {line-stall: "190-220 psi"}\n')
    evidence = read(
        ("line-drive-hose-off", 184.0, "psi"),
        ("upshift-23-medium", 66.0, "mph"),
        ("upshift-23-light", 40.0, "mph"),
        ("line-stall", 184.0, "psi"),
        VACUUM,
    )
    advice = advise(held, evidence)
    assert advice.state == "at-floor"
    assert advice.floor == "line-stall"


def test_an_unknown_rate_asks_for_one_turn_and_is_learnt_from_it() -> None:
    """A box file without a rate: one turn first; three turns that moved the line 3 psi each give the rate."""
    box = prepared("note: its rate is unknown\n")
    evidence = read(
        ("line-drive-hose-off", 184.0, "psi"),
        ("upshift-23-medium", 66.0, "mph"),
        ("upshift-23-light", 40.0, "mph"),
        VACUUM,
    )
    asked = advise(box, evidence)
    assert asked.state == "one-step"
    assert asked.rate_source == "unknown"
    steps = [Step(len(evidence), -3.0)]
    told = [
        advise(box, [*evidence, *read(("line-drive-hose-off", after, "psi"))], steps)
        for after in (181.0, 175.0, 166.0)
    ]
    rates = [setting(advice).rate for advice in told]
    assert rates[0].middle < rates[1].middle < rates[2].middle
    assert all(rate.spread < setting(asked).rate.spread for rate in rates)
    assert told[1].rate_source == "learnt"


def test_steps_before_anything_was_measured_make_the_car_as_found(box_a: Prepared, table: Bench) -> None:
    """A turn made before the first reading changes nothing of the advice."""
    evidence = read(*HIGH)
    alone = advise(box_a, evidence, table=table)
    advice = advise(box_a, evidence, [Step(0, 2.0)], table=table)
    assert advice.steps == ()
    assert setting(advice).amount == setting(alone).amount
