"""A real server with the invented shop, and a real browser to look at it with."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator

import pytest
import uvicorn
from playwright.sync_api import Browser, sync_playwright

from bellhousing.tasks.ahead import prepare_ahead
from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.shop import Shop
from bellhousing.web.app import create_app


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The invented shop."""
    with open_demo(tmp_path_factory.mktemp("shop"), cache=tmp_path_factory.mktemp("cache")) as opened:
        # The browser looks at pages, not at how long a model takes to be worked out.
        prepare_ahead(opened)
        yield opened


@pytest.fixture(scope="session")
def address(shop: Shop) -> Iterator[str]:
    """Where the shop is served, on a free port of this machine."""
    with socket.socket() as bound:
        bound.bind(("127.0.0.1", 0))
        bound.listen(64)
        server = uvicorn.Server(uvicorn.Config(create_app(shop), log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{bound.getsockname()[1]}"
        server.should_exit = True
        thread.join(timeout=20)


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """The browser of this machine, without a window."""
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield launched
        launched.close()
