"""Two programs on one shop at the same moment: nothing lost, each key, hole and answer once."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from bellhousing.records.entries import CLOSED
from bellhousing.records.store import open_store
from bellhousing.tasks.ledger import ledger_of_job
from bellhousing.tasks.shop import open_shop
from bellhousing.tasks.work_book import read_book
from bellhousing.work.ledger import ledger

COUNT = 20
PROGRAM = """
import json, sys, time
from datetime import UTC, datetime
from pathlib import Path
from bellhousing.errors import BellhousingError, RecordError
from bellhousing.records.entries import Car, Entry
from bellhousing.records.store import Store, open_store
from bellhousing.tasks import ledger, opening
from bellhousing.tasks.shop import open_shop

place, folder, name, count = *sys.argv[1:4], int(sys.argv[4])
at = datetime(2026, 5, 1, tzinfo=UTC)
mine = "pan-bolts" if name == "left" else "tail-bolts"

def together():
    print("ready", flush=True)
    sys.stdin.readline()

together()
with open_store(place) as store:
    try:
        store.add_car(Car(slug="car", name="Car", box="box-a"))
    except RecordError as refusal:
        assert "there is a car of that name" in str(refusal), refusal
    job = store.open_job("car", complaint="shared", at=at, who=name, key="one-job")
    for number in range(count):
        store.add_finding(job.number, Entry(said=f"{name} {number}"), at=at, who=name, key=f"{name}-{number}")
        store.add_finding(job.number, Entry(said=f"both {number}"), at=at, who=name, key=f"both-{number}")

keep = Store.add_work_entry

def slowly(store, entry, **said):
    # Between what was read and what is written lies long enough for the other to come in between.
    time.sleep(0.03)
    return keep(store, entry, **said)

Store.add_work_entry = slowly

def does(deed):
    try:
        deed()
    except BellhousingError as error:
        return str(error)
    return ""

with open_shop(Path(folder), records=place, cache=Path(folder) / "cache") as shop:
    shop.box("box-a")
    together()
    said = []
    for hole in range(1, 3):
        ledger.tick(shop, 1, "bolts-out", "pan-bolts", str(hole))
        ledger.tick(shop, 1, "bolts-out", "tail-bolts", str(hole), key=f"tail-{hole}")
        ledger.note_exception(shop, 1, mine, hole, "stripped")
    together()
    for hole in range(1, 3):
        for flange in ("pan-bolts", "tail-bolts"):
            said.append(does(lambda: ledger.answer_exception(shop, 1, flange, hole, "thread-insert")))
    together()
    for flange in ("bell-bolts", "pump-ring", "filter-bolt"):
        shelf = "servo-cover" if name == "left" else flange
        ledger.tick(shop, 1, "bolts-bagged", shelf)
    together()
    closing = []
    for number in range(1, 5):
        if name == "left" and number == 2:
            closing.append(does(lambda: opening.close_job(shop, 1, despite="sold")))
        else:
            closing.append(does(lambda: ledger.tick(shop, 1, "bolts-out", "pump-halves")))
    print(json.dumps([said, closing]), flush=True)
"""


def test_two_programs_at_once_lose_nothing_and_keep_each_key_once(place: str, tmp_path: Path) -> None:
    """Both make the same new database, open the same job, note, tick, answer, bag, and one closes it."""
    source, folder = Path(__file__).parents[2] / "src", tmp_path / "shop"
    folder.mkdir()
    programs = [
        subprocess.Popen(
            [sys.executable, "-c", PROGRAM, place, str(folder), name, str(COUNT)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(source)},
        )
        for name in ("left", "right")
    ]
    for _ in range(5):
        for program in programs:
            assert program.stdout is not None
            assert program.stdout.readline() == "ready\n"
        for program in programs:
            program.stdin.write("go\n")  # type: ignore[union-attr]
            program.stdin.flush()  # type: ignore[union-attr]
    told = [json.loads(program.communicate(timeout=600)[0]) for program in programs]
    assert [program.returncode for program in programs] == [0, 0]
    with open_store(place) as store:
        assert len(store.jobs()) == 1
        said = [entry.said for entry in store.findings(1)]
        assert sorted(said) == sorted(
            f"{name} {n}" for name in ("left", "right", "both") for n in range(COUNT)
        )
        assert [entry.id for entry in store.findings(1)] == sorted(entry.id for entry in store.findings(1))
        store.check()
    with open_shop(folder, records=place, cache=folder / "cache") as shop:
        book = read_book(shop, 1)
        state = ledger(book.need_tree(), book.entries)
        assert state.balances
        assert state.ignored == ()
        # Each hole's damage is answered by one of the two, the other is told that nothing is open there.
        answers = [entry for entry in book.entries if entry.kind == "cleared"]
        assert len(answers) == 4
        assert sum(not text for one in told for text in one[0]) == 4
        assert len([entry for entry in book.entries if entry.key and entry.key.startswith("tail-")]) == 2
        assert len({bag.tag for bag in ledger_of_job(shop, 1).bags}) == len(ledger_of_job(shop, 1).bags) == 4
        assert shop.store.job(1).status == CLOSED
        refused = [text for one in told for text in one[1] if text]
        assert all("job 1 is closed" in text for text in refused)
