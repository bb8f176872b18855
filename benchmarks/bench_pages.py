"""Times the pages of a shop with 50,000 stored jobs beside the same shop without them, in pairs.

Both shops hold the same invented cars and open jobs; the large one holds closed jobs besides, with findings
and confirmed causes.  Each page is asked of both in turn, round by round, so that whatever else the machine
does falls on both alike; told is the median of the paired ratios.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from benchmarks.measured import Curve, Found, Line, duration, paired, times, worked
from sqlalchemy import insert
from starlette.testclient import TestClient

from bellhousing.records import tables
from bellhousing.records.database import open_engine
from bellhousing.records.upgrading import writing
from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.shop import RECORDS, Shop, open_shop
from bellhousing.web.app import create_app

ADDRESS = "http://127.0.0.1:8350"
PAGES = ("/", "/?show=all", "/job/3", "/car/grey-saloon", "/cars", "/?q=smoke", "/?show=all&page=2000")
FIRST = datetime(2016, 1, 4, 9, 0, tzinfo=UTC)
WORDS = (
    "shifts late",
    "blue smoke on pull-away",
    "leaks at the front",
    "slips in second",
    "no reverse when cold",
)
CARS = 5000


def grow(folder: Path, jobs: int) -> None:
    """Add closed jobs to the shop of a folder, each with three findings and a confirmed cause."""
    engine = open_engine(folder / RECORDS)
    with writing(engine) as connection:
        connection.execute(
            insert(tables.cars),
            [
                {"slug": f"car-{n}", "name": f"Invented car {n}", "box": "three-speed-vacuum", "note": ""}
                for n in range(min(CARS, jobs))
            ],
        )
        first, change, entry = 1000, 1000, 1000
        moments = [FIRST + timedelta(hours=2 * n) for n in range(jobs)]
        connection.execute(
            insert(tables.jobs),
            [
                {
                    "number": first + n,
                    "car": f"car-{n % CARS}",
                    "opened_at": moments[n],
                    "complaint": WORDS[n % 5],
                }
                for n in range(jobs)
            ],
        )
        connection.execute(
            insert(tables.job_status),
            [
                {
                    "id": change + 2 * n + late,
                    "job": first + n,
                    "at": moments[n] + timedelta(hours=late),
                    "status": ("open", "closed")[late],
                    "note": "",
                }
                for n in range(jobs)
                for late in (0, 1)
            ],
        )
        connection.execute(
            insert(tables.confirmed_causes),
            [{"change": change + 2 * n + 1, "cause": "vacuum-hose-off"} for n in range(jobs)],
        )
        connection.execute(insert(tables.findings), list(_findings(jobs, first, entry, moments)))
    engine.dispose()


def _findings(jobs: int, first: int, entry: int, moments: list[datetime]) -> list[dict[str, object]]:
    plain: dict[str, object] = {
        "who": "bench",
        "word": None,
        "unit_assumed": False,
        "conditions": {},
        "withdrawn": False,
    }
    readings = (("line-idle-drive-hot", 62.0), ("vacuum-engine-idle", 18.0))
    rows: list[dict[str, object]] = []
    for n in range(jobs):
        for place in range(3):
            own: dict[str, object] = {"finding": None, "states": [], "value_si": None, "unit": None}
            if place < 2:
                name, value = readings[place]
                own |= {"finding": name, "value_si": value * 6894.76, "unit": "psi"}
            rows.append({"id": entry + 3 * n + place, "job": first + n, "at": moments[n], "said": "as found",
                         "standard_uncertainty": None, **own, **plain})  # fmt: skip
    return rows


def timed(client: TestClient, path: str) -> float:
    """Seconds one page takes."""
    begin = time.perf_counter()
    answer = client.get(path)
    taken = time.perf_counter() - begin
    if answer.status_code != 200:
        raise SystemExit(f"{path} answered {answer.status_code}")
    return taken


def main() -> None:
    """Make both shops, time their pages in pairs, tell the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--jobs", type=int, default=50_000)
    asked.add_argument("--rounds", type=int, default=40)
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as place:
        small, large, cache = (Path(place) / name for name in ("small", "large", "cache"))
        for folder in (small, large):
            folder.mkdir()
            open_demo(folder, cache=cache).close()
        grow(large, told.jobs)
        with open_shop(small, cache=cache) as without, open_shop(large, cache=cache) as with_jobs:
            compare(without, with_jobs, told.rounds)


def compare(without: Shop, with_jobs: Shop, rounds: int) -> None:
    """Time the pages of two shops in pairs."""
    clients = [TestClient(create_app(shop), base_url=ADDRESS) for shop in (without, with_jobs)]
    print("first look at each page, s (empty, full)")
    for path in PAGES:
        print(f"{path:24} " + " ".join(f"{timed(client, path):7.3f}" for client in clients))
    print("\n| page | without, ms | with, ms | ratio |\n| --- | --- | --- | --- |")
    pairs: dict[str, list[tuple[float, float]]] = {path: [] for path in PAGES}
    for number in range(rounds):
        for path in PAGES:
            order = (0, 1) if number % 2 else (1, 0)
            taken = {place: timed(clients[place], path) for place in order}
            pairs[path].append((taken[0], taken[1]))
    for path, rows in pairs.items():
        small, large = (1000 * statistics.median(row[place] for row in rows) for place in (0, 1))
        ratio = statistics.median(late / early for early, late in rows)
        print(f"| {path} | {small:.1f} | {large:.1f} | {ratio:.2f} |")


DAILY = {"/": "bench list", "/job/3": "a job", "/car/grey-saloon": "a car", "/cars": "list of cars"}
MOST_TIMES = 1.3


def measured(*, counts: Sequence[int] = (5_000, 50_000), rounds: int = 12) -> Found:
    """The lines of the common table, for the pages of a day, and their time over the number of jobs."""
    lines: list[Line] = []
    curves: dict[str, list[tuple[float, float]]] = {name: [] for name in DAILY.values()}
    with tempfile.TemporaryDirectory() as place:
        cache, small = Path(place) / "cache", Path(place) / "0"
        open_demo(small, cache=cache).close()
        for count in counts:
            large = Path(place) / f"{count}"
            open_demo(large, cache=cache).close()
            grow(large, count)
            with open_shop(small, cache=cache) as without, open_shop(large, cache=cache) as with_jobs:
                pairs = _beside(without, with_jobs, rounds)
            for path, (ours, theirs, ratio) in pairs.items():
                series = curves[DAILY[path]]
                series += [(0.0, theirs)] if count == counts[0] else []
                series.append((float(count), ours))
                if count == counts[-1]:
                    what = f"{DAILY[path]} with {count:,} closed jobs"
                    note = f"{duration(ours)} against {duration(theirs)} of processor time"
                    reached = ratio <= MOST_TIMES
                    lines.append(Line(what, "the same without them", "≤ 1.3 ×", times(ratio), reached, note))
    return Found(lines, [Curve("Pages over jobs", "closed jobs in the shop", curves)])


def _beside(without: Shop, with_jobs: Shop, rounds: int) -> dict[str, tuple[float, float, float]]:
    small, large = (TestClient(create_app(shop), base_url=ADDRESS) for shop in (without, with_jobs))
    for client in (small, large):
        for path in DAILY:
            timed(client, path)  # the first look is another matter
    return {
        path: paired(
            partial(worked, partial(timed, large, path)), partial(worked, partial(timed, small, path)), rounds
        )
        for path in DAILY
    }


if __name__ == "__main__":
    main()
