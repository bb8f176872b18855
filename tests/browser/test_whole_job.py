"""A whole job in a real browser, from complaint to hand-over, at every size; and once by keyboard alone.

On the tablet every step is made on the pages.  At the other sizes what was shown there is written by the
tasks, and each page is looked at as it stands then.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, Page, expect

from bellhousing.tasks import (
    accounting,
    building,
    ledger,
    ledger_parts,
    measuring,
    noting,
    opening,
    ordering,
    stripping,
)
from bellhousing.tasks.shop import Shop
from tests.browser.killed import go
from tests.browser.looked_at import wrong_with
from tests.browser.test_pages import opened
from tests.browser.test_work_page import FIGURES, next_part, take_off, tap, work_through

pytestmark = pytest.mark.browser

SCHEMES = {"phone": "dark", "tablet": "light", "desk": "dark", "projector": "light"}
COMPLAINT = "Shifts late and hard, some blue smoke when I pull away."
FOUND = ("no fluid in the hose", "manifold vacuum 18 inHg", "1-2 at 40 mph light throttle")
LATE = "2-3 at 64 mph light throttle"
AFTER = ("1-2 at 13 mph light throttle", "2-3 at 20 mph light throttle")
CAUSE = "modulator-diaphragm-torn"
# A browser writes down that it was cut off, and that a job was not closed while something was open.
TOLD = ("ERR_INTERNET_DISCONNECTED", "422", "405")
FIELD = "Write what you found"


@dataclass
class Walk:
    """One job on its way through the pages, and what was wrong with each of them."""

    page: Page
    shop: Shop
    number: int = 0
    wrong: dict[str, list[object]] = field(default_factory=dict)

    def go(self, name: str = "") -> None:
        """Open a page of the job."""
        go(self.page, f"/job/{self.number}{name}")

    def look(self, name: str = "") -> None:
        """Open a page of the job as it stands now and look at it."""
        self.go(name)
        found = wrong_with(self.page)
        if found:
            self.wrong[name or "sheet"] = found

    def note(self, text: str) -> None:
        """Write a finding and wait until it is noted."""
        before = self.page.locator("#findings .finding").count()
        tapped(self.page, text)
        expect(self.page.locator("#findings .finding")).to_have_count(before + 1)


def tapped(page: Page, text: str) -> None:
    """Write into the field and tap."""
    page.get_by_label(FIELD).fill(text)
    page.get_by_role("button", name="Note", exact=True).click()


def open_by_hand(page: Page, car: str) -> int:
    """Car and job on the first page, as somebody new to it would."""
    page.goto("/")
    page.get_by_text("Add a car", exact=True).click()
    form = page.locator("form[action='/cars']")
    form.get_by_label("What the shop calls it").fill(car)
    form.get_by_label("Box", exact=True).fill("A")
    form.get_by_label("Axle ratio").fill("3.08")
    form.get_by_label("Rolling radius").fill("0.345 m")
    form.get_by_label("Altitude").fill("0 ft")
    with page.expect_navigation():
        form.get_by_role("button", name="Add the car").click()
    expect(page.get_by_label("Car", exact=True)).to_have_value(car.replace(" ", "-"))
    page.get_by_label("Complaint, in the owner").fill(COMPLAINT)
    page.get_by_label("Odometer").fill("61,240 miles")
    with page.expect_navigation(url=re.compile(r"/job/\d+$")):
        page.get_by_role("button", name="Open the job").click()
    return int(page.url.rsplit("/", 1)[1])


def open_by_task(shop: Shop, car: str) -> int:
    """The same car and job."""
    opening.open_car(shop, car, box="A", axle_ratio="3.08", tyre_radius="0.345 m", altitude="0 ft")
    return opening.open_job(shop, car, COMPLAINT, odometer="61,240 miles").number


def find_by_hand(walk: Walk) -> None:
    """A question, findings, one of them taken back; then what is next, why the first cause is first."""
    page = walk.page
    page.get_by_role("button", name="it shifts late or early").or_(
        page.locator("#questions button").first
    ).first.click()
    expect(page.locator("#complaint .answers li")).to_have_count(1)
    told = page.locator("#findings .finding").count()
    for text in (*FOUND, LATE):
        walk.note(text)
    expect(page.locator("#findings .finding")).to_have_count(told + 4)
    entry = page.locator("#findings .finding", has_text="luid in the modulator hose")
    entry.locator(".change summary").click()
    entry.get_by_label("Why it is taken back").fill("looked at the wrong hose")
    entry.get_by_role("button", name="Take back").click()
    expect(page.locator("#findings .finding")).to_have_count(told + 3)
    expect(page.locator("#next .next-what")).to_contain_text("Next:")
    expect(page.locator("#causes .leading .why li").first).to_be_visible()
    expect(page.locator("#next-tests .test").first).to_contain_text("min")
    expect(page.locator("#what-to-do")).to_contain_text("May it be driven")


def find_offline(walk: Walk) -> None:
    """One finding noted, one written while the connection is gone: it waits, and goes up once."""
    walk.go()
    # The complaint told something of its own.
    told = walk.page.locator("#findings .finding").count()
    walk.note(LATE)
    walk.page.context.set_offline(True)
    tapped(walk.page, FOUND[1])
    expect(walk.page.locator(".unsent li", has_text=FOUND[1])).to_contain_text("Not sent yet")
    walk.page.context.set_offline(False)
    expect(walk.page.locator(".unsent li")).to_have_count(0)
    expect(walk.page.locator("#findings .finding")).to_have_count(told + 2)
    assert [entry.said for entry in walk.shop.store.current_findings(walk.number)][-2:] == [LATE, FOUND[1]]


def strip_by_hand(walk: Walk) -> None:
    """Aimed at the modulator: measured first, bolts into the bag, off; what it looks like; on the order."""
    page = walk.page
    walk.go("/strip?choose=1")
    page.get_by_label("type").fill("modulator")
    tap(page, page.get_by_role("button", name="Work it out"))
    while (part := next_part(page)) is not None:
        take_off(page, part)
    expect(page.locator("#plan")).to_contain_text("Reached")
    walk.go("/part/modulator")
    page.get_by_role("textbox", name="What it looks like").fill("diaphragm torn, fluid inside")
    page.get_by_label("Reason").first.fill("holds no vacuum")
    tap(page, page.get_by_role("button", name="Replace it"))
    walk.go()
    page.get_by_label("What was measured").fill("front end play 0.017 in")
    page.locator("#write-measure button").click()
    expect(page.locator("#bench .limit-line")).to_have_count(1)


def strip_by_task(walk: Walk) -> None:
    """The same, as the records have it."""
    shop, job = walk.shop, walk.number
    ledger_parts.note_baseline(shop, job, "modulator", "modulator-holds-vacuum", value="falls at once")
    ledger.tick(shop, job, "bolts-bagged", "modulator-clamp", tag="B1", place="shelf 3")
    ledger_parts.move_part(shop, job, "modulator", off=True)
    ledger_parts.note_part(
        shop, job, "modulator", "diaphragm torn, fluid inside", "replace", reason="holds no vacuum"
    )
    measuring.measure_on_job(shop, job, "front end play 0.017 in")


def order_by_hand(walk: Walk) -> None:
    """What is wanted goes on the order, is ordered, arrives and is fitted."""
    page = walk.page
    walk.go("/parts")
    tap(page, page.locator("#wanted .one-tap button").first)
    lines = page.locator("#lines")
    expect(lines).to_contain_text("odulator")


def order_by_task(walk: Walk) -> None:
    """The same."""
    ordering.add_line(walk.shop, walk.number, "modulator", why="diaphragm torn")


def arrive(walk: Walk) -> None:
    """Ordered, arrived as the old one, fitted."""
    shop, job = walk.shop, walk.number
    for line in ordering.orders_of_job(shop, job).lines:
        name = line.line
        ordering.set_status(shop, job, name, "ordered", price="62", without_numbers="one kind fits all")
        ordering.note_arrival(shop, job, name, "same")
        ordering.set_status(shop, job, name, "fitted")


def build_by_task(walk: Walk) -> None:
    """Everything that came off back on, torqued, its gates signed."""
    shop, job = walk.shop, walk.number
    ledger.tick(shop, job, "bolts-back", "modulator-clamp")
    ledger.renewed(shop, job, "modulator ring")
    ledger_parts.move_part(shop, job, "modulator", off=False)
    building.note_torque(shop, job, "modulator-clamp")
    for _ in range(3):
        told = building.building(shop, job)
        for gate in (*told.final, *(one for step in told.steps for one in step.gates)):
            if gate.state == "open":
                building.note_gate(shop, job, gate.slug, FIGURES.get(gate.slug, "done"))


@pytest.fixture
def walk(browser: Browser, address: str, shop: Shop, request: pytest.FixtureRequest) -> Iterator[Walk]:
    """A browser of one size before the shop."""
    size = request.param
    with opened(browser, address, size=size, scheme=SCHEMES[size]) as (page, wrong):
        made = Walk(page, shop)
        yield made
        assert made.wrong == {}
        assert [text for text in wrong if not any(code in text for code in TOLD)] == []


@pytest.mark.parametrize("walk", list(SCHEMES), indirect=True)
def test_a_job_from_complaint_to_hand_over(walk: Walk, request: pytest.FixtureRequest) -> None:
    """Every page of the way is audited, fits the screen and can be tapped with gloves."""
    size = request.node.callspec.params["walk"]
    page, shop, hand = walk.page, walk.shop, size == "tablet"
    car = f"brown estate {size}"
    walk.number = open_by_hand(page, car) if hand else open_by_task(shop, car)
    if hand:
        find_by_hand(walk)
    elif size == "phone":
        find_offline(walk)
    else:
        noting.note(shop, walk.number, LATE)
    walk.look()
    if hand:
        strip_by_hand(walk)
        order_by_hand(walk)
    else:
        strip_by_task(walk)
        order_by_task(walk)
    for name in ("/strip?choose=1", "/flange/modulator-clamp", "/part/modulator", "/parts"):
        walk.look(name)
    arrive(walk)
    if hand:
        walk.go("/build")
        work_through(page, "#steps")
        work_through(page, "#handover")
        walk.go("/money")
        page.get_by_label("Hours", exact=True).last.fill("1.2")
        page.get_by_label("What was done").fill("Modulator renewed")
        tap(page, page.get_by_role("button", name="Repair").last)
    else:
        build_by_task(walk)
        accounting.put_hours(shop, walk.number, "1.2", "Modulator renewed", stage="repair")
    walk.look("/build")
    walk.look("/money")
    for text in AFTER:
        noting.note(shop, walk.number, text)
    walk.go()
    page.get_by_role("button", name="Prove").click()
    expect(page.locator("#prove")).to_contain_text("for all together")
    walk.look("/report")
    expect(page.locator("#main")).to_contain_text(COMPLAINT)
    walk.look("/open")
    ends_well(walk)


def ends_well(walk: Walk) -> None:
    """Close it with its cause confirmed, by its page; what stays open asks for a reason in writing."""
    page = walk.page
    walk.go("#job-end")
    page.locator("#close > summary").click()
    page.locator("#other-causes").fill("modulator diaphragm torn")
    page.locator("#why").fill("modulator renewed")
    with page.expect_navigation():
        page.get_by_role("button", name="Close the job").click()
    despite = page.locator("#despite")
    expect(despite.or_(page.get_by_text("This job is closed")).first).to_be_visible()
    if despite.count():
        despite.fill("driven home by the owner")
        page.get_by_role("button", name="Close the job").click()
    expect(page.locator("#next")).to_contain_text("This job is closed")
    assert walk.shop.store.job(walk.number).status == "closed"


def reach(page: Page, selector: str) -> None:
    """Go from stop to stop until one answers the selector; it shows that it is reached."""
    for _ in range(300):
        page.keyboard.press("Tab")
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
            return
    raise AssertionError(f"no stop is {selector}")


def press(page: Page, selector: str) -> None:
    """Reach something and press Enter."""
    reach(page, selector)
    page.keyboard.press("Enter")


def follow(page: Page, address: str) -> None:
    """Reach a link and go where it leads."""
    with page.expect_navigation():
        press(page, f"main a[href='{address}'], .margin a[href='{address}']")


def write(page: Page, selector: str, text: str) -> None:
    """Reach a field and type."""
    reach(page, selector)
    page.keyboard.type(text)


@pytest.mark.parametrize("walk", ["desk"], indirect=True)
def test_from_the_strip_to_the_hand_over_by_keyboard_alone(walk: Walk) -> None:
    """Bolts into the bag, parts on the order, torque, hours, a measurement, proof, report, closing."""
    page, shop = walk.page, walk.shop
    walk.number = job = open_by_task(shop, "brown estate keys")
    for text in (LATE, *AFTER):
        noting.note(shop, job, text)
    stripping.choose_aims(shop, job, ["pan"])
    base = f"/job/{job}"
    walk.go()
    follow(page, f"{base}/strip")
    while (part := next_part(page)) is not None:
        for wanted in (
            ".first-measure button[name=value]",
            "button[value=bolts-bagged]",
            "button[name=tapped]",
        ):
            while page.locator(f"#step-{part} {wanted}").count():
                last = page.locator("#undo input[name=entry]")
                before = last.input_value() if last.count() else ""
                press(page, f"#step-{part} {wanted}")
                expect(last).not_to_have_value(before)
    follow(page, f"{base}/parts")
    press(page, "#wanted button")
    expect(page.locator("#lines li").first).to_be_visible()
    ledger.tick(shop, job, "bolts-back", "pan")
    ledger.renewed(shop, job, "pan gasket")
    ledger_parts.move_part(shop, job, "pan", off=False)
    follow(page, f"{base}/build")
    expect(page.locator("#next, .next").first).to_contain_text("torque the pan")
    while page.locator("#steps .deed:visible").count():
        last = page.locator("#undo input[name=entry]")
        before = last.input_value() if last.count() else ""
        press(page, "#steps .deed button[type=submit]")
        expect(last).not_to_have_value(before)
    expect(page.locator(".next").first).to_contain_text("everything is back")
    follow(page, f"{base}/money")
    write(page, "#hours-hours", "0.5")
    write(page, "#hours-what", "Pan looked into")
    press(page, "#hours button[value=repair]")
    expect(page.locator("#bill")).to_contain_text("Pan looked into")
    follow(page, base)
    write(page, "#measure-text", "front end play 0.017 in")
    page.keyboard.press("Enter")
    expect(page.locator("#bench .limit-line")).to_have_count(1)
    with page.expect_navigation():
        press(page, "#prove button")
    expect(page.locator("#prove")).to_contain_text("for all together")
    follow(page, f"{base}/report")
    expect(page.locator("main.report")).to_contain_text("Pan looked into")
    follow(page, base)
    press(page, "#close > summary")
    write(page, "#why", "looked into, nothing lost")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    write(page, "#despite", "the owner drives on")
    page.keyboard.press("Enter")
    expect(page.locator("#next")).to_contain_text("This job is closed")
    assert shop.store.job(job).status == "closed"
