"""Stock, rings, bolts and pulling screws in a real browser: asked, answered, nothing off the side."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.looked_at import audited
from tests.browser.test_pages import SIZES, TAP, opened

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(("size", "scheme"), [("phone", "light"), ("desk", "dark")])
def test_a_small_sum_is_asked_and_answered(browser: Browser, address: str, size: str, scheme: str) -> None:
    """Filled in and sent, the answer stands in its open fold; the audit finds nothing with all folds open."""
    with opened(browser, address, size=size, scheme=scheme) as (page, wrong):
        page.goto("/bench")
        page.locator("#tool-pull > summary").click()
        pulling = page.locator("#tool-pull")
        pulling.get_by_label("Between the two holes").fill("7 in")
        pulling.get_by_label("Full thread the bolt takes hold of").fill("0.5 in")
        pulling.get_by_label("Torque last felt, first screw").fill("60 lb ft")
        with page.expect_navigation():
            pulling.get_by_role("button", name="Work it out").click()
        expect(page.locator("#pull-answer")).to_contain_text("Stop: 60.0 lb ft felt")
        expect(page.locator("#tool-pull")).to_have_attribute("open", "")
        page.evaluate("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })")
        assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
        low = page.locator("main button, summary, main select, label.tick, main a.tap").evaluate_all(
            "(all) => all.filter((it) => it.checkVisibility()).map((it) => it.getBoundingClientRect().height)"
        )
        assert min(low) > TAP - 0.5
        assert audited(page) == []
        assert wrong == []
