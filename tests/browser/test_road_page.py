"""A logger's file sent from the page in a real browser, on a tablet."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from bellhousing.tasks.road_logs import add_road_log
from bellhousing.tasks.shop import Shop
from tests.browser.killed import SLOW
from tests.browser.looked_at import audited
from tests.browser.test_pages import SIZES, TAP, job_with, opened
from tests.road.invented_drives import Logger, loop, sampled, written
from tests.road.reading_logs import columns_of

pytestmark = pytest.mark.browser

Progress = Callable[[int, int], None]
Stop = Callable[[], bool]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_log_is_read_on_the_page(browser: Browser, address: str, shop: Shop, scheme: str) -> None:
    """Chosen, read, drawn, put right; nothing runs off the side and the audit finds nothing."""
    number = job_with(shop)
    drove = loop(slip=((2, 0.1),), flare=400)
    log = written(columns_of(sampled(drove, Logger(seed=8)), "vacuum")).encode()
    # A header of its own: what is said of columns is remembered for all logs with the same one.
    log = log.replace(b"Speed [mph]", b"Speed " + scheme.encode() + b" [mph]")
    with opened(browser, address, size="tablet", scheme=scheme) as (page, wrong):
        page.goto(f"/job/{number}")
        page.get_by_label("A logger’s file").set_input_files(
            {"name": "loop.csv", "mimeType": "text/csv", "buffer": log}
        )
        # Until its style sheet is there, the new page shows the wide picture and the narrow one. A change of
        # the address alone is no new page.
        with page.expect_event("load"):
            page.get_by_role("button", name="Read it", exact=True).click()
        road = page.locator("#road")
        expect(road.get_by_role("img", name="The drive over time")).to_be_visible()
        expect(road).to_contain_text("second slips 10 %")
        page.evaluate("document.querySelectorAll('details').forEach((fold) => { fold.open = true; })")
        expect(road.locator("#road-taken-for")).to_contain_text("Engine [rpm]")
        assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["tablet"][0]
        low = road.locator("button, summary, input, a.tap").evaluate_all(
            "(all) => all.filter((it) => it.checkVisibility()).map((it) => it.getBoundingClientRect().height)"
        )
        assert min(low) > TAP - 0.5
        assert audited(page, within="#road") == []
        assert wrong == []
        road.get_by_label("Put right").fill("colour=b")
        road.get_by_role("button", name="Read it again").click()
        expect(road.locator("#columns-problem")).to_contain_text("does not say")
        road.get_by_label("Put right").fill(f"speed=Speed {scheme} [mph] in km/h")
        road.get_by_role("button", name="Read it again").click()
        expect(road.locator("#road-taken-for")).to_contain_text("corrected")


def test_a_big_log_shows_how_far_it_is_and_can_be_stopped(
    browser: Browser, address: str, shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sent, read as far as the bar says, stopped with a button of finger's size; nothing is kept."""
    number = job_with(shop)
    one = written(columns_of(sampled(loop(), Logger(seed=8)), "vacuum")).partition("\n")
    path = tmp_path / "big.csv"
    with path.open("w", encoding="utf-8") as stream:
        stream.write("Time [s],Speed [mph],Engine [rpm],Vacuum [inHg]\n")
        for _ in range(400):
            stream.write(one[2])

    def slowly(*given: Any, progress: Progress, stop: Stop, **more: Any) -> Any:
        # However fast this machine reads: a tenth of the way, then until the button was found.
        def held(done: int, total: int) -> None:
            progress(done, total)
            deadline = time.monotonic() + SLOW / 1000
            while done > total / 10 and not stop() and time.monotonic() < deadline:
                time.sleep(0.01)

        return add_road_log(*given, progress=held, stop=stop, **more)

    monkeypatch.setattr("bellhousing.web.routes_road.add_road_log", slowly)
    with opened(browser, address, size="phone") as (page, wrong):
        page.goto(f"/job/{number}")
        page.get_by_label("A logger’s file").set_input_files(path)
        page.get_by_role("button", name="Read it", exact=True).click()
        far = page.locator("#road-far-text")
        expect(far).to_contain_text(re.compile(r"Reading, [1-9]\d? %"))
        stop = page.get_by_role("button", name="Stop", exact=True)
        box = stop.bounding_box()
        assert box is not None
        assert box["height"] > TAP - 0.5
        assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"][0]
        assert audited(page, within="#road") == []
        stop.click()
        expect(page.locator("#road .problem")).to_contain_text("stopped")
        expect(page.locator("#road-way")).to_be_hidden()
        expect(page.get_by_role("button", name="Read it", exact=True)).to_be_enabled()
        # A refusal is how the server tells of the stop; the browser writes that down as an error.
        assert [text for text in wrong if "422" not in text] == []
        page.reload()
        expect(page.locator("#road")).not_to_contain_text("big.csv")
