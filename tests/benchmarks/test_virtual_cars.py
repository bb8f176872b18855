"""The generator of virtual cars: repeatable, ill where its faults are, and judged as it should be."""

from __future__ import annotations

import math

import numpy as np
import pytest
from benchmarks.diagnosis import by_hand, three_speed
from benchmarks.diagnosis.cars import MODELS, Answer, draw_car
from benchmarks.diagnosis.judge import Judge
from benchmarks.diagnosis.names import FAMILIES, Names, read_names
from benchmarks.diagnosis.scores import calibration_error, wilson


@pytest.fixture(scope="module", params=FAMILIES)
def names(request: pytest.FixtureRequest) -> Names:
    """The names of each family."""
    return read_names(request.param)


def test_a_car_is_drawn_the_same_again(names: Names) -> None:
    """Seed and number are all that a car depends on."""
    assert draw_car(names, 3, 7) == draw_car(names, 3, 7)
    assert draw_car(names, 3, 7) != draw_car(names, 4, 7)


def test_faults_come_as_often_as_their_weights(names: Names) -> None:
    """The mean number of faults a car is the sum of the weights, within four standard errors."""
    cars = [draw_car(names, 5, number) for number in range(150)]
    expected = sum(names.weights.values())
    assert abs(np.mean([len(car.faults) for car in cars]) - expected) < 4.0 * math.sqrt(expected / 150)
    assert any(not car.faults for car in cars)
    assert max(len(car.faults) for car in cars) >= 3


def test_every_answer_is_one_that_the_look_can_have(names: Names) -> None:
    """States are the finding's own; figures are finite."""
    for look, answer in draw_car(names, 5, 1).answers.items():
        if names.looks[look].kind == "states":
            assert answer.state in names.looks[look].states
        else:
            assert answer.word is not None or (answer.value is not None and math.isfinite(answer.value))


def test_laws_bend_only_faults_that_there_are(names: Names) -> None:
    """A law about an unknown fault would never act."""
    assert set(MODELS[names.family][1]) <= set(names.weights)


def test_second_looks_copy_mistakes() -> None:
    """With the first look wrong, the second is wrong oftener than its strength alone makes it."""
    names = read_names(FAMILIES[0])
    missed = {True: [0, 0], False: [0, 0]}
    for number in range(2500):
        car = _with_fault(names, number)
        first = car["joint-output-seal"].state == "dry"
        second = car["skirt-output-seal"].state == names.looks["skirt-output-seal"].states[0]
        missed[first][0] += second
        missed[first][1] += 1
    shares = {first: hits / count for first, (hits, count) in missed.items()}
    assert shares[True] > shares[False] + 0.08


def _with_fault(names: Names, number: int) -> dict[str, Answer]:
    only = Names(
        names.family,
        {"output-seal-hard": 0.999999},
        {look: names.looks[look] for look in ("joint-output-seal", "skirt-output-seal")},
        names.setups,
    )
    return dict(draw_car(only, 8, number).answers)


def test_reduced_model_keeps_to_its_calibration() -> None:
    """A middling sound car changes up at 18 and 43 mph at 10 inHg and shows 65 psi at idle."""
    rng = np.random.default_rng(1)
    cars = [three_speed.readings(three_speed.draw(rng), rng) for _ in range(60)]

    def middle(name: str) -> float:
        return float(np.median([car[name] for car in cars]))

    assert middle("upshift-12-medium") == pytest.approx(18.0, abs=1.0)
    assert middle("upshift-23-medium") == pytest.approx(43.0, abs=1.5)
    assert middle("upshift-23-full") == pytest.approx(78.0, abs=1.5)
    assert middle("line-drive-idle") == pytest.approx(65.0, abs=2.0)


def test_hose_off_gives_full_load_shifts_everywhere() -> None:
    """Without vacuum the load signal is full at any pedal: 48 and 78 mph."""
    rng = np.random.default_rng(2)
    car = three_speed.draw(rng)
    for bend in three_speed.FAULTS["vacuum-hose-off"]:
        bend(car, 1.0, 0.5)
    shown = three_speed.readings(car, rng)
    assert shown["upshift-12-light"] == shown["upshift-12-full"]
    assert shown["upshift-23-medium"] == pytest.approx(78.0, abs=5.0)


def test_a_judge_knows_right_from_needless(names: Names) -> None:
    """The cure of a car's own faults is right and cheapest; the box out for nothing is not right."""
    judge = Judge(names.family, tuple(names.weights))
    cure = judge.cure(["output-seal-hard"])
    good = judge.verdict(cure, ["output-seal-hard"])
    assert good.right
    assert good.price == pytest.approx(good.best_price)
    removal = judge.cure(["pump-outer-ring-flat"])
    bad = judge.verdict(cure | removal, ["output-seal-hard"])
    assert bad.cured
    assert bad.needless_removal
    assert not bad.right
    assert not judge.verdict(frozenset(), ["output-seal-hard"]).cured


def test_every_printed_cause_is_one_of_the_family(names: Names) -> None:
    """A chart that names an unknown cause could not be followed."""
    chart = by_hand.read_order("printed-order")[names.family]
    assert set(chart) == set(names.looks[by_hand.COMPLAINT].states)
    assert {cause for causes in chart.values() for cause in causes} <= set(names.weights)


def test_scores() -> None:
    """Wilson's interval as E. B. Wilson's formula gives it by hand; calibration of what is exact is nil."""
    low, high = wilson(8, 10)
    assert (low, high) == pytest.approx((0.4902, 0.9433), abs=5e-4)
    assert calibration_error([0.5] * 4, [True, False, True, False], bins=1) == 0.0
    assert calibration_error([0.9] * 4, [False] * 4) == pytest.approx(0.9)
