"""A real server for a shop, and the browser of this machine."""

from __future__ import annotations

import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from bellhousing.tasks.shop import Shop
from bellhousing.web.app import create_app


@contextmanager
def served(shop: Shop) -> Iterator[str]:
    """The address at which a shop is served, on a free port of this machine."""
    with socket.socket() as bound:
        bound.bind(("127.0.0.1", 0))
        bound.listen(64)
        server = uvicorn.Server(uvicorn.Config(create_app(shop), log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{bound.getsockname()[1]}"
        server.should_exit = True
        thread.join(timeout=20)


def chromium_here() -> str:
    """The path of the browser on this machine; a browser test without one is an error, never a pass."""
    # The one without any window starts and draws several times as fast.
    for name in ("chromium-headless-shell", "chromium", "chromium-browser"):
        path = shutil.which(name)
        if path is not None:
            return path
    package = "chromium-headless-shell"
    raise RuntimeError(f"no chromium on this machine: apt-get install --no-install-recommends {package}")
