"""The strip and build of a box in a real browser: counted, interrupted, resumed, closed when all is said."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from bellhousing.tasks import ledger, ledger_parts, opening
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.tasks.work_book import book_lines
from tests.browser.killed import Server, go
from tests.browser.looked_at import wrong_with
from tests.browser.test_pages import job_with, opened

pytestmark = pytest.mark.browser

PUMP = "pump-ring"
# What the gauges show: each inside its window.
FIGURES = {
    "front-end-play-set": "0.012",
    "air-forward": "2",
    "air-direct": "2",
    "converter-gap": "0.125",
    "cooler-flow-measured": "3.5",
    "fluid-level-hot": "-2 mm",
    "line-pressure-after": "64",
    "pan-torque-after-heat": "10",
    "level-after-heat": "-2 mm",
}
# More than any build asks for.
MOST_STEPS = 150
MEASURED = {"front-end-play": "0.024", "modulator-vacuum-idle": "18"}


def tap(page: Page, button: Locator) -> None:
    """Tap, and wait until what it wrote stands on the page."""
    said = page.locator("#just-noted")
    before = said.text_content() if said.count() else ""
    undo = page.locator("#undo input[name=entry]")
    last = undo.get_attribute("value") if undo.count() else ""
    button.click()
    page.wait_for_function(
        """([text, entry]) => {
            const said = document.querySelector("#just-noted")?.textContent ?? "";
            const now = document.querySelector("#undo input[name=entry]")?.value ?? "";
            return said && (said !== text || now !== entry);
        }""",
        arg=[before, last],
    )


def take_off(page: Page, part: str) -> None:
    """One step of the strip: what is lost otherwise, the bolts, the part."""
    step = page.locator(f"#step-{part}")
    first = step.locator(".first-measure")
    while first.count():
        tap_or_measure(page, first.first)
    bolts = step.get_by_role("button", name="into the bag")
    if bolts.count():
        step.get_by_label("Where it lies", exact=True).fill("shelf 3")
        tap(page, bolts)
    tap(page, step.get_by_role("button", name="is off"))


def tap_or_measure(page: Page, asked: Locator) -> None:
    """Write the figure that is asked for, or tap what was seen."""
    field = asked.locator("input[name=value]")
    if field.count():
        field.fill(MEASURED[asked.locator("input[name=measure]").first.get_attribute("value") or ""])
        tap(page, asked.get_by_role("button", name="Keep it"))
    else:
        tap(page, asked.locator("button[name=value]").first)


def next_part(page: Page) -> str | None:
    """The part whose turn it is in the strip, None once all is off."""
    first = page.locator("#plan .step").first
    return (first.get_attribute("id") or "").removeprefix("step-") if first.count() else None


def work_through(page: Page, within: str) -> None:
    """Do what the build asks, form by form, until nothing is asked any more; what is odd is left odd."""
    for _ in range(MOST_STEPS):
        form = page.locator(f"{within} .deed:visible").first
        if not form.count():
            return
        if form.locator("input[name=deed]").get_attribute("value") == "gate":
            gate = form.locator("input[name=gate]").get_attribute("value") or ""
            if gate in FIGURES:
                form.locator("input[name=text]").fill(FIGURES[gate])
            form.get_by_label("Signed by").fill("Ann")
        tap(page, form.locator("button[type=submit]").first)
    raise AssertionError(f"after {MOST_STEPS} answers {within} still asks")


def counted(folder: Path) -> tuple[int, int]:
    """How many parts are off and how many things are open, as the records have it."""
    with open_shop(folder) as kept:
        found = ledger.ledger_of_job(kept, 1)
        assert found.balances
        assert not found.ignored
        return sum(part.off for part in found.parts), len(found.open)


def test_the_pump_out_and_in_again_interrupted_and_resumed(server: Server, tablet: BrowserContext) -> None:
    """A bolt missing on arrival, a stripped thread, three shared: none is lost, none is left over."""
    page = tablet.new_page()
    go(page, f"{server.address}/job/1/strip?choose=1")
    page.get_by_label("type").fill("front pump")
    tap(page, page.get_by_role("button", name="Work it out"))
    for _ in range(6):
        part = next_part(page)
        assert part is not None
        take_off(page, part)
    # The seventh is tapped when the server is gone: it waits in the browser, and the page is closed over it.
    part = next_part(page)
    assert part == "vacuum-pipe"
    tap_or_measure(page, page.locator("#step-vacuum-pipe .first-measure"))
    server.kill()
    page.locator("#step-vacuum-pipe").get_by_role("button", name="is off").click()
    expect(page.locator(".unsent li")).to_contain_text("Not sent yet")
    page.close()
    server.start()
    page = tablet.new_page()
    go(page, f"{server.address}/job/1/strip")
    expect(page.locator("#off-row-vacuum-pipe")).to_be_visible()
    expect(page.locator(".unsent li")).to_have_count(0)
    assert counted(server.folder)[0] == 7
    go(page, f"{server.address}/job/1/strip")

    while (part := next_part(page)) not in ("front-pump", None):
        take_off(page, part or "")
    expect(page.locator("#step-front-pump .first-measure")).to_be_visible()
    expect(page.locator("#step-front-pump").get_by_role("button", name="is off")).to_have_count(0)
    tap_or_measure(page, page.locator("#step-front-pump .first-measure"))
    go(page, f"{server.address}/job/1/flange/{PUMP}")
    page.locator(".flange-drawing a[href='#hole-4']").click()
    tap(page, page.locator("#hole-4").get_by_role("button", name="Missing on arrival"))
    tap(page, page.get_by_role("button", name="The 6 still in, into the bag"))
    page.locator(".flange-drawing a[href='#hole-2']").click()
    page.locator("#hole-2").get_by_label("In words").fill("three threads gone")
    tap(page, page.locator("#hole-2").get_by_role("button", name="Stripped"))
    tap(page, page.get_by_role("button", name="Puller bolts in"))
    tap(page, page.get_by_role("button", name="Puller bolts out again"))
    go(page, f"{server.address}/job/1/strip")
    tap(page, page.locator("#step-front-pump").get_by_role("button", name="is off"))
    expect(page.locator("#plan")).to_contain_text("Reached")

    go(page, f"{server.address}/job/1/build")
    expect(page.locator("#step-converter")).to_contain_text("held")
    work_through(page, "#steps")
    work_through(page, "#handover")
    expect(page.locator("#handover .limit-line")).not_to_have_count(0)
    assert counted(server.folder) == (0, 5)

    go(page, f"{server.address}/job/1#job-end")
    page.locator("#close summary").click()
    page.locator("#why").fill("front seal and pump gasket")
    page.get_by_role("button", name="Close the job").click()
    expect(page.locator("#close-problem")).to_be_in_viewport()
    listed = page.locator(".open-item")
    expect(listed).to_have_count(5)
    for said in (
        "missing on arrival",
        "three threads gone",
        "filler-tube bracket",
        "cooler-pipe clip",
        "bell-crank",
    ):
        expect(listed.filter(has_text=said)).to_have_count(1)
    go(page, f"{server.address}/job/1/open")
    for said, answer in (("missing on", "A new one is in"), ("threads gone", "Thread insert fitted")):
        tap(page, listed.filter(has_text=said).get_by_role("button", name=answer))
    while listed.count():
        tap(page, listed.first.get_by_role("button").first)
    assert counted(server.folder) == (0, 0)
    go(page, f"{server.address}/job/1#job-end")
    page.locator("#close summary").click()
    page.locator("#why").fill("front seal and pump gasket")
    page.get_by_role("button", name="Close the job").click()
    expect(page.locator("#next")).to_contain_text("This job is closed")


def bagged(shop: Shop) -> int:
    """A job with the pump's seven bolts in a bag, one thread stripped, the pump off."""
    job = job_with(shop)
    ledger_parts.note_baseline(shop, job, "front pump", "front-end-play", value="0.024 in")
    ledger.tick(shop, job, "bolts-bagged", PUMP, tag="B1", place="shelf 3")
    ledger.note_exception(shop, job, PUMP, 2, "stripped", note="three threads gone")
    ledger_parts.move_part(shop, job, "front pump", off=True, note="tray 1")
    return job


