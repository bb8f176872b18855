"""A move and an import killed at every step, then begun again by the same words: all there, once, sound."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from shutil import copytree

import pytest

from bellhousing.errors import RecordError
from bellhousing.records.archive import export
from bellhousing.records.copying import Tally, tallies
from bellhousing.records.store import open_store
from bellhousing.tasks import keeping
from bellhousing.tasks.checking import check
from bellhousing.tasks.shop import MOVED, RECORDS, open_shop
from tests.records.conftest import NewPlace, filled

PHOTO = "photos/originals/ab/photo.jpg"
KILLED = """
import json, os, pathlib, signal, sys
from pathlib import Path
from bellhousing.records import archive_in, copying
from bellhousing.tasks import keeping
from bellhousing.tasks.shop import open_shop

def die(*given, **named):
    os.kill(os.getpid(), signal.SIGKILL)

within = {"archive_in": archive_in, "copying": copying, "keeping": keeping, "Path": Path}
for step, folder, records, what in json.loads(sys.argv[1]):
    child = os.fork()
    if not child:
        module, _, name = step.partition(".")
        setattr(within[module], name, die)
        if what.endswith(".zip"):
            with open_shop(Path(folder), records=records) as shop:
                keeping.take_in(shop, Path(what))
        else:
            keeping.move_records(Path(folder), what, records=records)
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""


def killed(steps: list[tuple[str, Path, str | None, str]]) -> None:
    """Do each in a program that dies at the step named, as if it were killed there."""
    told = json.dumps([(step, str(folder), records, what) for step, folder, records, what in steps])
    ran = subprocess.run(
        [sys.executable, "-c", KILLED, told],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "src")},
        capture_output=True, text=True, check=True, timeout=600,
    )  # fmt: skip
    assert ran.stdout.split() == [str(-signal.SIGKILL)] * len(steps), ran.stderr


def contents(place: str | Path) -> dict[str, Tally]:
    """Every row of a database, which is sound."""
    with open_store(place) as store, store.engine.connect() as connection, connection.begin():
        store.check()
        return tallies(connection)


@pytest.fixture
def shop(tmp_path: Path, at: datetime) -> Path:
    """A shop's folder with a car, a job and a photo."""
    folder = tmp_path / "shop"
    (folder / PHOTO).parent.mkdir(parents=True)
    (folder / PHOTO).write_bytes(b"as the camera had it" * 40)
    filled(folder / RECORDS, at).close()
    return folder


def test_a_move_killed_at_any_step_goes_on_where_it_was(
    shop: Path, new_place: NewPlace, tmp_path: Path
) -> None:
    """Before the rows are kept there, before the folder knows, before the old file is put aside; and back."""
    before = contents(shop / RECORDS)
    steps: tuple[str, ...] = ("copying.need_same", "keeping._put_aside", "keeping._away")
    if new_place().startswith("postgresql"):
        # What comes after the rows are kept there is the same for both kinds.
        steps = steps[:2]
    moves = [(step, Path(copytree(shop, tmp_path / step)), new_place()) for step in steps]
    killed([(step, folder, None, place) for step, folder, place in moves])
    for _, folder, place in moves:
        assert contents(folder / RECORDS) == before
        answer = keeping.move_records(folder, place)
        assert contents(place) == before
        assert sum(answer.rows.values()) == sum(tally.rows for tally in before.values())
        assert answer.kept is not None
        assert contents(answer.kept) == before
        assert not (folder / RECORDS).exists()
        with pytest.raises(RecordError, match="were moved to"):
            open_shop(folder)
        with open_shop(folder, records=place) as moved:
            assert moved.store.job(1).car == "grey-saloon"
    _, folder, place = moves[0]
    own = folder / RECORDS
    killed([("Path.unlink", folder, place, str(own))])
    keeping.move_records(folder, str(own), records=place)
    assert not (folder / MOVED).exists()
    assert contents(own) == before


def test_what_was_written_since_a_broken_off_move_is_not_given_up(
    shop: Path, tmp_path: Path, at: datetime
) -> None:
    """Somebody went on in the old file: the copy there is not taken for it, and both stay."""
    place = str(tmp_path / "moved.sqlite")
    killed([("keeping._put_aside", shop, None, place)])
    with open_store(shop / RECORDS) as store:
        store.open_job("grey-saloon", complaint="since", at=at, who="m")
    with pytest.raises(RecordError, match=r"in it already .*: nothing was changed"):
        keeping.move_records(shop, place)
    with open_shop(shop) as opened:
        assert opened.store.job(2).complaint == "since"


def test_an_import_killed_at_any_step_is_begun_again(
    shop: Path, new_place: NewPlace, tmp_path: Path, at: datetime
) -> None:
    """Before the files are in place, before the rows are, before these are kept; nothing is left over."""
    archive = tmp_path / "all.zip"
    with open_store(shop / RECORDS) as store:
        export(store.engine, shop, archive, at=at, program="0", boxes={})
    before = contents(shop / RECORDS)
    steps: tuple[str, ...] = ("archive_in._boxes_in", "archive_in._records_in", "copying.need_same")
    if new_place().startswith("postgresql"):
        # What comes before the last step is the same for both kinds.
        steps = steps[-1:]
    takes = [(step, tmp_path / step, new_place()) for step in steps]
    killed([(step, folder, place, str(archive)) for step, folder, place in takes])
    for _, folder, place in takes:
        assert "left by an import" in " ".join(one.what for one in check(folder, records=place).troubles)
        with open_shop(folder, records=place) as other:
            assert other.store.cars() == ()
            assert keeping.take_in(other, archive).files == 1
        assert contents(place) == before
        assert (folder / PHOTO).read_bytes() == (shop / PHOTO).read_bytes()
        assert not list(folder.rglob("*.part"))
