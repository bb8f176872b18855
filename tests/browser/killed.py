"""A program that serves a shop of its own, to be killed under a browser that has its pages open."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from playwright.sync_api import Page, expect

from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop

# How long anything is waited for: a page may be worked out anew, on whatever machine this is [ms].
SLOW = 60_000


def free_port() -> int:
    """A port nobody listens at, below those a machine gives to whoever asks it for any.

    The program comes to it a moment later, and comes back to it after it was killed.
    """
    for port in range(20_000 + os.getpid() % 10_000, 32_768):
        with socket.socket() as free, suppress(OSError):
            free.bind(("127.0.0.1", port))
            return port
    raise RuntimeError("no port is free")


class Server:
    """The program itself on a shop of its own, to be killed as a loss of power would kill it."""

    def __init__(self, folder: Path, cache: Path) -> None:
        self.folder = folder
        self.environment = {**os.environ, "BELLHOUSING_CACHE": str(cache)}
        self.port = free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        self.program: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it, and wait until it answers."""
        command = ["-m", "bellhousing", "serve", "--shop", str(self.folder), "--port", str(self.port)]
        self.program = subprocess.Popen(
            [sys.executable, *command], env=self.environment, stdout=subprocess.DEVNULL
        )
        deadline = time.monotonic() + SLOW / 1000
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


def until(
    page: Page, holds: Callable[[], bool], else_say: Callable[[], str] = lambda: "it never came"
) -> None:
    """Wait until something holds that the page itself cannot wait for, such as what the records have."""
    deadline = time.monotonic() + SLOW / 1000
    while not holds():
        assert time.monotonic() < deadline, else_say()
        page.wait_for_timeout(50)


def kept(page: Page) -> set[str]:
    """The paths the browser could show without the server."""
    asked = "async () => (await (await caches.open('pages')).keys()).map((one) => new URL(one.url).pathname)"
    return set(page.evaluate(asked))


def wait_until_kept(page: Page, path: str) -> None:
    """Wait until the browser could show this page, with all that it is made of, without the server."""
    used = page.evaluate("performance.getEntriesByType('resource').map((one) => new URL(one.name).pathname)")
    wanted = {path, *(one for one in used if one.endswith((".js", ".css")))}
    # Asked again and again from here: the page's own way of waiting takes a promise for a yes.
    until(page, lambda: wanted <= kept(page), lambda: f"not kept: {sorted(wanted - kept(page))}")


def go(page: Page, address: str) -> None:
    """Open a page as the server has it, not as the browser last saw it where the server is only slow."""
    page.goto(address)
    expect(page.locator("body[data-kept]")).to_have_count(0)
