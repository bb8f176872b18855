"""Box B under diagnosis: the road model and the catalogue of its family fit, and name what they should."""

from __future__ import annotations

import pytest

from bellhousing.boxes.load import box_from_bytes, shipped_text
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from tests.shipped import catalogue_as_shipped, ready

GEARS = ("first", "second", "third", "fourth")
MPH = 0.44704


def prepared() -> Prepared:
    """Box B with the catalogue of its family."""
    return ready("box-b", 60)


def leading(*evidence: Evidence) -> str:
    """The most probable cause."""
    return diagnose(prepared(), evidence).causes[0].id


def test_every_finding_shown_is_in_the_catalogue() -> None:
    """States and readings of the road model all have an entry of their family, states in the same number."""
    known = catalogue_as_shipped().of_family("four-speed-linkage").findings
    shown = prepared().shown
    assert set(shown.readings) <= {name for name, finding in known.items() if finding.kind == "reading"}
    for name, chances in shown.chances.items():
        assert chances.shape[-1] == len(known[name].states), name


@pytest.mark.parametrize(
    ("gears", "cause"),
    [
        (("first", "third"), "front-band-worn"),
        (("first", "second"), "rear-band-worn"),
        (("second", "fourth"), "front-clutch-burnt"),
        (("third", "fourth"), "rear-clutch-burnt"),
    ],
)
def test_two_slipping_gears_name_the_element(gears: tuple[str, str], cause: str) -> None:
    """Slip in two gears and none in the others."""
    slips = [Evidence(f"slip-{gear}", states=("slips" if gear in gears else "none",)) for gear in GEARS]
    assert leading(*slips) == cause


def test_all_shifts_late_is_the_rod_and_the_top_shift_alone_the_second_signal() -> None:
    """A rod moves all three the same way; a stuck second stage little but the top one at full throttle."""
    late = [
        Evidence(f"upshift-{shift}-light", value=mph * MPH)
        for shift, mph in (("12", 13.0), ("23", 22.0), ("34", 30.0))
    ]
    assert leading(*late) == "tv-rod-out-of-setting"
    top = [
        Evidence("upshift-12-full", value=21.0 * MPH),
        Evidence("upshift-23-full", value=37.5 * MPH),
        Evidence("upshift-34-light", value=26.5 * MPH),
        Evidence("upshift-34-full", word="never"),
    ]
    assert leading(*top) == "governor-second-stage-stuck"


def test_a_file_without_a_family_is_diagnosed_by_its_kind() -> None:
    """A complete box that leans on no family still gets the catalogue of its kind."""
    text = shipped_text("box-b").replace("family: four-speed-linkage\n", "")
    assert "family" not in text.split("source:")[0]
    found = prepare(box_from_bytes(text.encode()), CarFacts(), catalogue_as_shipped(), cars=12)
    assert "front-band-worn" in found.faults
    assert "modulator-diaphragm-torn" not in found.faults
