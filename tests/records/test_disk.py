"""A disk that is full under an open database: words, nothing half written, and going on after."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError

from bellhousing.errors import RecordError
from bellhousing.records.entries import Entry
from bellhousing.records.refusals import refused
from bellhousing.records.store import Store, open_store
from tests.records.conftest import filled

FILLING = """
import json, resource, sys
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_hex
from bellhousing.errors import RecordError
from bellhousing.records.archive import export
from bellhousing.records.backup import make_backup
from bellhousing.records.entries import Car, Entry
from bellhousing.records.store import open_store

folder = Path(sys.argv[1])
at = datetime(2026, 5, 1, tzinfo=UTC)
store = open_store(folder / "records.sqlite")
store.add_car(Car(slug="car", name="Car", box="box-a"))
store.open_job("car", complaint="none", at=at, who="m")
most = max(path.stat().st_size for path in folder.glob("records.sqlite*")) + 200_000
resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
kept, said = 0, []
try:
    while True:
        store.add_finding(1, Entry(said=token_hex(1500)), at=at, who="m")
        kept += 1
except RecordError as error:
    said.append(str(error))
for doing in (lambda: make_backup(store.engine, folder, folder / "backups", at=at),
              lambda: export(store.engine, folder, folder / "all.zip", at=at, program="0", boxes={})):
    (folder / "logs").mkdir(exist_ok=True)
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, most))
    try:
        doing()
    except RecordError as error:
        said.append(str(error))
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
print(json.dumps([kept, said]))
"""


def test_a_full_disk_loses_nothing_acknowledged_and_leaves_nothing_half_done(tmp_path: Path) -> None:
    """Entries, a backup and an archive are refused with words; with room again it goes on."""
    source = str(Path(__file__).parents[2] / "src")
    ran = subprocess.run(
        [sys.executable, "-c", FILLING, str(tmp_path)],
        env={**os.environ, "PYTHONPATH": source},
        capture_output=True,
        text=True,
        check=True,
        timeout=600,
    )
    kept, said = json.loads(ran.stdout)
    assert kept > 5
    assert len(said) == 3
    assert "nothing was written; make room on the disk" in said[0]
    assert all("room on the disk" in words for words in said)
    assert not list(tmp_path.glob("*.part")) + list(tmp_path.glob("all.zip*"))
    assert not list((tmp_path / "backups").glob("*Z*"))
    with open_store(tmp_path / "records.sqlite") as store:
        assert len(store.findings(1)) == kept
        store.check()
        store.add_finding(1, Entry(said="goes on"), at=datetime.fromisoformat("2026-05-02T00:00Z"), who="m")


def test_a_database_at_its_last_page_says_that_the_disk_is_full(file: Path, at: datetime) -> None:
    """In the words of the disk, whatever the number of the refusal."""
    with filled(file, at) as store:
        with store.engine.connect() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(RecordError, match="the disk is full"):
            store.add_finding(1, Entry(said="x" * 20_000), at=at, who="m")
        assert store.findings(1) == ()


class _Said(Exception):
    def __init__(self, state: str) -> None:
        super().__init__(f"refused with {state}")
        self.sqlstate = state


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ("53100", "the disk is full, .*make room"),
        ("25006", "cannot be written to"),
        ("57P01", "cannot be reached, .*may not be written: look, then say it again"),
        ("XX001", "is damaged, .*bellhousing restore"),
        ("55P03", "the database refused"),
    ],
)
def test_a_servers_refusal_is_told_with_what_to_do(state: str, words: str) -> None:
    """By the number the server gives it."""
    error = OperationalError("", {}, _Said(state))
    with pytest.raises(RecordError, match=words):
        raise refused(error, "postgresql://shop@server/bellhousing")


@pytest.mark.parametrize(("who", "said"), [("m" * 201, "the who is too long"), ("a\x00b", "cannot be kept")])
def test_what_one_database_could_not_keep_neither_keeps(
    store: Store, at: datetime, who: str, said: str
) -> None:
    """So that records can always be moved from one to the other."""
    with pytest.raises(RecordError, match=said):
        store.add_finding(1, Entry(said="a"), at=at, who=who)
    assert store.findings(1) == ()
    with pytest.raises(RecordError, match="there is no"):
        store.job(10**11)
