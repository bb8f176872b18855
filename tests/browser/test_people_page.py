"""Logging in and out, the people of the shop and links for owners in a real browser."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, expect

from bellhousing.tasks import opening, people
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.web.app import create_app
from tests.browser.killed import kept, until
from tests.browser.looked_at import audited
from tests.browser.test_pages import SIZES, TAP, opened
from tests.phrases import quick_phrases

pytestmark = pytest.mark.browser

PHRASE = "lime ox tarp dune"


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop with three people and one job."""
    with open_shop(tmp_path_factory.mktemp("workshop")) as shop:
        shop.__dict__["phrases"] = quick_phrases()
        for name, role in (("Petra", "proprietor"), ("Max", "mechanic"), ("Rita", "reader")):
            people.add(shop, name, role, phrase=PHRASE)
        opening.open_car(shop, "grey saloon")
        opening.open_job(shop, "grey saloon", "Not what it was.")
        yield shop


@pytest.fixture(scope="module")
def door(workshop: Shop) -> Iterator[str]:
    """Where it is served, open to the workshop."""
    with socket.socket() as bound:
        bound.bind(("127.0.0.1", 0))
        bound.listen(64)
        app = create_app(workshop, workshop=True)
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{bound.getsockname()[1]}"
        server.should_exit = True
        thread.join(timeout=20)


def log_in(page: Page, name: str) -> None:
    """Fill in the page that asks who is there."""
    page.get_by_label("Your name").fill(name)
    page.get_by_label("Pass phrase").fill(PHRASE)
    with page.expect_navigation():
        page.get_by_role("button", name="Log in").click()


def look_at(page: Page, size: str) -> None:
    """Nothing off the side, everything large enough, and the audit finds nothing, with every fold open."""
    page.evaluate("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
    low = page.locator("button, summary, select, input:not([type=hidden]), textarea, a.tap").evaluate_all(
        "(all) => all.filter((it) => it.checkVisibility()).map((it) => it.getBoundingClientRect().height)"
    )
    assert min(low) > TAP - 0.5
    assert audited(page) == []


@pytest.mark.parametrize(("size", "scheme"), [("phone", "light"), ("tablet", "dark"), ("desk", "light")])
def test_pages_of_people_are_fit_to_be_seen(browser: Browser, door: str, size: str, scheme: str) -> None:
    """The login, the people, the links for owners and the report by one."""
    with opened(browser, door, size=size, scheme=scheme) as (page, _):
        page.goto("/people")
        look_at(page, size)
        log_in(page, "Petra")
        expect(page.get_by_role("heading", name="People", exact=True)).to_be_visible()
        look_at(page, size)
        page.goto("/job/1/share")
        with page.expect_navigation():
            page.get_by_role("button", name="Make a link").click()
        look_at(page, size)
        page.goto(page.get_by_label("The link, to be copied").input_value())
        expect(page.locator("body")).to_contain_text("Not what it was.")
        expect(page.get_by_role("button", name="Log out")).to_have_count(0)
        look_at(page, size)


def test_what_was_written_waits_for_the_login(browser: Browser, door: str, workshop: Shop) -> None:
    """The session ends meanwhile: the entry stays, says to log in, and goes up afterwards under the name."""
    before = len(workshop.store.findings(1))
    with opened(browser, door) as (page, _):
        page.goto("/job/1")
        log_in(page, "Max")
        expect(page.locator("body")).to_have_attribute("data-who", "Max")
        page.context.clear_cookies()
        page.locator("#text").fill("fluid dark brown")
        page.locator("#text").press("Enter")
        expect(page.locator("#outbox")).to_contain_text("Log in again")
        assert len(workshop.store.findings(1)) == before
        other = page.context.new_page()
        other.goto(f"{door}/login")
        log_in(other, "Max")
        expect(page.locator(".unsent")).to_have_count(0)
        expect(page.locator("#page")).to_contain_text("fluid dark brown")
    (last,) = workshop.store.findings(1)[before:]
    assert (last.who, last.said) == ("Max", "fluid dark brown")


def test_what_waited_does_not_go_up_under_another_name(browser: Browser, door: str, workshop: Shop) -> None:
    """It stays where it was written, with the name of who wrote it."""
    before = len(workshop.store.findings(1))
    with opened(browser, door) as (page, _):
        page.goto("/job/1")
        log_in(page, "Max")
        page.context.clear_cookies()
        page.locator("#text").fill("fluid smells burnt")
        page.locator("#text").press("Enter")
        expect(page.locator("#outbox")).to_contain_text("Log in again")
        other = page.context.new_page()
        other.goto(f"{door}/login")
        log_in(other, "Petra")
        expect(page.locator(".unsent")).to_contain_text("Max wrote this, and Petra is logged in")
    assert len(workshop.store.findings(1)) == before


def test_nothing_stays_to_be_looked_at_after_logging_out(browser: Browser, door: str) -> None:
    """Pages kept for the time without a server are cleared, and the page itself is not shown again."""
    with opened(browser, door) as (page, _):
        page.goto("/")
        log_in(page, "Rita")
        until(page, lambda: "/" in kept(page))
        with page.expect_navigation(url="**/login?left=1"):
            page.get_by_role("button", name="Log out").click()
        expect(page.locator("body")).to_contain_text("nothing of the shop is kept on this screen")
        until(page, lambda: all(path.startswith("/static/") for path in kept(page)))
        page.go_back()
        expect(page.get_by_role("heading", name="Log in")).to_be_visible()


def test_without_scripts_people_log_in_and_out(browser: Browser, door: str) -> None:
    """The door needs nothing but forms."""
    with opened(browser, door, scripts=False) as (page, _):
        page.goto("/job/1")
        log_in(page, "Rita")
        assert page.url == f"{door}/job/1"
        page.get_by_role("button", name="Log out").click()
        expect(page.get_by_role("heading", name="Log in")).to_be_visible()
