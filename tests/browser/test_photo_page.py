"""A photo from the page in a real browser: added, seen, compared, taken back."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from bellhousing.tasks.shop import Shop
from tests.browser.looked_at import audited
from tests.browser.test_pages import SIZES, TAP, job_with, opened
from tests.camera import HEIC, jpeg

pytestmark = pytest.mark.browser


def sound(page: Page, size: str) -> None:
    """Expect nothing of the audit, nothing off the side, nothing too small to tap."""
    page.wait_for_function("() => [...document.images].every((it) => it.complete && it.naturalWidth > 0)")
    assert audited(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
    low = page.locator("button, summary, select, input:not([type=hidden]), a.tap, .photos a").evaluate_all(
        "(all) => all.filter((it) => it.checkVisibility()).map((it) => it.getBoundingClientRect().height)"
    )
    assert min(low) > TAP - 0.5


@pytest.mark.parametrize(("size", "scheme"), [("phone", "dark"), ("desk", "light")])
def test_photos_are_added_compared_and_taken_back(
    browser: Browser, address: str, shop: Shop, size: str, scheme: str
) -> None:
    """A JPEG and one as a telephone packs it; every page of them passes the audit."""
    number = job_with(shop)
    with opened(browser, address, size=size, scheme=scheme) as (page, wrong):
        page.goto(f"/job/{number}")
        form = page.locator("#add-photo")
        for count, (name, data) in enumerate(
            (("a.jpg", jpeg((900, 600), turned=6)), ("b.heic", HEIC.read_bytes()))
        ):
            form.locator("#add-photo-file").set_input_files(
                {"name": name, "mimeType": "image/jpeg" if count == 0 else "image/heic", "buffer": data}
            )
            form.locator("#add-photo-caption").fill(f"the pan, {name}")
            form.get_by_role("button", name="Add the photo").click()
            expect(page.locator("#photos .photos li")).to_have_count(count + 1)
        page.locator("#photo-of summary").click()
        sound(page, size)
        with page.expect_navigation():
            page.get_by_role("link", name="Compare any two side by side").click()
        sound(page, size)
        with page.expect_navigation():
            page.get_by_role("link", name=f"Job {number}, photos").click()
        with page.expect_navigation():
            page.locator("#photos .photos a").first.click()
        page.locator("#take-back summary").click()
        sound(page, size)
        large = page.locator(".photo-large img")
        assert large.evaluate("(it) => [it.naturalWidth, it.naturalHeight]") == [900, 600]
        page.get_by_label("Why it is taken back").fill("of another car")
        page.get_by_role("button", name="Take back").click()
        expect(page.locator("#photos .photos li")).to_have_count(1)
        form = page.locator("#add-photo")
        form.locator("#add-photo-file").set_input_files(
            {"name": "c.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"}
        )
        form.get_by_role("button", name="Add the photo").click()
        expect(page.locator("#photo-problem")).to_contain_text("not a photo")
        assert [said for said in wrong if "422" not in said] == []
