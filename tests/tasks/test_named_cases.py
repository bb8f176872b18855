"""The cases a mechanic would try first: the right cause first, less sure for a box known only by kind."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from tests.shipped import catalogue_as_shipped
from tests.tasks.judged import judged

CASES: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "torn diaphragm": (
        "modulator-diaphragm-torn",
        ("blue smoke when pulling away after idling", "fluid vanishing without a spot", "late shifts"),
    ),
    "hose off": (
        "vacuum-hose-off",
        ("shifts late and hard", "dry hose", "no vacuum at the modulator", "engine vacuum 18 inHg"),
    ),
    "governor drive stripped": (
        "governor-gear-stripped",
        ("never leaves first", "no governor pressure at 20 mph", "plastic in the pan"),
    ),
    "worn pump": (
        "pump-worn",
        (
            "line pressure idle D 44 psi hot",
            "line pressure 1000 rpm 65 psi",
            "level right",
            "drive slow to engage",
            "good cold, worse hot",
        ),
    ),
    "direct clutch burnt": (
        "direct-clutch-burnt",
        ("flare on the 2-3", "slips in third", "slow to engage reverse", "fluid smells burnt"),
    ),
    "sound car": (
        "sound",
        (
            "line pressure idle D 66 psi hot",
            "line pressure hose off 141 psi",
            "1-2 at 12 mph light throttle",
            "2-3 at 19 mph light throttle",
            "engine vacuum 18 inHg",
            "17.5 inHg at the modulator",
            "level right",
            "fluid red",
            "kickdown works",
        ),
    ),
}


@pytest.fixture(scope="module")
def box_a() -> Prepared:
    """Box A in the usual car."""
    return prepare(load_box("A"), CarFacts(), catalogue_as_shipped())


@pytest.fixture(scope="module")
def family() -> Prepared:
    """A car of which only the kind of box is known."""
    return prepare(load_box("three-speed-vacuum"), CarFacts(), catalogue_as_shipped())


@pytest.mark.parametrize("name", CASES)
def test_the_right_cause_comes_first(box_a: Prepared, name: str) -> None:
    """Each named case puts its cause first for a box that is known."""
    cause, said = CASES[name]
    assert judged(box_a, said).causes[0].id == cause


@pytest.mark.parametrize("name", CASES)
def test_the_family_says_the_same_less_surely(box_a: Prepared, family: Prepared, name: str) -> None:
    """Knowing only the kind of box keeps the cause first or second and lowers its probability."""
    cause, said = CASES[name]
    known, kind = judged(box_a, said), judged(family, said)
    assert cause in [entry.id for entry in kind.causes[:2]]
    assert kind.cause(cause).probability < known.cause(cause).probability


@pytest.mark.parametrize("where", ["box_a", "family"])
def test_two_independent_faults_are_both_believed(where: str, request: pytest.FixtureRequest) -> None:
    """A leak at the tail and a split hose stand side by side, each likelier than not."""
    prepared: Prepared = request.getfixturevalue(where)
    diagnosis = judged(
        prepared,
        (
            "drips at the output seal",
            "wet at the rear, only when driven",
            "vacuum hose is split",
            "shifts late and hard",
        ),
    )
    assert diagnosis.cause("output-seal-hard").probability >= 0.5
    assert diagnosis.cause("vacuum-hose-off").probability >= 0.5
