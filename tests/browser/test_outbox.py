"""What is written while the server is away: kept in the browser, shown, sent once and in order."""

from __future__ import annotations

import re
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from bellhousing.tasks import noting, opening
from bellhousing.tasks.photos import photos_of_job
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.web.app import create_app
from tests.browser.killed import SLOW, Server, until, wait_until_kept
from tests.browser.looked_at import audited
from tests.browser.test_pages import TAP, job_with
from tests.camera import jpeg

pytestmark = pytest.mark.browser

SAID = ("no fluid in the hose", "manifold vacuum 18 inHg", "2-3 at 64 mph light throttle")
FIELD = "Write what you found"


def note(page: Page, text: str) -> None:
    """Write a finding and tap."""
    page.get_by_label(FIELD).fill(text)
    page.get_by_role("button", name="Note", exact=True).click()


def photograph(page: Page, caption: str) -> None:
    """Choose a photo and tap."""
    page.locator("#add-photo-file").set_input_files(
        {"name": "pan.jpg", "mimeType": "image/jpeg", "buffer": jpeg((640, 480), turned=6)}
    )
    page.locator("#add-photo-caption").fill(caption)
    page.get_by_role("button", name="Add the photo").click()


def waiting(page: Page, text: str) -> None:
    """Expect an entry to stand on the page as not sent."""
    expect(page.locator(".unsent li", has_text=text)).to_contain_text("Not sent yet")


def test_the_server_is_killed_in_the_middle_of_three_findings_and_a_photo(
    server: Server, tablet: BrowserContext
) -> None:
    """Nothing is lost though the tab is closed; opened anew without the server; all once and in order."""
    page = tablet.new_page()
    page.goto(f"{server.address}/job/1")
    note(page, SAID[0])
    expect(page.locator("#just-noted")).to_be_visible()
    # The browser's helper has seen the page by now, or will in a moment: what was written is on it.
    wait_until_kept(page, "/job/1")
    server.kill()
    for text in SAID[1:]:
        note(page, text)
        waiting(page, text)
        expect(page.get_by_label(FIELD)).to_have_value("")
    photograph(page, "the pan as found")
    waiting(page, "the pan as found")
    expect(page.get_by_role("img", name="The photo pan.jpg")).to_be_visible()
    expect(page.locator("#outbox")).to_contain_text("3 not sent yet. No connection")
    assert audited(page) == []
    low = page.locator(".unsent button").evaluate_all(
        "(all) => all.map((it) => it.getBoundingClientRect().height)"
    )
    assert len(low) == 3
    assert min(low) > TAP - 0.5
    page.close()

    page = tablet.new_page()
    page.goto(f"{server.address}/job/1")
    expect(page.locator("#outbox")).to_contain_text("this page is as it was at")
    for text in (*SAID[1:], "the pan as found"):
        waiting(page, text)
    page.get_by_label(FIELD).fill("half a sent")
    server.start()
    expect(page.locator(".unsent li")).to_have_count(0)
    expect(page.locator("#outbox")).to_be_hidden()
    # The complaint's own two stand before them.
    expect(page.locator("#findings .finding")).to_have_count(5)
    expect(page.locator("#photos .photos li")).to_have_count(1)
    # What was being typed meanwhile is still there.
    expect(page.get_by_label(FIELD)).to_have_value("half a sent")
    with open_shop(server.folder) as kept:
        assert [entry.said for entry in kept.store.findings(1)] == ["Shifts late", "Shifts late", *SAID]
        (photo,) = photos_of_job(kept, 1)
        assert (photo.caption, photo.width, photo.height) == ("the pan as found", 640, 480)


def test_an_answer_lost_on_the_way_makes_no_second_entry(
    tablet: BrowserContext, address: str, shop: Shop
) -> None:
    """The server kept it, the browser was never told, and sends it again under the same key."""
    number = job_with(shop)
    page = tablet.new_page()
    page.goto(f"{address}/job/{number}")
    lost: list[str] = []

    def lose(route: Route) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.fetch(max_redirects=0).text())
        route.abort()

    page.route(re.compile("/note$"), lose)
    note(page, SAID[0])
    waiting(page, SAID[0])
    until(page, lambda: bool(lost))
    assert len(shop.store.findings(number)) == 1
    expect(page.locator(".unsent li")).to_have_count(0)
    expect(page.locator("#findings .finding")).to_have_count(1)
    assert len(shop.store.findings(number)) == 1


