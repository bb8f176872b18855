"""Photos in the records: written whole, named by their content, withdrawn by a new entry, checked."""

from __future__ import annotations

import hashlib
import os
import signal
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from bellhousing.errors import RecordError
from bellhousing.records.entries import Entry
from bellhousing.records.photo_files import FileCheck, PhotoFiles
from bellhousing.records.photos import Photo, PhotoFile, Place
from bellhousing.records.pictures import read_picture
from bellhousing.records.store import Store
from bellhousing.records.upgrading import writing
from tests.camera import jpeg, png

FILE = PhotoFile(digest="0" * 64, kind="jpeg", size=10, width=4, height=3, taken=None, name="a.jpg")


@pytest.fixture
def files(tmp_path: Path) -> PhotoFiles:
    """A folder yet to be made."""
    return PhotoFiles(tmp_path / "photos")


def kept(files: PhotoFiles, data: bytes) -> str:
    """Keep a photo."""
    return files.keep(data, read_picture(data, "a"))


def noted(store: Store, at: datetime, place: Place | None = None, key: str | None = None) -> Photo:
    """Note the invented file on job 1."""
    return store.photos.add(1, FILE, place or Place(caption="as found"), at=at, who="m", key=key)


def test_a_photo_is_kept_byte_for_byte_under_its_own_name(files: PhotoFiles) -> None:
    """Once, however often it is sent, with both copies and nothing half-written beside them."""
    data = jpeg()
    digest = kept(files, data)
    assert digest == hashlib.sha256(data).hexdigest()
    assert kept(files, data) == digest
    assert files.read(digest, "jpeg") == data
    assert files.path(digest, "jpeg", "original").read_bytes() == data
    names = sorted(path.name for path in files.folder.rglob("*") if path.is_file())
    assert names == sorted([f"{digest}.jpg", f"{digest}-small.jpg", f"{digest}-large.jpg"])


def test_a_copy_that_is_gone_is_made_again(files: PhotoFiles) -> None:
    """From the original, which is never touched."""
    digest = kept(files, png())
    small = files.path(digest, "png", "small")
    before = small.read_bytes()
    small.unlink()
    assert files.path(digest, "png", "small").read_bytes() == before


def test_missing_and_changed_photos_are_told_and_sending_one_again_mends_it(files: PhotoFiles) -> None:
    """By their digests; a file nobody noted is told of too."""
    sound, cut, gone = jpeg(), jpeg((60, 40)), png()
    digests = [kept(files, data) for data in (sound, cut, gone)]
    known = list(zip(digests, ("jpeg", "jpeg", "png"), strict=True))
    assert files.check(known) == FileCheck((), (), ())
    files.original(digests[1], "jpeg").write_bytes(cut[:-5])
    files.original(digests[2], "png").unlink()
    found = files.check(known)
    assert (found.changed, found.missing) == ((digests[1],), (digests[2],))
    with pytest.raises(RecordError, match="changed or damaged"):
        files.read(digests[1], "jpeg")
    with pytest.raises(RecordError, match="missing"):
        files.path(digests[2], "png", "original")
    kept(files, cut)
    kept(files, gone)
    assert files.check(known) == FileCheck((), (), ())
    assert [path.stem for path in files.check(known[:2]).unknown] == [digests[2]]


def test_a_photo_names_no_other_file(files: PhotoFiles) -> None:
    """What is no digest never becomes a path."""
    for name in ("../records.sqlite", "", "a" * 63, "A" * 64, "0" * 64 + "/x"):
        with pytest.raises(RecordError, match="does not name a photo"):
            files.path(name, "jpeg", "original")


def test_a_folder_that_cannot_be_written_to_is_told(tmp_path: Path) -> None:
    """Nothing is kept, and the remedy says so."""
    (tmp_path / "photos").write_text("a file stands in the way")
    with pytest.raises(RecordError, match="nothing was noted"):
        kept(PhotoFiles(tmp_path / "photos"), jpeg())


WRITER = """
import sys
from pathlib import Path
from bellhousing.records.photo_files import PhotoFiles
from bellhousing.records.pictures import read_picture
from tests.camera import jpeg
files = PhotoFiles(Path(sys.argv[1]))
for number in range(10_000):
    data = jpeg((300 + number, 200))
    digest = files.keep(data, read_picture(data, "a"))
    print(digest, flush=True)
"""


