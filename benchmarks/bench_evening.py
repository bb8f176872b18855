"""Time what an evening waits for: a slider's movement to the changed picture, something broken to its map."""

from __future__ import annotations

import argparse
import shutil
import socket
import statistics
import tempfile
import threading
from pathlib import Path

import uvicorn
from playwright.sync_api import Page, sync_playwright

from bellhousing.tasks.demo import open_demo
from bellhousing.web.app import create_app

# Moves a slider as a hand does and waits until the frame that shows it has been painted [ms].
MOVE = """async ({ id, moves }) => {
  const slider = document.getElementById(id);
  const painted = () => new Promise((done) => requestAnimationFrame(() => {
    const after = new MessageChannel();
    after.port1.onmessage = () => done(performance.now());
    after.port2.postMessage(0);
  }));
  const times = [];
  for (let i = 0; i < moves; i += 1) {
    await new Promise((done) => setTimeout(done, 7 + (i * 13) % 29));
    const was = document.getElementById("map").innerHTML;
    slider.value = (i * 37) % 101;
    const began = performance.now();
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    const done = await painted();
    if (document.getElementById("map").innerHTML === was) throw new Error("the picture did not change");
    times.push(done - began);
  }
  return times;
}"""

# Breaks something and waits until the map is drawn anew [ms].
BREAK = """async () => {
  const button = document.querySelector(".ev-things:not([hidden]) [data-break]");
  const map = document.getElementById("map");
  const changed = new Promise((done) => new MutationObserver((_, watch) => {
    watch.disconnect();
    requestAnimationFrame(() => done(performance.now()));
  }).observe(map, { childList: true }));
  const began = performance.now();
  button.click();
  return (await changed) - began;
}"""


def main() -> None:
    """Print median, 95 of 100 and the slowest for both boxes, both views and both sliders."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--moves", type=int, default=150)
    moves = parser.parse_args().moves
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise SystemExit("no chromium on this machine")
    with tempfile.TemporaryDirectory() as folder, open_demo(Path(folder)) as shop, socket.socket() as bound:
        bound.bind(("127.0.0.1", 0))
        bound.listen(64)
        server = uvicorn.Server(uvicorn.Config(create_app(shop), log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1920, "height": 1080})
            page.goto(f"http://127.0.0.1:{bound.getsockname()[1]}/evening")
            measure(page, moves)
            browser.close()
        server.should_exit = True
        thread.join(timeout=20)


def measure(page: Page, moves: int) -> None:
    """Measure on an open page."""
    print(f"{'box':<8}{'view':<9}{'slider':<10}{'median':>8}{'95 %':>8}{'slowest':>9}   [ms] until painted")
    for box in ("box-a", "box-b"):
        page.locator("#box").select_option(box)
        page.locator(f"[data-part='{'2-3' if box == 'box-a' else '3-4'}']").wait_for()
        for view in ("cut", "symbols"):
            page.locator(f"[data-view={view}]").click()
            for slider in ("travel", "speed"):
                times = sorted(page.evaluate(MOVE, {"id": slider, "moves": moves}))
                middle, most = statistics.median(times), times[int(0.95 * len(times))]
                print(f"{box:<8}{view:<9}{slider:<10}{middle:>8.1f}{most:>8.1f}{times[-1]:>9.1f}")
        waits = [page.evaluate(BREAK) for _ in range(20)]
        print(
            f"{box:<8}broken or mended: median {statistics.median(waits):.0f} ms, slowest {max(waits):.0f} ms"
        )


if __name__ == "__main__":
    main()
