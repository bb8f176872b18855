"""The evening view in a real browser: pictures that follow sliders, things to break, the guessing game."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from bellhousing.web.pages import UNITS_COOKIE
from tests.browser.looked_at import RULES, audited
from tests.browser.test_pages import SIZES, TAP, opened

pytestmark = pytest.mark.browser


def ready(page: Page) -> None:
    """Open the page and wait for its pictures."""
    page.goto("/evening")
    expect(page.locator("#numbers b").first).to_be_visible()


def number(page: Page, place: int) -> float:
    """One of the large figures: gear, line, throttle signal, governor."""
    return float(page.locator("#numbers b").nth(place).inner_text())


def up_curve(page: Page) -> str:
    """The curve of the first upshift as it is drawn."""
    return page.locator("#map .curve.up").first.get_attribute("d") or ""


@pytest.mark.parametrize(
    ("size", "scheme"),
    [("phone", "dark"), ("tablet", "light"), ("projector", "light"), ("projector", "dark")],
)
def test_the_audit_finds_nothing_and_nothing_runs_off(
    browser: Browser, address: str, size: str, scheme: str
) -> None:
    """Both boxes, both views, tables and game open; every thing to tap is as high as a gloved finger."""
    with opened(browser, address, size=size, scheme=scheme) as (page, wrong):
        ready(page)
        page.get_by_role("button", name="Vacuum hose off").click()
        expect(page.locator("#map .curve.sound")).not_to_have_count(0)
        page.locator("#tables summary").click()
        expect(page.locator("#table-place table")).not_to_have_count(0)
        audit(page, size)
        page.locator("#box").select_option("box-b")
        expect(page.locator("[data-part='3-4']")).to_be_visible()
        page.locator("[data-view=symbols]").click()
        audit(page, size)
        page.locator("#game-open").click()
        page.locator("[data-case=half-a-gearbox]").click()
        page.get_by_role("button", name="First evidence").click()
        audit(page, size)
        page.get_by_role("button", name="Reveal").click()
        audit(page, size)
        assert wrong == []


def audit(page: Page, size: str) -> None:
    """No violation, no sideways scrolling, nothing too small to tap."""
    assert audited(page, rules=RULES) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
    small = page.evaluate(
        """(least) => [...document.querySelectorAll("button, summary, select, input, nav a")]
            .filter((item) => item.checkVisibility())
            .map((item) => [item.textContent.trim().slice(0, 40), item.getBoundingClientRect().height])
            .filter(([, height]) => height < least - 0.5)""",
        TAP,
    )
    assert small == []


def test_a_broken_hose_moves_the_map_and_mending_moves_it_back(browser: Browser, address: str) -> None:
    """The upshift no longer depends on the throttle, line pressure rises, the sound map stays beside it."""
    with opened(browser, address, size="projector") as (page, wrong):
        ready(page)
        sound, line = up_curve(page), number(page, 1)
        page.get_by_role("button", name="Vacuum hose off").click()
        expect(page.locator("#map .curve.sound")).to_have_count(2)
        assert up_curve(page) != sound
        assert len({point.split()[0].strip("ML") for point in up_curve(page).split("L")}) == 1
        assert number(page, 1) > line + 30
        expect(page.locator("#broken-says")).to_contain_text("no vacuum at the modulator")
        expect(page.locator("#sentence")).to_contain_text("Broken: vacuum hose")
        page.get_by_role("button", name="Mend everything").click()
        expect(page.locator("#map .curve.sound")).to_have_count(0)
        assert up_curve(page) == sound
        assert number(page, 1) == line
        assert wrong == []


def test_pressures_are_in_kilopascals_beside_kilometres(browser: Browser, address: str) -> None:
    """Figures, sentence, tables and both drawings; the line pressure is the one in psi, turned."""
    with opened(browser, address, size="projector") as (page, wrong):
        ready(page)
        page.locator("#speed").press("Home")
        expect(page.locator("#speed-says")).to_have_text("0 mph")
        psi = number(page, 1)
        page.context.add_cookies([{"name": UNITS_COOKIE, "value": "km/h", "url": address}])
        ready(page)
        page.locator("#speed").press("Home")
        expect(page.locator("#speed-says")).to_have_text("0 km/h")
        assert number(page, 1) == pytest.approx(6.894757 * psi, abs=4.0)
        page.locator("#tables summary").click()
        expect(page.locator("#table-place")).to_contain_text("kPa")
        expect(page.locator("#sentence")).to_contain_text("kPa")
        for view in ("cut", "symbols"):
            page.locator(f"[data-view={view}]").click()
            expect(page.locator("#valves")).to_contain_text("kPa")
            shown = page.locator("body").inner_text() + (page.locator("#valves").text_content() or "")
            assert [unit for unit in ("psi", "inHg", "mph") if unit in shown] == []
        assert wrong == []


def test_arrows_drive_through_the_gears(browser: Browser, address: str) -> None:
    """By keyboard alone: gear and spools follow, a change down comes at a lower speed than the change up."""
    with opened(browser, address, size="projector") as (page, _):
        ready(page)
        expect(page.locator("#travel-says")).to_have_text("40 % · two fifths of the throttle")
        page.locator("#travel").focus()
        page.keyboard.press("Home")
        page.locator("#speed").focus()
        page.keyboard.press("Home")
        # The pictures follow with the next frame.
        expect(page.locator("#travel-says")).to_contain_text("0 % ·")
        expect(page.locator("#speed-says")).to_have_text("0 mph")
        expect(page.locator("#numbers b").first).to_have_text("1")
        down = page.locator("[data-part='1-2'] .spool").get_attribute("transform")
        seen = []
        for key, presses in (("ArrowRight", 50), ("ArrowLeft", 50)):
            for _ in range(presses):
                before = page.evaluate("document.body.dataset.gear")
                page.keyboard.press(key)
                page.evaluate(
                    "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
                )
                after = page.evaluate("document.body.dataset.gear")
                if after != before:
                    seen.append((f"{before}{after}", float(page.locator("#speed").input_value())))
            if key == "ArrowRight":
                assert page.locator("[data-part='1-2'] .spool").get_attribute("transform") != down
        at = dict(seen)
        assert list(at) == ["12", "23", "32", "21"]
        assert at["21"] < at["12"]
        assert at["32"] < at["23"]


def test_space_plays_a_drive_and_stops_it(browser: Browser, address: str) -> None:
    """A simulated drive moves both sliders; reduced motion leaves out the gliding, not the drive."""
    with opened(browser, address) as (page, wrong):
        page.emulate_media(reduced_motion="reduce")
        ready(page)
        page.locator("#drive").select_option("full")
        page.locator("#speed").focus()
        page.keyboard.press(" ")
        expect(page.locator("#play")).to_have_text("Pause")
        expect(page.locator("#speed")).not_to_have_value("0")
        expect(page.locator("#travel")).to_have_value("100")
        page.keyboard.press(" ")
        expect(page.locator("#play")).to_have_text("Play")
        assert float(page.locator("#travel").input_value()) == 100.0
        spool = page.locator("[data-part='1-2'] .spool")
        assert spool.evaluate("(it) => getComputedStyle(it).transitionDuration") == "0s"
        before = float(page.locator("#speed").input_value())
        page.locator("#step").click()
        page.wait_for_function(
            "(before) => Number(document.querySelector('#speed').value) > before", arg=before
        )
        assert wrong == []


def test_every_picture_has_its_table(browser: Browser, address: str) -> None:
    """What the tables say is what the pictures show."""
    with opened(browser, address) as (page, _):
        ready(page)
        page.locator("#tables summary").click()
        tables = page.locator("#table-place table")
        expect(tables).to_have_count(4)
        expect(tables.nth(0)).to_contain_text(f"{number(page, 1):.0f} psi")
        expect(tables.nth(1).locator("tbody tr")).to_have_count(page.locator("#valves figure").count())
        expect(tables.nth(2)).to_contain_text("rpm")
        expect(tables.nth(3)).to_contain_text("on its stop")


def test_the_room_votes_and_the_program_answers(browser: Browser, address: str) -> None:
    """Hands by key and by field, kept over a reload, and beside them the program's odds at each step."""
    with opened(browser, address, size="projector") as (page, wrong):
        ready(page)
        page.locator("#game-open").click()
        page.locator("[data-case=stuck-in-first]").click()
        page.get_by_role("button", name="First evidence").click()
        page.keyboard.press("3")
        page.keyboard.press("3")
        page.locator("#vote-0").fill("7")
        expect(page.locator(".sum")).to_have_text("9 hands")
        page.reload()
        page.locator("#game-open").click()
        page.locator("[data-case=stuck-in-first]").click()
        expect(page.locator("#vote-2")).to_have_value("2")
        page.get_by_role("button", name="Next evidence").click()
        expect(page.locator(".sum")).to_have_text("0 hands")
        page.get_by_role("button", name="Reveal").click()
        first = page.locator(".answer tbody tr").first
        expect(first).to_contain_text("7 hands")
        expect(first).to_contain_text("2 hands")
        expect(first.locator("td.right")).to_contain_text("in 100")
        expect(page.locator(".race")).to_contain_text("the program put it first from evidence 1 on")
        assert wrong == []


def test_nothing_of_an_owner_is_on_the_page(browser: Browser, address: str) -> None:
    """No car, no complaint and no odometer of the shop; the first page leads here."""
    with opened(browser, address) as (page, wrong):
        page.goto("/")
        page.get_by_role("link", name="The evening view").click()
        expect(page.locator("#numbers b").first).to_be_visible()
        text = page.content().casefold()
        for word in ("grey saloon", "green wagon", "blue coupe", "61,240", "blue smoke when i pull away"):
            assert word not in text
        assert wrong == []