def test_a_program_killed_while_it_writes_leaves_whole_files(files: PhotoFiles, repository: Path) -> None:
    """Every photo it said was kept is there; no file under a photo's name holds anything else."""
    environment = {**os.environ, "PYTHONPATH": f"{repository / 'src'}{os.pathsep}{repository}"}
    with subprocess.Popen(
        [sys.executable, "-c", WRITER, str(files.folder)],
        stdout=subprocess.PIPE,
        text=True,
        env=environment,
    ) as program:
        assert program.stdout is not None
        said = [program.stdout.readline().strip() for _ in range(6)]
        program.send_signal(signal.SIGKILL)
        said += program.stdout.read().split()
    assert len(said) >= 6
    found = files.check([(digest, "jpeg") for digest in said if len(digest) == 64])
    assert (found.missing, found.changed) == ((), ())
    assert all(hashlib.sha256(path.read_bytes()).hexdigest() == path.stem for path in found.unknown)


def test_a_photo_is_noted_once_for_a_key(store: Store, at: datetime) -> None:
    """The same key gives the same entry; for another photo it is refused."""
    first = noted(store, at, key="k")
    assert noted(store, at, key="k") == first
    with pytest.raises(RecordError, match="used before"):
        store.photos.add(1, PhotoFile(**{**vars(FILE), "digest": "1" * 64}), Place(), at=at, who="m", key="k")
    assert store.photos.on_job(1) == (first,)


def test_without_a_key_the_same_photo_at_the_same_place_is_one_entry(store: Store, at: datetime) -> None:
    """At another place it is another; taken back, it may be noted again."""
    first = noted(store, at, Place(part="pan"))
    assert noted(store, at, Place(part="pan", caption="again")) == first
    other = noted(store, at, Place(part="pump"))
    assert [photo.id for photo in store.photos.on_job(1)] == [first.id, other.id]
    store.photos.withdraw(first.id, at=at, who="m", reason="of another car")
    assert noted(store, at, Place(part="pan")).id not in (first.id, other.id)
    assert store.photos.files() == ((FILE.digest, "jpeg"),)


def test_a_change_and_a_withdrawal_are_new_entries(store: Store, at: datetime) -> None:
    """The book keeps all three; each entry can be changed once, sent twice it is done once."""
    first = noted(store, at)
    second = store.photos.change(first.id, Place(caption="the pan"), at=at, who="n", key="c")
    assert store.photos.change(first.id, Place(caption="the pan"), at=at, who="n", key="c") == second
    assert store.photos.on_job(1) == (second,)
    with pytest.raises(RecordError, match=f"entry {second.id} now stands"):
        store.photos.change(first.id, Place(), at=at, who="n")
    third = store.photos.withdraw(second.id, at=at, who="n", reason="of another car", key="w")
    assert store.photos.withdraw(second.id, at=at, who="n", reason="of another car", key="w") == third
    assert (third.reason, third.withdrawn, third.file) == ("of another car", True, FILE)
    assert store.photos.on_job(1) == ()
    assert [entry.id for entry in store.photos.entries(1)] == [first.id, second.id, third.id]
    for number, said in ((second.id, "taken back"), (third.id, "is a withdrawal")):
        with pytest.raises(RecordError, match=said):
            store.photos.withdraw(number, at=at, who="n", reason="twice")


def test_a_photo_belongs_to_a_job_and_its_entries(store: Store, at: datetime) -> None:
    """No photo of no job, none of another job's finding, none with a book of words beside it."""
    with pytest.raises(RecordError, match="no job 9"):
        store.photos.add(9, FILE, Place(), at=at, who="m")
    store.open_job("grey-saloon", complaint="slips", at=at, who="m")
    other = store.add_finding(2, Entry(said="dark fluid"), at=at, who="m")
    for place, said in (
        (Place(finding=other.id), "not of that job"),
        (Place(finding=99), "no entry 99"),
        (Place(caption="x" * 1001), "too long"),
        (Place(part="x" * 121), "too long"),
    ):
        with pytest.raises(RecordError, match=said):
            noted(store, at, place)
    assert store.photos.entries() == ()


def test_entries_of_photos_are_written_once(store: Store, at: datetime) -> None:
    """The database itself refuses to change or remove one."""
    noted(store, at)
    for statement in ("UPDATE photos SET caption = 'x'", "DELETE FROM photos"):
        with writing(store.engine) as other, pytest.raises(IntegrityError, match="written once"):
            other.execute(text(statement))