def test_what_the_server_refuses_stays_with_its_words_until_put_right_or_dropped(
    tablet: BrowserContext, address: str, shop: Shop
) -> None:
    """A job closed meanwhile, an entry corrected meanwhile; what was written after them goes up."""
    number = job_with(shop)
    entry = noting.note(shop, number, SAID[0]).findings[0].number
    assert entry is not None
    page = tablet.new_page()
    page.goto(f"{address}/job/{number}")
    tablet.set_offline(True)
    page.locator(f"#change-{entry} summary").click()
    page.locator(f"#correct-{entry}-text").fill("hose at the modulator is dry")
    page.locator(f"#correct-{entry}").get_by_role("button", name="Put right").click()
    waiting(page, "hose at the modulator is dry")
    note(page, SAID[1])
    waiting(page, SAID[1])
    put = noting.correct(shop, number, entry, "wet hose at the modulator").findings[0].number
    tablet.set_offline(False)
    refused = page.locator(".unsent li", has_text="hose at the modulator is dry")
    expect(refused).to_contain_text("Not kept")
    expect(refused).to_contain_text(f"entry {put} now stands for it")
    expect(page.locator("#findings")).to_contain_text("18 inHg")
    page.reload()
    expect(refused).to_contain_text("corrected before")
    assert audited(page, within="#outbox") == []
    refused.get_by_role("button", name="Drop it").click()
    expect(refused).to_have_count(0)

    tablet.set_offline(True)
    note(page, SAID[2])
    waiting(page, SAID[2])
    opening.close_job(shop, number, "sold")
    tablet.set_offline(False)
    refused = page.locator(".unsent li", has_text=SAID[2])
    expect(refused).to_contain_text("is closed")
    opening.reopen_job(shop, number, "not sold")
    refused.get_by_label("Put it right").fill("2-3 at 46 mph light throttle")
    refused.get_by_role("button", name="Send again").click()
    expect(page.locator(".unsent li")).to_have_count(0)
    said = [kept.said for kept in shop.store.current_findings(number)]
    assert said == ["wet hose at the modulator", SAID[1], "2-3 at 46 mph light throttle"]


def test_two_tabs_send_what_waits_once(tablet: BrowserContext, address: str, shop: Shop) -> None:
    """Both see it, one sends it, both show it sent."""
    number = job_with(shop)
    first, second = tablet.new_page(), tablet.new_page()
    for page in (first, second):
        page.goto(f"{address}/job/{number}")
    tablet.set_offline(True)
    # Each waits before the next is written: they go up in this order.
    note(first, SAID[0])
    waiting(second, SAID[0])
    note(second, SAID[1])
    waiting(first, SAID[1])
    # One tap waits too, beside the question it answers.
    first.get_by_role("button", name="it slips or pulls badly").click()
    asked = "What is the complaint? it slips or pulls badly"
    for page in (first, second):
        for text in (*SAID[:2], asked):
            waiting(page, text)
    tablet.set_offline(False)
    for page in (first, second):
        expect(page.locator(".unsent li")).to_have_count(0)
        expect(page.locator("#findings .finding")).to_have_count(2)
        expect(page.locator("#complaint .answers")).to_contain_text("it slips or pulls badly")
    assert [entry.said for entry in shop.store.findings(number)] == [*SAID[:2], asked]


WORKSHOP = "workshop.example"


@contextmanager
def plain_http(shop: Shop, browser: Browser, chromium: str) -> Iterator[tuple[Page, str]]:
    """The shop under a name that is not this machine's, over plain http, as a tablet on the bench sees it."""
    with socket.socket() as bound:
        bound.bind(("127.0.0.1", 0))
        bound.listen(64)
        app = create_app(shop, hosts=(WORKSHOP,))
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        resolving = f"--host-resolver-rules=MAP {WORKSHOP} 127.0.0.1"
        other = browser.browser_type.launch(executable_path=chromium, args=["--no-sandbox", resolving])
        try:
            yield other.new_page(), f"http://{WORKSHOP}:{bound.getsockname()[1]}"
        finally:
            other.close()
            server.should_exit = True
            thread.join(timeout=20)


def test_over_plain_http_an_open_page_goes_on_and_says_what_it_cannot(
    browser: Browser, chromium: str, shop: Shop
) -> None:
    """The browser offers no helper there: entries wait all the same, and the page says to leave it open."""
    number = job_with(shop)
    with plain_http(shop, browser, chromium) as (page, there):
        page.set_default_timeout(SLOW)
        page.goto(f"{there}/job/{number}")
        assert page.evaluate("isSecureContext") is False
        page.context.set_offline(True)
        note(page, SAID[0])
        waiting(page, SAID[0])
        expect(page.locator("#outbox")).to_contain_text("cannot be opened anew at this address")
        page.context.set_offline(False)
        expect(page.locator("#findings .finding")).to_have_count(1)
        assert [entry.said for entry in shop.store.findings(number)] == [SAID[0]]
