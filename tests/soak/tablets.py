"""Eight tablets that read and write in one shop, on a server process of its own: no error, nothing lost, p95.

Each goes through jobs of its own and looks at those of the others, with a moment between what it does.
"""

from __future__ import annotations

import argparse
import os
import random
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

import httpx2 as httpx

from bellhousing.records.store import open_store
from bellhousing.tasks.ahead import prepare_ahead
from bellhousing.tasks.demo import fill
from bellhousing.tasks.shop import RECORDS, open_shop
from tests.servers import Server

TABLETS = 8
NOTES_A_JOB = 8
PATIENCE = 120.0
"""An answer that takes longer is an error [s]."""
SAID = (
    "fluid dark brown", "fluid level low", "blue smoke when pulling away after idling",
    "2-3 at 64 mph light throttle", "manifold vacuum 18 inHg", "line pressure in D at idle 62 psi",
)  # fmt: skip
PARTS = (
    "",
    ".json",
    "/causes.json",
    "/next.json",
    "/plan.json",
    "/strip",
    "/flanges",
    "/open.json",
    "/money",
)


@dataclass
class Outcome:
    """What came of the tablets; times in seconds."""

    database: str
    tablets: int
    minutes: float
    cores: int
    load: float = 0.0
    reads: int = 0
    writes: int = 0
    acknowledged: int = 0
    errors: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    reading_p50: float = 0.0
    reading_p95: float = 0.0
    writing_p50: float = 0.0
    writing_p95: float = 0.0
    longest: float = 0.0
    server_megabytes: int = 0

    @property
    def sound(self) -> bool:
        """Whether everything was answered and nothing is lost."""
        return self.reads > 0 and self.acknowledged > 0 and not self.errors and not self.lost


@dataclass
class Tablet:
    """One tablet: what it did, how long each took, and what was acknowledged."""

    number: int
    address: str
    ends: float
    pause: float
    jobs: list[int]
    reading: list[float] = field(default_factory=list)
    writing: list[float] = field(default_factory=list)
    acknowledged: list[tuple[int, int]] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def run(self) -> None:
        """Read and write until the time is over."""
        chance = random.Random(self.number)
        headers = {"origin": self.address}
        with httpx.Client(base_url=self.address, headers=headers, timeout=PATIENCE) as client:
            job, notes = 0, NOTES_A_JOB
            while time.monotonic() < self.ends:
                if notes >= NOTES_A_JOB:
                    job, notes = self._open(client), 0
                elif chance.random() < 0.35:
                    notes += 1
                    self._note(client, job, chance, notes)
                elif chance.random() < 0.2:
                    self._tick(client, job, chance)
                else:
                    part = chance.choice(PARTS)
                    seen = chance.choice(self.jobs) if chance.random() < 0.3 and self.jobs else job
                    self._ask(
                        client, "GET", "/" if chance.random() < 0.15 else f"/job/{seen}{part}", self.reading
                    )
                time.sleep(chance.expovariate(1.0 / self.pause) if self.pause else 0.0)

    def _open(self, client: httpx.Client) -> int:
        answer = self._ask(
            client, "POST", "/jobs", self.writing, car="grey saloon", complaint="Not what it was."
        )
        number = 0 if answer is None else int(answer.json()["number"])
        if number:
            self.jobs.append(number)
        return number

    def _note(self, client: httpx.Client, job: int, chance: random.Random, count: int) -> None:
        text = chance.choice(SAID)
        if chance.random() < 0.5:
            text = f"no sound from door speaker {self.number}-{job}-{count}"
        key = f"{self.number}-{job}-{count}"
        answer = self._ask(client, "POST", f"/job/{job}/note", self.writing, text=text, key=key)
        if answer is not None:
            # Something that is understood more than once is one entry each; what is not, is none.
            numbers = [one["number"] for one in answer.json()["findings"]]
            self.acknowledged += [(job, number) for number in numbers if number is not None]

    def _tick(self, client: httpx.Client, job: int, chance: random.Random) -> None:
        flange = chance.choice(("exhaust-joints", "propshaft-straps", "cooler-unions", "bell-cover"))
        self._ask(client, "POST", f"/job/{job}/work.json", self.writing, deed="bolts", kind="bolts-out",
                  flange=flange, holes="1", again="422")  # fmt: skip

    def _ask(
        self, client: httpx.Client, method: str, path: str, times: list[float], again: str = "", **sent: str
    ) -> httpx.Response | None:
        began = time.monotonic()
        try:
            accept = "application/json" if sent else "*/*"
            answer = client.request(method, path, data=sent or None, headers={"accept": accept})
        except httpx.HTTPError as error:
            self.errors.append(f"{method} {path}: {error!r:.120}")
            return None
        times.append(time.monotonic() - began)
        # What is out already is not ticked out again: that is told, and no error.
        if answer.status_code >= 400 and str(answer.status_code) != again:
            self.errors.append(f"{method} {path}: {answer.status_code} {answer.text[:160]}")
            return None
        return answer


