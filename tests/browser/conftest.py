"""A real server with the invented shop, and a real browser to look at it with."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, expect, sync_playwright

from bellhousing.tasks.ahead import prepare_ahead
from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.shop import Shop, open_shop
from tests.browser.killed import SLOW, Server, like_the_demo
from tests.serving import served


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory, prepared_folder: Path) -> Iterator[Shop]:
    """The invented shop."""
    with open_demo(tmp_path_factory.mktemp("shop"), cache=prepared_folder) as opened:
        # The browser looks at pages, not at how long a model takes to be worked out.
        prepare_ahead(opened)
        yield opened


@pytest.fixture(scope="session")
def address(shop: Shop) -> Iterator[str]:
    """Where the shop is served, on a free port of this machine."""
    with served(shop) as where:
        yield where


@pytest.fixture(scope="session", autouse=True)
def patience() -> None:
    """Whatever is expected is waited for as long as a slow machine may take."""
    expect.set_options(timeout=SLOW)


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """The browser of this machine, without a window."""
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield launched
        launched.close()


@pytest.fixture
def server(tmp_path: Path, shop: Shop) -> Iterator[Server]:
    """A program of its own with one car and one job, the models taken from those of the invented shop."""
    with open_shop(tmp_path / "shop", cache=shop.cache) as own:
        like_the_demo(own)
    assert shop.cache is not None
    made = Server(tmp_path / "shop", shop.cache)
    made.start()
    yield made
    made.kill()


@pytest.fixture
def tablet(browser: Browser) -> Iterator[BrowserContext]:
    """A browser of its own, as large as a tablet."""
    context = browser.new_context(viewport={"width": 820, "height": 1180}, has_touch=True)
    context.set_default_timeout(SLOW)
    yield context
    context.close()
