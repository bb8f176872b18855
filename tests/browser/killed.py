"""A program that serves a shop of its own, to be killed under a browser that has its pages open."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from playwright.sync_api import Page

from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop

# The page is worked out anew with all its findings, on whatever machine this is [ms].
SLOW = 30_000


class Server:
    """The program itself on a shop of its own, to be killed as a loss of power would kill it."""

    def __init__(self, folder: Path, cache: Path) -> None:
        self.folder = folder
        self.environment = {**os.environ, "BELLHOUSING_CACHE": str(cache)}
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.program: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it, and wait until it answers."""
        command = ["-m", "bellhousing", "serve", "--shop", str(self.folder), "--port", str(self.port)]
        self.program = subprocess.Popen(
            [sys.executable, *command], env=self.environment, stdout=subprocess.DEVNULL
        )
        deadline = time.monotonic() + 60
        while True:
            try:
                urllib.request.urlopen(f"{self.address}/static/icon.svg", timeout=5).close()
                return
            except OSError:
                assert self.program.poll() is None, "the program ended by itself"
                assert time.monotonic() < deadline
                time.sleep(0.1)

    def kill(self) -> None:
        """End it at once."""
        assert self.program is not None
        self.program.kill()
        self.program.wait()


def like_the_demo(shop: Shop) -> None:
    """A job on a car whose model the invented shop has worked out already."""
    opening.open_car(shop, "grey saloon", box="A", axle_ratio="3.08", tyre_radius="0.345 m", altitude="0 ft")
    opening.open_job(shop, "grey-saloon", "Shifts late.")


def wait_until_kept(page: Page, *paths: str) -> None:
    """Wait until the browser could show these without the server."""
    kept = "async (paths) => { const all = await caches.open('pages'); "
    kept += "return (await Promise.all(paths.map((path) => all.match(path)))).every(Boolean); }"
    deadline = time.monotonic() + SLOW / 1000
    # Asked again and again from here: the page's own way of waiting takes a promise for a yes.
    while not page.evaluate(kept, list(paths)):
        assert time.monotonic() < deadline, f"not kept: {paths}"
        page.wait_for_timeout(100)
