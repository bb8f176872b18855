"""The pages in a real browser: at three sizes, light and dark, with and without scripts, by keyboard."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop
from tests.browser.killed import SLOW, until
from tests.browser.looked_at import TAP, wrong_with

__all__ = ["SIZES", "TAP", "job_with", "opened"]
pytestmark = pytest.mark.browser

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1280, 800), "projector": (1920, 1080)}
PATHS = ["/", "/job/3", "/job/2", "/job/1", "/job/3/report", "/due", "/learn", "/no-such-page"]
LATE = "2-3 at 64 mph light throttle"
# What a car with its vacuum hose off shows, and what is understood of it.
HOSE_OFF = {
    "no fluid in the hose": "dry",
    "no vacuum at the modulator": "0 inHg",
    "manifold vacuum 18 inHg": "18 inHg",
    LATE: "64 mph",
}


@contextmanager
def opened(
    browser: Browser, address: str, *, size: str = "tablet", scheme: str = "light", scripts: bool = True
) -> Iterator[tuple[Page, list[str]]]:
    """A page of its own, with everything that was asked of a server or went wrong written down."""
    width, height = SIZES[size]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if scheme == "dark" else "light",
        java_script_enabled=scripts,
        base_url=address,
    )
    context.set_default_timeout(SLOW)
    page = context.new_page()
    wrong: list[str] = []
    page.on("request", lambda sent: None if sent.url.startswith(address) else wrong.append(sent.url))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on(
        "console",
        lambda said: wrong.append(said.text) if said.type == "error" and "404" not in said.text else None,
    )
    try:
        yield page, wrong
    finally:
        context.close()


def job_with(shop: Shop, complaint: str = "Not what it was.") -> int:
    """A job of its own on the grey saloon."""
    return opening.open_job(shop, "grey saloon", complaint).number


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_a_typed_finding_is_answered_with_ranked_causes(
    browser: Browser, address: str, shop: Shop, scripts: bool
) -> None:
    """From the first page to the ranked list, with scripts and without."""
    number = job_with(shop)
    with opened(browser, address, scripts=scripts) as (page, wrong):
        page.goto("/")
        page.get_by_role("link", name=f"Grey saloon, job {number}", exact=True).click()
        for text, understood in HOSE_OFF.items():
            page.get_by_label("Write what you found").fill(text)
            page.get_by_role("button", name="Note", exact=True).click()
            expect(page.locator("#just-noted")).to_contain_text(understood)
            expect(page.locator("#causes .cause").first).to_contain_text("in 100")
        expect(page.locator("#findings .limit-line")).not_to_have_count(0)
        names = [name.strip() for name in page.locator("#causes .cause-name").all_inner_texts()]
        assert names[0].startswith("Vacuum hose"), names
        assert wrong == []


def test_the_answer_comes_while_typing_and_nothing_is_kept(
    browser: Browser, address: str, shop: Shop
) -> None:
    """What is understood shows before Note is pressed; a reload finds nothing noted."""
    number = job_with(shop)
    with opened(browser, address) as (page, wrong):
        page.goto(f"/job/{number}")
        page.get_by_label("Write what you found").press_sequentially(
            "line pressure idle D 62 psi hot", delay=5
        )
        expect(page.locator("#understood")).to_contain_text("62 psi")
        page.reload()
        expect(page.locator("#findings .finding")).to_have_count(0)
        # The half-written line itself is still there, until it is noted or cleared.
        expect(page.get_by_label("Write what you found")).to_have_value("line pressure idle D 62 psi hot")
        page.get_by_label("Write what you found").fill("")
        page.reload()
        expect(page.get_by_label("Write what you found")).to_have_value("")
        assert wrong == []


def test_noting_keeps_the_page_and_the_focus(browser: Browser, address: str, shop: Shop) -> None:
    """With scripts the page is not loaded anew, and the field is ready for the next finding.

    What is written there before the first is noted stays.
    """
    number = job_with(shop)
    held: list[Route] = []
    with opened(browser, address) as (page, _):
        page.goto(f"/job/{number}")
        page.evaluate("window.here = true")
        page.get_by_label("Write what you found").fill(LATE)
        page.keyboard.press("Enter")
        expect(page.locator("#just-noted")).to_be_visible()
        assert page.evaluate("window.here") is True
        assert page.evaluate("document.activeElement.id") == "text"
        assert page.get_by_label("Write what you found").input_value() == ""
        page.route(re.compile("/note$"), lambda route: held.append(route))
        page.keyboard.type("no fluid in the hose")
        page.keyboard.press("Enter")
        until(page, lambda: bool(held))
        page.get_by_label("Write what you found").fill(LATE)
        held[0].continue_()
        expect(page.locator("#findings .finding")).to_have_count(2)
        assert page.get_by_label("Write what you found").input_value() == LATE
        page.reload()
        expect(page.get_by_label("Write what you found")).to_have_value(LATE)


def test_a_note_that_nothing_keeps_stays_in_the_field(browser: Browser, address: str, shop: Shop) -> None:
    """In a browser told to keep nothing, with the connection gone, what was typed is still there."""
    number = job_with(shop)
    with opened(browser, address) as (page, _):
        page.add_init_script(
            "Object.defineProperty(window, 'indexedDB', { value: { open() { throw 1; } } });"
        )
        page.goto(f"/job/{number}")
        page.context.set_offline(True)
        page.get_by_label("Write what you found").fill(LATE)
        page.get_by_role("button", name="Note", exact=True).click()
        expect(page.locator("#write .problem")).to_contain_text("not sent")
        assert page.get_by_label("Write what you found").input_value() == LATE
        page.context.set_offline(False)
        page.get_by_role("button", name="Note", exact=True).click()
        expect(page.locator("#just-noted")).to_contain_text("64 mph")


def test_an_empty_note_is_refused_beside_the_field(browser: Browser, address: str, shop: Shop) -> None:
    """The sentence stands at the field and is read out."""
    number = job_with(shop)
    with opened(browser, address) as (page, _):
        page.goto(f"/job/{number}")
        page.get_by_role("button", name="Note", exact=True).click()
        expect(page.locator("#note-problem")).to_contain_text("empty note")


def test_a_question_is_one_tap(browser: Browser, address: str, shop: Shop) -> None:
    """The answer tapped is shown as given, and the fold stays open for the next."""
    number = job_with(shop)
    with opened(browser, address, size="phone") as (page, wrong):
        page.goto(f"/job/{number}")
        page.get_by_role("button", name="it slips or pulls badly").click()
        expect(page.locator("#complaint .answers")).to_contain_text("it slips or pulls badly")
        expect(page.locator("#questions")).to_have_attribute("open", "")
        assert wrong == []


def test_the_sheet_is_worked_by_keyboard(browser: Browser, address: str, shop: Shop) -> None:
    """The first stop leads past the margin; a cause opens by the keyboard."""
    number = job_with(shop)
    with opened(browser, address) as (page, _):
        page.goto(f"/job/{number}")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "To the content"
        fold = page.locator("#causes details").nth(1)
        fold.locator("summary").focus()
        page.keyboard.press("Enter")
        expect(fold).to_have_attribute("open", "")


@pytest.mark.parametrize("size", list(SIZES))
def test_pages_are_fit_to_be_seen(browser: Browser, address: str, size: str) -> None:
    """Contrast, names and order with every fold open, nothing off the side, all large enough to tap.

    Each page is seen light and dark, at two sizes each.
    """
    found = {}
    for turn, scheme in enumerate(("light", "dark")):
        with opened(browser, address, scheme=scheme, size=size) as (page, wrong):
            for path in PATHS[(turn + list(SIZES).index(size)) % 2 :: 2]:
                page.goto(path)
                found[path] = wrong_with(page)
            assert wrong == []
    assert {path: what for path, what in found.items() if what} == {}


def test_print_leaves_out_what_is_only_for_the_screen(browser: Browser, address: str) -> None:
    """On paper there are no fields and no margin, but the findings and causes are there."""
    with opened(browser, address) as (page, _):
        page.goto("/job/3")
        page.emulate_media(media="print")
        expect(page.locator("#write")).to_be_hidden()
        expect(page.locator(".margin")).to_be_hidden()
        expect(page.locator("#causes .cause").first).to_be_visible()
