"""The cases of a four-speed box that its apply chart and its hydraulics decide: the right cause first."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from numpy.typing import NDArray

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from tests.shipped import catalogue_as_shipped
from tests.tasks.judged import judged

MPH = 0.44704  # metres per second in a mile per hour, exact

# First: both bands. Second: front clutch, rear band. Third: front band, rear clutch. Fourth: both clutches.
CASES: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "front band": (
        "front-band-worn",
        ("slips in first", "slips in third", "no slip in second", "fourth holds"),
    ),
    "rear band": (
        "rear-band-worn",
        ("slips in first", "slips in second", "third holds", "fourth holds"),
    ),
    "front clutch": (
        "front-clutch-burnt",
        ("slips in second and fourth", "first and third hold", "3-4 flares"),
    ),
    "rear clutch": (
        "rear-clutch-burnt",
        ("slips in third and fourth", "first and second hold", "2-3 flares"),
    ),
    "throttle rod long": (
        "tv-rod-out-of-setting",
        (
            "tv pressure 14 closed, 45 half, 84 full",
            "1-2 at 13 light",
            "2-3 at 23 light",
            "3-4 at 32 light",
        ),
    ),
    "throttle rod short": (
        "tv-rod-out-of-setting",
        (
            "tv pressure 0 closed, 17 half, 57 full",
            "1-2 at 12 half throttle",
            "2-3 at 21 half throttle",
            "3-4 at 28 half throttle",
            "no play in the tv linkage pins",
        ),
    ),
    "second governor stage": (
        "governor-second-stage-stuck",
        (
            "1-2 at 21 full throttle",
            "2-3 at 38 full throttle",
            "G1 22 psi at 20 mph",
            "G2 4 psi at 30 mph",
            "G2 12 psi at 50 mph",
        ),
    ),
    "governor pipes": (
        "governor-pipes-leaking",
        ("all shifts late", "G1 11 psi at 20 mph", "G2 6 psi at 30 mph"),
    ),
    "no fourth": (
        "shift-valve-34-stuck",
        ("no fourth", "1-2 at 9 light", "2-3 at 17 light", "G2 12 psi at 30 mph", "tv pressure 30 at half"),
    ),
    "front servo": (
        "front-servo-faulty",
        ("3-4 binds", "2-3 binds", "no slip in first", "front band adjuster within a turn"),
    ),
    "reverse": (
        "reverse-anchor-faulty",
        ("no reverse", "first and second hold", "line in R 145 at 1000 rpm"),
    ),
    "front pump": (
        "front-pump-worn",
        (
            "line pressure idle D 38 psi hot",
            "line 78 in D at 1000 rpm",
            "drive slow to engage",
            "level right",
        ),
    ),
    "rear pump": (
        "rear-pump-worn",
        ("needle dips as the rear pump takes over", "won't push start", "line 60 psi in fourth at 40 mph"),
    ),
    "coupling drains": (
        "coupling-drains-back",
        (
            "level three inches up after a night",
            "first engagement D stone cold 7 s",
            "drive engages promptly hot",
        ),
    ),
    "lever shaft seals": (
        "lever-shaft-seals-hard",
        ("paper collar on both shafts soaked overnight", "case seam dry", "level low"),
    ),
}


@pytest.fixture(scope="module")
def box_b() -> Prepared:
    """Box B in the usual car."""
    return prepare(load_box("box-b"), CarFacts(), catalogue_as_shipped())


@pytest.fixture(scope="module")
def family() -> Prepared:
    """A car of which only the kind of box is known."""
    return prepare(load_box("four-speed-linkage"), CarFacts(), catalogue_as_shipped())


@pytest.mark.parametrize("name", CASES)
def test_the_right_cause_comes_first(box_b: Prepared, name: str) -> None:
    """Each case names its cause before every other; that nothing is wrong stays far behind."""
    cause, said = CASES[name]
    found = judged(box_b, said)
    assert found.causes[0].id == cause, [
        (other.id, round(other.probability, 2)) for other in found.causes[:5]
    ]
    assert found.cause("sound").probability < 0.4 * found.causes[0].probability


@pytest.mark.parametrize(
    "name", ["front band", "rear band", "rear clutch", "throttle rod short", "front servo"]
)
def test_the_kind_alone_names_the_same_cause_less_surely(
    box_b: Prepared, family: Prepared, name: str
) -> None:
    """The apply chart is the same for the kind, but its figures are wider."""
    cause, said = CASES[name]
    found = judged(family, said)
    assert found.causes[0].id == cause
    assert found.causes[0].probability < judged(box_b, said).causes[0].probability


@pytest.mark.parametrize("throttle", ["light", "medium", "full"])
def test_a_rod_out_of_setting_moves_every_change_the_same_way(box_b: Prepared, throttle: str) -> None:
    """On each car a long rod makes all three changes later, a short one makes all three earlier."""
    names = [f"upshift-{change}-{throttle}" for change in ("12", "23", "34")]
    moved = np.stack([_moved(box_b, "tv-rod-out-of-setting", name) for name in names])
    way = np.sign(np.where(np.abs(moved) < 0.05, 0.0, moved))
    assert (way.max(axis=0) - way.min(axis=0) < 2.0).all(), "one change earlier, another later"
    assert (way != 0.0).mean() > 0.8


def test_the_second_governor_stage_moves_the_top_change_most(box_b: Prepared) -> None:
    """Without its second signal the governor leaves first to second alone and delays third to fourth most."""
    for throttle in ("light", "medium", "full"):
        first, second, third = (
            _moved(box_b, "governor-second-stage-stuck", f"upshift-{change}-{throttle}")
            for change in ("12", "23", "34")
        )
        assert np.abs(first).max() < 0.05
        assert np.median(third) > np.median(second) > 0.0


def _moved(prepared: Prepared, fault: str, finding: str) -> NDArray[np.float64]:
    """How far a fault moves a reading on each car [mph]; a change that never comes moves beyond all."""
    row = 1 + list(prepared.sets.physical).index(prepared.faults.index(fault))
    shown = np.minimum(prepared.shown.readings[finding].astype(float), 500.0)
    return np.asarray((shown[row] - shown[0]) / MPH)
