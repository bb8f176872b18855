"""Times the first page of a freshly started shop, as a browser on this machine waits for it.

The program is started on the invented shop, whose files have been read before; once its address can be
reached the first page is asked for, then again, then the page of a job.  With `--beside` the same is done
with another source tree in turn, so that whatever else the machine does falls on both alike.
"""

from __future__ import annotations

import argparse
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

HERE = Path(__file__).parents[1] / "src"
FILL = (
    "import pathlib, sys; from bellhousing.tasks.demo import open_demo; "
    "from bellhousing.tasks.ahead import prepare_ahead; shop = open_demo(pathlib.Path(sys.argv[1])); "
    "prepare_ahead(shop); shop.close()"
)
STEPS = ("until it listens", "first page", "first page again", "a job")


def processor_time(pid: int) -> float:
    """The processor time a program has taken so far [s]."""
    told = Path(f"/proc/{pid}/stat").read_text("utf-8").rsplit(")", 1)[1].split()
    return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")


def one_start(source: Path, shop: Path, cache: Path) -> list[tuple[float, float]]:
    """Start the program once: for each step how long it took, and the processor time it took [s]."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {**os.environ, "PYTHONPATH": str(source), "BELLHOUSING_CACHE": str(cache)}
    command = [sys.executable, "-m", "bellhousing", "serve", "--shop", str(shop), "--port", str(port)]
    began, taken = time.monotonic(), 0.0
    program = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    found = []
    try:
        for path in ("", "/", "/", "/job/3"):
            while True:
                try:
                    if path:
                        urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=120).read()
                    else:
                        socket.create_connection(("127.0.0.1", port), timeout=1).close()
                    break
                except ConnectionRefusedError:
                    time.sleep(0.01)
            now, used = time.monotonic(), processor_time(program.pid)
            found.append((now - began, used - taken))
            began, taken = now, used
    finally:
        program.kill()
        program.wait()
    return found


def main() -> None:
    """Start it as often as asked and tell the medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starts", type=int, default=5)
    parser.add_argument("--beside", type=Path, help="another source tree, the folder that holds bellhousing")
    asked = parser.parse_args()
    sources = [HERE, *([asked.beside] if asked.beside else [])]
    with tempfile.TemporaryDirectory() as folder:
        shop, cache = Path(folder) / "shop", Path(folder) / "cache"
        environment = {**os.environ, "PYTHONPATH": str(HERE), "BELLHOUSING_CACHE": str(cache)}
        subprocess.run([sys.executable, "-c", FILL, str(shop)], env=environment, check=True)
        told: dict[Path, list[list[tuple[float, float]]]] = {source: [] for source in sources}
        for _ in range(asked.starts):
            for source in sources:
                told[source].append(one_start(source, shop, cache))
    for source, starts in told.items():
        print(source)
        for place, step in enumerate(STEPS):
            waited, used = (statistics.median(start[place][which] for start in starts) for which in (0, 1))
            print(f"  {step:18} {waited:6.2f} s, of the processor {used:5.2f} s")


if __name__ == "__main__":
    main()
