"""The window beside a reading, what a word names, and how sure a verdict is."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from bellhousing.diagnosis.windows import (
    MANUAL,
    PREDICTED,
    USUAL,
    Window,
    verdict,
    window,
    words_region,
)
from bellhousing.quantities.measured import Interval
from bellhousing.quantities.odds import in_100
from tests.diagnosis.by_hand import PSI, box_a, small


def found(finding: str) -> Window:
    """The window of a reading on the small box."""
    band = window(small(), finding)
    assert band is not None
    return band


class TestWhichWindow:
    """Manual first, then this box's sound cars, then the kind's."""

    def test_manual_goes_first(self) -> None:
        """A figure typed from the manual is taken as it stands."""
        box = replace(
            small().box, windows={"line-drive-idle": Interval(58.0 * PSI, 71.0 * PSI, "psi", "58-71 psi")}
        )
        assert window(replace(small(), box=box), "line-drive-idle") == Window(58.0 * PSI, 71.0 * PSI, MANUAL)

    def test_predicted_holds_most_sound_cars(self) -> None:
        """95 of 100 sound cars, and half the reading's accuracy to either side."""
        band = window(box_a(), "line-drive-idle")
        assert band is not None
        assert band.source == PREDICTED
        sound = box_a().shown.readings["line-drive-idle"][0]
        assert 0.95 <= np.mean((sound >= band.low) & (sound <= band.high)) <= 1.0
        assert 55.0 < band.low / PSI < 65.0 < band.high / PSI < 80.0

    def test_usual_where_sound_cars_often_show_nothing(self) -> None:
        """Where a tenth of sound cars give no figure the kind's window stands in."""
        prepared = small()
        readings = dict(prepared.shown.readings)
        readings["upshift-12-light"] = readings["upshift-12-light"].copy()
        readings["upshift-12-light"][0, ::5] = np.inf
        band = window(replace(prepared, shown=replace(prepared.shown, readings=readings)), "upshift-12-light")
        assert band is not None
        assert band.source == USUAL

    def test_every_reading_has_a_window_in_order(self) -> None:
        """Low below high, both numbers."""
        for name, finding in box_a().catalogue.findings.items():
            if finding.kind == "reading":
                band = window(box_a(), name)
                assert band is not None, name
                assert math.isfinite(band.low), name
                assert band.low < band.high < math.inf, name


class TestWords:
    """The region of values a word names."""

    def test_low_normal_high_share_out_all_values(self) -> None:
        """They meet at the window's ends and leave nothing between."""
        finding = small().catalogue.finding("line-drive-idle")
        low, normal, high = (words_region(small(), finding, word) for word in ("low", "normal", "high"))
        band = found("line-drive-idle")
        assert low[:2] == (-math.inf, band.low)
        assert normal[:2] == (band.low, band.high)
        assert high[:2] == (band.high, math.inf)

    def test_never_is_no_value_at_all(self) -> None:
        """Only a car without the shift matches 'never'."""
        finding = small().catalogue.finding("upshift-12-light")
        assert words_region(small(), finding, "never") == (math.inf, math.inf, 1.0)

    @pytest.mark.beside("by hand", code="diagnosis.windows.words_region")
    def test_typed_regions_are_read_in_their_unit(self) -> None:
        """2 to 5 psi is little cut-back, and open ends are open."""
        finding = small().catalogue.finding("cut-back")
        low, high, _ = words_region(small(), finding, "little")
        assert (low / PSI, high / PSI) == pytest.approx((2.0, 5.0), rel=1e-6)
        assert words_region(small(), finding, "none")[0] == -math.inf
        assert words_region(small(), finding, "falls")[1] == math.inf

    def test_every_word_of_every_reading_names_a_region(self) -> None:
        """Low end not above high end, a chance for 'never'."""
        for finding in box_a().catalogue.findings.values():
            if finding.kind == "reading":
                for word in finding.words:
                    low, high, never = words_region(box_a(), finding, word)
                    assert low <= high, (finding.id, word)
                    assert 0.0 <= never <= 1.0


class TestVerdict:
    """Inside or outside, and how sure."""

    BAND = Window(60.0, 75.0, MANUAL)

    @pytest.mark.parametrize(
        ("value", "text"),
        [
            (67.0, "inside, more than 99 in 100"),
            (40.0, "below, more than 99 in 100"),
            (90.0, "above, more than 99 in 100"),
            (60.5, "inside, 60 in 100"),
        ],
    )
    def test_in_words(self, value: float, text: str) -> None:
        """The side it lies on, and the chance in a hundred."""
        assert verdict(self.BAND, value, 2.0).text == text

    def test_wide_uncertainty_is_never_sure(self) -> None:
        """A reading as uncertain as its window is wide says so."""
        assert 0.3 < verdict(self.BAND, 67.5, 15.0).inside < 0.5

    def test_uncertainty_of_none_is_yes_or_no(self) -> None:
        """An exact figure is inside or it is not."""
        assert verdict(self.BAND, 60.1, 0.0).inside == 1.0
        assert verdict(self.BAND, 59.9, 0.0).inside == 0.0

    @pytest.mark.parametrize(
        ("probability", "text"),
        [
            (1.0, "more than 99 in 100"),
            (0.995, "more than 99 in 100"),
            (0.5, "50 in 100"),
            (0.004, "less than 1 in 100"),
        ],
    )
    def test_never_certain(self, probability: float, text: str) -> None:
        """No verdict claims a certainty."""
        assert in_100(probability) == text
