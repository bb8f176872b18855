"""The limit line: where window, value and whisker are drawn."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.reports.limit_line import MARGIN, WIDTH, LimitLine, limit_line_svg

SVG = "{http://www.w3.org/2000/svg}"


def line(value: float, low: float = 60.0, high: float = 75.0, half_width: float = 3.0) -> LimitLine:
    """A reading against a window, in psi."""
    return LimitLine(value, half_width, low, high, f"{low:g}", f"{high:g}", "62 psi, window 60–75 psi")


def drawn(of: LimitLine) -> tuple[float, float, float, tuple[float, float]]:
    """Left and right end of the window, place of the value, ends of the whisker."""
    root = ElementTree.fromstring(limit_line_svg(of))
    window = next(item for item in root.iter(f"{SVG}rect"))
    value = next(item for item in root.iter(f"{SVG}g") if item.get("class", "").startswith("value"))
    whisker, tick = list(value)
    left = float(window.get("x", ""))
    ends = (float(whisker.get("x1", "")), float(whisker.get("x2", "")))
    return left, left + float(window.get("width", "")), float(tick.get("x1", "")), ends


@given(st.floats(0.0, 300.0), st.floats(0.0, 200.0), st.floats(0.5, 100.0), st.floats(0.0, 20.0))
def test_order_on_the_line_is_order_of_the_figures(
    value: float, low: float, width: float, spread: float
) -> None:
    """A value inside is drawn inside, one outside on its side, and nothing leaves the line."""
    left, right, tick, ends = drawn(line(value, low, low + width, spread))
    slack = 0.11
    assert MARGIN - slack <= min(left, ends[0], tick)
    assert max(tick, ends[1]) <= WIDTH - MARGIN + slack
    assert ends[0] - slack <= tick <= ends[1] + slack
    assert (tick >= left - slack) if value >= low else (tick <= left + slack)
    assert (tick <= right + slack) if value <= low + width else (tick >= right - 2.0 - slack)


def test_state_is_told_by_class_and_text_and_not_by_colour_alone() -> None:
    """A value outside has its own mark, and the text says what the picture shows."""
    assert 'class="value-inside"' in limit_line_svg(line(62.0))
    outside = limit_line_svg(line(128.0))
    assert 'class="value-outside"' in outside
    assert 'role="img" aria-label="62 psi, window 60–75 psi"' in outside


def test_ends_are_written_under_the_window() -> None:
    """Two figures where there is room, one pair where they would run into each other."""
    assert re.findall(r">([^<>]+)</text>", limit_line_svg(line(62.0))) == ["60", "75"]
    assert re.findall(r">([^<>]+)</text>", limit_line_svg(line(900.0))) == ["60–75"]


def test_an_open_window_reaches_the_end_of_the_line() -> None:
    """A window with one end has one figure."""
    of = LimitLine(5.0, 0.5, 3.0, math.inf, "3", "", "5, 3 or more")
    _, right, _, _ = drawn(of)
    assert right == pytest.approx(WIDTH - MARGIN, abs=0.1)
    assert re.findall(r">([^<>]+)</text>", limit_line_svg(of)) == ["3"]


def test_text_is_escaped() -> None:
    """Words of a finding are never markup."""
    of = LimitLine(5.0, 0.5, 3.0, 6.0, "3", "6", '<b> & "quoted"')
    assert ElementTree.fromstring(limit_line_svg(of)).get("aria-label") == '<b> & "quoted"'
