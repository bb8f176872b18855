"""The same findings on a box known only by its kind: same direction, less sure."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import box_familiarity
from bellhousing.diagnosis.windows import window
from tests.diagnosis.by_hand import INHG, MPH, PSI, small, states, value

CASES: dict[str, tuple[str, list[Evidence]]] = {
    "hose off": (
        "vacuum-hose-off",
        [value("modulator-vacuum-idle", 9.0 * INHG), value("upshift-12-light", 34.0 * MPH)],
    ),
    "torn diaphragm": (
        "modulator-diaphragm-torn",
        [states("blue-smoke", "puff"), states("fluid-in-modulator-hose", "wet")],
    ),
    "stripped": (
        "governor-gear-stripped",
        [Evidence("upshift-12-light", word="never"), states("pan-plastic", "crumbs")],
    ),
    "worn pump": (
        "pump-worn",
        [value("line-drive-idle", 45.0 * PSI), value("line-drive-1000", 63.0 * PSI)],
    ),
}


def kind() -> str:
    """Slug of the family box A belongs to."""
    return "three-speed-vacuum"


@pytest.mark.parametrize("name", CASES)
def test_family_names_the_same_cause_less_surely(name: str) -> None:
    """First on box A, first or second on the family, and less probable there."""
    fault, evidence = CASES[name]
    own, family = diagnose(small(), evidence), diagnose(small(box=kind()), evidence)
    assert own.causes[0].id == fault
    assert fault in [cause.id for cause in family.causes[:2]]
    assert family.cause(fault).probability < own.cause(fault).probability


def test_family_windows_are_wider() -> None:
    """Every predicted window of a shift or pressure is wider than box A's."""
    for finding in (
        "line-drive-idle",
        "line-drive-hose-off",
        "governor-20",
        "upshift-12-light",
        "stall-drive",
    ):
        own, family = window(small(), finding), window(small(box=kind()), finding)
        assert own is not None
        assert family is not None
        assert family.high - family.low > own.high - own.low


def test_familiarity_is_whole_for_a_box_described_by_its_parts() -> None:
    """Box A is known in full, the family in nothing."""
    assert box_familiarity(small().box) == 1.0
    assert box_familiarity(small(box=kind()).box) == pytest.approx(0.75)


def test_common_random_numbers_bend_the_same_cars() -> None:
    """A fault that does not touch the governor leaves every car's governor reading as it was."""
    prepared = small()
    row = prepared.sets.physical_rows.index((prepared.faults.index("vacuum-hose-off"),))
    reading = prepared.shown.readings["governor-20"]
    np.testing.assert_array_equal(reading[row], reading[0])
