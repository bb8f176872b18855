"""`python -m tests.docs.pictures [NAME...]`: pictures of the pages for the tutorials, by a real browser.

The invented shop is filled as the tutorials fill it, on a day that stands still, so that a picture changes
only when its page does.  Whoever changes a page runs this, looks at each picture that changed, and keeps it.
"""

from __future__ import annotations

import io
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from PIL import Image
from playwright.sync_api import FloatRect, Page, expect, sync_playwright

from bellhousing.tasks import ledger, measuring, noting, opening
from bellhousing.tasks.ahead import prepare_ahead
from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.shop import Shop
from tests.serving import chromium_here, served

FOLDER = Path(__file__).resolve().parents[2] / "docs" / "pictures"
DAY = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
COLOURS = 192
# A model may have to be worked out before a page is whole [ms].
SLOW = 120_000


@dataclass(frozen=True)
class Picture:
    """A picture: the page's address, what is waited for or tapped, the part shown, the size of the screen."""

    path: str
    done: Callable[[Page], None]
    part: str | None = None
    most: int = 1180
    width: int = 820
    height: int = 1180
    scale: float = 1.0


def _whole(page: Page) -> None:
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def _sheet(page: Page) -> None:
    expect(page.locator("#causes .leading")).to_be_visible()


def _causes(page: Page) -> None:
    _sheet(page)
    page.locator("#causes").evaluate("it => it.scrollIntoView({block: 'start', behavior: 'instant'})")


def _measured(page: Page) -> None:
    expect(page.locator("#bench .limit-line").first).to_be_visible()


def _hose_off(page: Page) -> None:
    expect(page.locator("#numbers b").first).to_be_visible()
    page.get_by_role("button", name="Vacuum hose off").click()
    expect(page.locator("#map .curve.sound")).not_to_have_count(0)
    expect(page.locator("#sentence")).not_to_contain_text("Working it out")
    page.evaluate("scrollTo({top: 0, behavior: 'instant'})")


def _proved(page: Page) -> None:
    expect(page.locator("#prove figure svg")).to_be_visible()


PICTURES: Mapping[str, Picture] = {
    "job-sheet": Picture("/job/3", _sheet),
    "causes": Picture("/job/3", _causes, height=820),
    "flange": Picture("/job/2/flange/pump-ring", _whole, height=990),
    "bench-line": Picture("/job/2", _measured, part="#bench", most=420),
    "evening": Picture("/evening", _hose_off, width=1920, height=1080, scale=2 / 3),
    "road-proof": Picture("/job/5?prove=1&before=4", _proved, part="#prove", most=852),
    "owner-report": Picture("/job/3/report", _whole, height=1000),
}


def fill(shop: Shop) -> None:
    """What the tutorials note in the invented shop."""
    noting.note(shop, 3, "red fluid in the vacuum hose at the modulator")
    noting.note(shop, 3, "line pressure idle D 88 psi hot")
    noting.note(shop, 2, "2-3 flares, good cold, worse hot")
    noting.note(shop, 2, "line pressure idle D 68 psi hot")
    measuring.measure_on_job(shop, 2, "direct pack clearance 0.068 0.066 0.069 in")
    measuring.measure_on_job(shop, 2, "front end play 0.014 in")
    ledger.tick(shop, 2, "bolts-out", "pump-ring")
    ledger.note_exception(shop, 2, "pump-ring", 4, "missing-on-arrival")
    opening.open_car(shop, "maroon saloon", box="B", axle_ratio="3.42", tyre_radius="0.36 m")
    before = opening.open_job(shop, "maroon saloon", "Changes late and hard.").number
    for said in ("1-2 at 12 mph", "2-3 at 21 mph", "3-4 at 29 mph"):
        noting.note(shop, before, f"{said} light throttle")
    after = opening.open_job(shop, "maroon saloon", "Road test, the rod set.").number
    for said in ("1-2 at 9 mph", "2-3 at 16 mph", "3-4 at 23 mph"):
        noting.note(shop, after, f"{said} light throttle")


@contextmanager
def shop_of_the_day() -> Iterator[Shop]:
    """The invented shop, on the day the pictures are of."""
    cache = Path(tempfile.gettempdir()) / "bellhousing-docs-cache"
    with (
        tempfile.TemporaryDirectory() as folder,
        open_demo(Path(folder), clock=lambda: DAY, cache=cache) as shop,
    ):
        prepare_ahead(shop)
        fill(shop)
        yield shop


def small(png: bytes) -> bytes:
    """The same picture in few colours, which a page of flat areas and text bears."""
    made = io.BytesIO()
    with Image.open(io.BytesIO(png)) as picture:
        few = picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        few.save(made, "PNG", optimize=True)
    return made.getvalue()


def clipped(page: Page, part: str, most: int) -> bytes:
    """A part of a page with some room about it, its first `most` lines [px]."""
    page.evaluate("scrollTo({top: 0, behavior: 'instant'})")
    box = page.locator(part).bounding_box()
    assert box is not None
    clip: FloatRect = {
        "x": box["x"] - 16,
        "y": box["y"],
        "width": box["width"] + 32,
        "height": min(box["height"], most),
    }
    return page.screenshot(full_page=True, clip=clip)


def main() -> None:
    """Take the pictures named, or all."""
    wanted = sys.argv[1:] or list(PICTURES)
    FOLDER.mkdir(exist_ok=True)
    with shop_of_the_day() as shop, served(shop) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_here(), args=["--no-sandbox"])
        for name in wanted:
            one = PICTURES[name]
            context = browser.new_context(
                base_url=address,
                viewport={"width": one.width, "height": one.height},
                device_scale_factor=one.scale,
                color_scheme="light",
                reduced_motion="reduce",
                locale="en-GB",
                timezone_id="UTC",
            )
            page = context.new_page()
            page.set_default_timeout(SLOW)
            expect.set_options(timeout=SLOW)
            page.goto(one.path)
            one.done(page)
            kept = small(page.screenshot() if one.part is None else clipped(page, one.part, one.most))
            (FOLDER / f"{name}.png").write_bytes(kept)
            print(f"{name}.png  {len(kept) / 1000:.0f} kB")
            context.close()
        browser.close()


if __name__ == "__main__":
    main()
