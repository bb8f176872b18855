"""Lists, cars, boxes, settings and logs in a real browser: audited at every size, and worked by keyboard."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from bellhousing.tasks import noting
from bellhousing.tasks.road_drive import drive_car
from bellhousing.tasks.road_kept import readings_of_job
from bellhousing.tasks.road_logs import add_road_log
from bellhousing.tasks.shop import Shop
from tests.browser.looked_at import RULES, audited
from tests.browser.test_pages import SIZES, TAP, job_with, opened

pytestmark = pytest.mark.browser

PATHS = [
    "/cars",
    "/car/grey-saloon",
    "/boxes",
    "/boxes/box-a",
    "/boxes/new",
    "/settings",
    "/?show=all&q=shifts",
]
SCHEMES = dict(zip(SIZES, ("dark", "light", "dark", "light"), strict=True))


def wrong_with(page: Page, width: int) -> list[object]:
    """What an audit finds with every fold open, what runs off the side, what is too small to tap."""
    page.evaluate("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })")
    found = audited(page, rules=RULES)
    if page.evaluate("document.documentElement.scrollWidth") > width:
        found.append("runs off the side")
    small = page.evaluate(
        """(least) => [...document.querySelectorAll("button, summary, select, input, a")]
            .filter((item) => item.checkVisibility() && !item.closest(".skip, p:not(:has(> .tap)), .tick"))
            .filter((item) => !item.matches("[type=hidden]"))
            .map((item) => [item.outerHTML.slice(0, 90), item.getBoundingClientRect().height])
            .filter(([, height]) => height < least - 0.5)""",
        TAP,
    )
    found.extend(small)
    return found


@pytest.mark.parametrize("size", list(SIZES))
def test_pages_hold_at_every_size(browser: Browser, address: str, size: str) -> None:
    """Each new page once at each size, light and dark in turn, and at twice the size of type."""
    with opened(browser, address, size=size, scheme=SCHEMES[size]) as (page, wrong):
        found = {}
        for path in PATHS:
            page.goto(path)
            found[path] = wrong_with(page, SIZES[size][0])
            if size == "desk":
                page.evaluate("document.documentElement.style.fontSize = '200%'")
                if page.evaluate("document.documentElement.scrollWidth") > SIZES[size][0]:
                    found[path].append("runs off the side at twice the size")
        assert {path: what for path, what in found.items() if what} == {}
        assert wrong == []


def test_a_box_is_typed_in_and_nothing_typed_is_lost(browser: Browser, address: str) -> None:
    """Faults come while typing and lead to their line; a closed tab loses nothing; kept, the copy is gone."""
    with opened(browser, address, size="desk") as (page, wrong):
        page.goto("/boxes/new")
        field = page.get_by_label("The box’s file")
        expect(page.locator("#box-lines")).to_contain_text("26")
        text = field.input_value().replace("slug: blank", "slug: typed-box")
        field.fill(text.replace("  spring_pressure: unknown", "  spring_presure: 65 psi", 1))
        expect(page.locator("#box-check")).to_contain_text("spring_pressure")
        page.get_by_role("button", name="Line", exact=False).first.click()
        chosen = "(field) => field.value.slice(field.selectionStart, field.selectionEnd)"
        assert field.evaluate(chosen) == "  spring_presure: 65 psi"
        page.goto("/boxes")
        page.goto("/boxes/new")
        expect(page.locator("#box-again")).to_be_visible()
        expect(field).to_have_value(re.compile("spring_presure: 65 psi"))
        field.fill(field.input_value().replace("spring_presure", "spring_pressure", 1))
        expect(page.locator("#box-check")).to_contain_text("No fault in it")
        # The copy is let go by the page of the box, once it is there.
        with page.expect_navigation(url="**/boxes/typed-box"):
            page.get_by_role("button", name="Keep the box").click()
        page.goto("/boxes/new")
        expect(page.locator("#box-again")).to_be_hidden()
        assert wrong == []


def test_what_is_dictated_is_understood_and_put_right_by_one_tap(
    browser: Browser, address: str, shop: Shop
) -> None:
    """Text that comes without a single key is answered with its place on the limit line; a tap mends it."""
    number = job_with(shop)
    with opened(browser, address) as (page, wrong):
        page.goto(f"/job/{number}")
        page.evaluate("window.keys = 0; addEventListener('keydown', () => { window.keys += 1; }, true)")
        page.get_by_label("Write what you found").focus()
        page.keyboard.insert_text("line pressure idle drive sixty two psi hot")
        understood = page.locator("#understood")
        expect(understood).to_contain_text("62 psi")
        expect(understood.locator(".limit-line")).to_be_visible()
        assert page.evaluate("window.keys") == 0
        page.get_by_label("Write what you found").fill("")
        expect(understood).to_be_empty()
        page.keyboard.insert_text("line pressure 62 psi")
        button = understood.get_by_role("button").first
        expect(button).to_be_visible()
        wanted = button.inner_text()
        button.click()
        expect(page.locator("#findings .finding h3").first).to_have_text(wanted)
        assert wrong == []


def test_a_job_is_walked_by_keyboard_alone(browser: Browser, address: str, shop: Shop) -> None:
    """From the list to a finding noted, a cause opened and the finding taken back, without a pointer."""
    number = job_with(shop, "Keyboard only.")
    with opened(browser, address, size="desk") as (page, wrong):
        page.goto("/")
        tab_until(page, f"document.activeElement.getAttribute('href') === '/job/{number}'")
        page.keyboard.press("Enter")
        expect(page).to_have_url(f"{address}/job/{number}")
        # While a page is still being loaded the browser goes to the content again and again.
        page.wait_for_load_state()
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        # The browser leaves the line it is on when it gets to the content, a moment after the key.
        expect(page).to_have_url(f"{address}/job/{number}#main")
        tab_until(page, "document.activeElement.id === 'text'")
        page.keyboard.type("no vacuum at the modulator")
        page.keyboard.press("Enter")
        expect(page.locator("#findings .finding")).to_have_count(1)
        assert page.evaluate("document.activeElement.id") == "text"
        tab_until(page, "document.activeElement.matches('#findings .change summary')")
        seen = "getComputedStyle(document.activeElement).outlineStyle"
        assert page.evaluate(seen) != "none"
        page.keyboard.press("Enter")
        expect(page.locator("#findings .change").first).to_have_attribute("open", "")
        tab_until(page, "document.activeElement.name === 'reason'")
        page.keyboard.type("misread the gauge")
        page.keyboard.press("Enter")
        expect(page.locator("#findings .finding")).to_have_count(0)
        assert wrong == []


def tab_until(page: Page, reached: str) -> None:
    """Go from stop to stop until one is reached of which this is true."""
    for _ in range(80):
        if page.evaluate(reached):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"no stop has {reached}")


def test_a_log_is_looked_at_closer_by_key_and_by_tap(
    browser: Browser, address: str, shop: Shop, tmp_path: Path
) -> None:
    """Plus, arrows and a tap change the stretch without a new page; going back shows the one before."""
    number = job_with(shop)
    noting.note(shop, number, "fluid level right")
    drive_car(box="box-a", name="light-pull", rate="20 Hz", log=tmp_path / "pull.csv")
    add_road_log(shop, number, tmp_path / "pull.csv")
    log = readings_of_job(shop, number)[0].log
    with opened(browser, address, size="desk") as (page, wrong):
        page.goto(f"/job/{number}/road/{log}")
        page.evaluate("window.here = true")
        stretch = page.locator("#stretch")
        whole = stretch.get_attribute("data-end")
        page.locator("#stretch-figure").focus()
        page.keyboard.press("+")
        expect(page.get_by_role("link", name="All of it")).to_be_visible()
        closer = stretch.get_attribute("data-end")
        assert closer != whole
        assert page.evaluate("document.activeElement.id") == "stretch-figure"
        page.keyboard.press("ArrowRight")
        expect(stretch).not_to_have_attribute("data-end", str(closer))
        moved = str(stretch.get_attribute("data-end"))
        page.locator("#stretch-figure svg").first.click(position={"x": 300, "y": 80})
        expect(stretch).not_to_have_attribute("data-end", moved)
        page.go_back()
        expect(stretch).to_have_attribute("data-end", moved)
        assert page.evaluate("window.here") is True
        assert wrong_with(page, SIZES["desk"][0]) == []
        assert wrong == []


def test_the_theme_of_a_browser_holds_against_its_device(browser: Browser, address: str) -> None:
    """On a light device told to be dark, pages are dark, and the audit finds nothing."""
    with opened(browser, address, scheme="light") as (page, wrong):
        page.goto("/settings")
        page.get_by_role("radio", name="dark").first.check()
        with page.expect_navigation():
            page.get_by_role("button", name="Use it here").click()
        page.goto("/")
        expect(page.locator("body")).to_have_css("background-color", "rgb(26, 24, 21)")
        assert wrong_with(page, SIZES["tablet"][0]) == []
        assert wrong == []