def test_the_printed_code_opens_the_bag(browser: Browser, address: str, shop: Shop, tmp_path: Path) -> None:
    """Read off the page as it is printed, as the tablet's camera would."""
    job = bagged(shop)
    with opened(browser, address) as (page, wrong):
        page.goto(f"/job/{job}/tags")
        page.emulate_media(media="print")
        picture = tmp_path / "tag.png"
        page.locator("#tag-B1 svg").screenshot(path=picture)
        (code,) = zxingcpp.read_barcodes(np.asarray(Image.open(picture).convert("L")))
        assert code.text == f"{address}/job/{job}/bag/B1"
        page.emulate_media(media="screen")
        page.goto(code.text)
        expect(page.get_by_role("heading", level=1)).to_have_text("Bag B1")
        expect(page.get_by_role("button", name="All 7 of this bag back in")).to_be_visible()
        assert wrong == []


def test_after_45_days_the_job_tells_its_five_lines(
    browser: Browser, address: str, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is out, where it lies, what is awaited, what is next, on the sheet and on top of it."""
    job = bagged(shop)
    now = shop.clock()
    monkeypatch.setattr(shop, "clock", lambda: now + timedelta(days=45))
    with opened(browser, address) as (page, _):
        page.goto(f"/job/{job}#strip")
        lines = page.locator("#strip .five li")
        expect(lines).to_have_count(5)
        told = ("45 days ago", "Out: front pump; 7 of 7 bolts", "7 in bag B1, shelf 3", "Awaited: nothing")
        for place, text in enumerate(told):
            expect(lines.nth(place)).to_contain_text(text)
        expect(lines.nth(4)).to_contain_text("hole 2 of the front pump to case: stripped")
        expect(page.locator("#next")).to_contain_text("Next: bolt of hole 2")


def test_two_tablets_tick_the_same_bag_at_once(browser: Browser, address: str, shop: Shop) -> None:
    """Different bolts and the same ones, at the same moment: each is back once."""
    job = bagged(shop)
    with opened(browser, address) as (one, _), opened(browser, address) as (other, _):
        for page in (one, other):
            page.goto(f"/job/{job}/bag/B1")
        press = "(id) => document.getElementById(id).querySelector('button').click()"
        for first, second in ((1, 3), (4, 4), (5, 6)):
            one.evaluate(press, f"back-{first}")
            other.evaluate(press, f"back-{second}")
            expect(one.locator(f"#back-{first}")).to_have_count(0)
            expect(other.locator(f"#back-{second}")).to_have_count(0)
        found = ledger.ledger_of_job(shop, job)
        pump = next(flange for flange in found.flanges if flange.slug == PUMP)
        assert [hole.number for hole in pump.holes if hole.place == "back"] == [1, 3, 4, 5, 6]
        assert (pump.count.bagged, pump.count.supplied, pump.count.balances) == (2, 0, True)
        ticks = [line for line in book_lines(shop, job) if line.kind == "bolts-back"]
        assert len(ticks) == 6
        for page in (one, other):
            page.evaluate("document.querySelector('#bag-back button').click()")
        for page in (one, other):
            expect(page.locator("#main")).to_contain_text("The bag is empty")
        found = ledger.ledger_of_job(shop, job)
        assert next(one for one in found.flanges if one.slug == PUMP).count.back == 7


@pytest.mark.parametrize(("size", "scheme"), [("phone", "dark"), ("desk", "light")])
def test_the_audit_finds_nothing_on_the_pages_of_the_work(
    browser: Browser, address: str, shop: Shop, size: str, scheme: str
) -> None:
    """With every fold open; the other pages of the work are looked at on the way of a whole job."""
    job = bagged(shop)
    found = {}
    with opened(browser, address, size=size, scheme=scheme) as (page, wrong):
        for name in (f"flange/{PUMP}", "part/valve-body", "bag/B1", "tags", "flanges", "book"):
            page.goto(f"/job/{job}/{name}")
            found[name] = wrong_with(page)
        assert wrong == []
    assert {name: what for name, what in found.items() if what} == {}


def test_a_closed_job_is_read_and_not_written(browser: Browser, address: str, shop: Shop) -> None:
    """No button is left that the server would refuse."""
    job = bagged(shop)
    opening.close_job(shop, job, "sold", despite="sold in pieces")
    with opened(browser, address) as (page, wrong):
        for name in ("strip", f"flange/{PUMP}", "build", "parts", "money", "open", "bag/B1"):
            page.goto(f"/job/{job}/{name}")
            expect(page.locator(".deed")).to_have_count(0)
            expect(page.locator("#found")).to_contain_text("This job is closed")
        assert wrong == []