def options(parser: argparse.ArgumentParser) -> None:
    """What may be asked for."""
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--on", choices=("both", "file", "server"), default="both")
    parser.add_argument("--pause", type=float, default=1.0, help="seconds between two things, on average")


def run(asked: argparse.Namespace) -> Iterator[Outcome]:
    """The tablets on each kind of database asked for."""
    for kind in ("file", "server") if asked.on == "both" else (asked.on,):
        with ExitStack() as stack:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="bellhousing-tablets-")))
            server = stack.enter_context(Server(safe=True)) if kind == "server" else None
            records = None if server is None else server.address(server.new_database())
            yield _serve_and_ask(kind, folder, records, asked)


def _serve_and_ask(kind: str, folder: Path, records: str | None, asked: argparse.Namespace) -> Outcome:
    outcome = Outcome(kind, TABLETS, asked.minutes, os.cpu_count() or 1)
    with open_shop(folder, records=records) as shop:
        fill(shop)
        prepare_ahead(shop)
    address, process = _served(folder, records)
    try:
        jobs: list[int] = []
        ends = time.monotonic() + 60.0 * asked.minutes
        tablets = [Tablet(number, address, ends, asked.pause, jobs) for number in range(TABLETS)]
        threads = [threading.Thread(target=tablet.run) for tablet in tablets]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        outcome.load = round(os.getloadavg()[0], 1)
        outcome.server_megabytes = _megabytes(process.pid)
    finally:
        process.terminate()
        process.wait(timeout=60)
    _add_up(outcome, tablets)
    with open_store(records or folder / RECORDS) as store:
        outcome.lost = store.problems()
        kept = {job: {entry.id for entry in store.findings(job)} for job in jobs}
    said = [one for tablet in tablets for one in tablet.acknowledged]
    outcome.acknowledged = len(said)
    outcome.lost += [f"job {job}: entry {entry}" for job, entry in said if entry not in kept[job]]
    return outcome


def _served(folder: Path, records: str | None) -> tuple[str, subprocess.Popen[bytes]]:
    """The app on a free port of this machine, as a process that answers already."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {**os.environ, "BELLHOUSING_SHOP": str(folder)}
    started = "from bellhousing.cli.main import main; main()"
    command = [sys.executable, "-c", started, "serve", "--port", str(port)]
    process = subprocess.Popen(
        [*command, *(["--records", records] if records else [])],
        env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    for _ in range(600):
        try:
            if httpx.get(f"{address}/health", timeout=5).status_code in (200, 503):
                return address, process
        except httpx.HTTPError:
            time.sleep(0.2)
        if process.poll() is not None:
            break
    process.kill()
    raise RuntimeError("the app did not start")


def _megabytes(process: int) -> int:
    status = Path(f"/proc/{process}/status")
    found = (
        [line for line in status.read_text().splitlines() if line.startswith("VmHWM:")]
        if status.exists()
        else []
    )
    return int(found[0].split()[1]) // 1024 if found else 0


def _add_up(outcome: Outcome, tablets: list[Tablet]) -> None:
    reading = sorted(took for tablet in tablets for took in tablet.reading)
    writing = sorted(took for tablet in tablets for took in tablet.writing)
    outcome.reads, outcome.writes = len(reading), len(writing)
    outcome.errors = [error for tablet in tablets for error in tablet.errors][:40]
    outcome.reading_p50, outcome.reading_p95 = _share(reading, 0.5), _share(reading, 0.95)
    outcome.writing_p50, outcome.writing_p95 = _share(writing, 0.5), _share(writing, 0.95)
    outcome.longest = round(max([*reading, *writing], default=0.0), 3)


def _share(times: list[float], share: float) -> float:
    """The time that so large a share took at most [s]."""
    return round(times[min(len(times) - 1, int(share * len(times)))], 3) if times else 0.0
