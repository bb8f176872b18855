"""Writers ended by force at any moment: every acknowledged word is there afterwards, and all of it is sound.

Two writers at a time write findings and photos, and say of each through a pipe that it is kept, once the
store has said so to them. Both are killed at a random moment; on a server, now and then the server is too.
"""

from __future__ import annotations

import argparse
import io
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from PIL import Image

from bellhousing.errors import RecordError
from bellhousing.records.entries import Car, Entry
from bellhousing.records.photo_files import PhotoFiles
from bellhousing.records.photos import PhotoFile, Place
from bellhousing.records.pictures import read_picture
from bellhousing.records.store import Store, open_store
from tests.servers import Server

AT = datetime(2026, 5, 1, tzinfo=UTC)
WRITERS = 2
LONGEST_LIFE = 0.25
"""A writer is killed within this after its first word was kept [s]."""
SERVER_TOO = 20
"""One kill in so many takes the server with it."""
PHOTO_EACH = 3


@dataclass
class Outcome:
    """What came of the kills on one kind of database."""

    database: str
    seed: int
    kills: int = 0
    servers_killed: int = 0
    acknowledged: int = 0
    kept_but_not_acknowledged: int = 0
    lost: list[str] = field(default_factory=list)
    photos: int = 0
    photos_lost: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    seconds: float = 0.0

    @property
    def sound(self) -> bool:
        """Whether nothing was lost and nothing is wrong."""
        return (
            self.kills > 0 and self.acknowledged > 0 and not (self.lost or self.photos_lost or self.problems)
        )


def options(parser: argparse.ArgumentParser) -> None:
    """What may be asked for."""
    parser.add_argument("--count", type=int, default=1000, help="kills on each kind of database")
    parser.add_argument("--on", choices=("both", "file", "server"), default="both")
    parser.add_argument("--seed", type=int, default=1)


def run(asked: argparse.Namespace) -> Iterator[Outcome]:
    """The kills asked for, on each kind of database."""
    for kind in ("file", "server") if asked.on == "both" else (asked.on,):
        with ExitStack() as stack:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="bellhousing-kills-")))
            server = stack.enter_context(Server(safe=True)) if kind == "server" else None
            place = str(folder / "shop.sqlite") if server is None else server.address(server.new_database())
            yield kill_writers(place, folder / "photos", asked.count, asked.seed, server)


def kill_writers(place: str, photos: Path, count: int, seed: int, server: Server | None) -> Outcome:
    """Kill writers so many times and look after each time."""
    chance = random.Random(seed)
    began = time.monotonic()
    outcome = Outcome("file" if server is None else "server", seed)
    with open_store(place) as store:
        store.add_car(Car(slug="car", name="Car", box="box-a"))
        store.open_job("car", complaint="none", at=AT, who="m")
    said: set[str] = set()
    turn = 0
    while outcome.kills < count:
        turn += 1
        writers = [
            _start(place, photos, f"{turn}.{number}") for number in range(min(WRITERS, count - outcome.kills))
        ]
        firsts = [_first_word(pipe) for _, pipe in writers]
        time.sleep(chance.random() * LONGEST_LIFE)
        if server is not None and turn % (SERVER_TOO // WRITERS) == 0:
            server.kill()
            outcome.servers_killed += 1
        for process, _ in writers:
            os.kill(process, signal.SIGKILL)
            outcome.kills += 1
        for (process, pipe), first in zip(writers, firsts, strict=True):
            _, status = os.waitpid(process, 0)
            if not first:
                outcome.problems.append(f"a writer of turn {turn} kept nothing, ended with {status}")
            said.update(_words(first + _rest(pipe)))
        if server is not None and outcome.servers_killed and turn % (SERVER_TOO // WRITERS) == 0:
            server.start()
        _look(place, photos, said, outcome)
        if outcome.problems or outcome.lost:
            break
    outcome.acknowledged = len(said)
    outcome.seconds = round(time.monotonic() - began, 1)
    return outcome


def _start(place: str, photos: Path, name: str) -> tuple[int, int]:
    """A writer in a process of its own; its number, and the pipe it acknowledges through."""
    reading, writing = os.pipe()
    process = os.fork()
    if process:
        os.close(writing)
        return process, reading
    os.close(reading)
    try:
        with open_store(place) as store:
            _write(store, PhotoFiles(photos), name, writing)
    except BaseException as error:
        # A server that was killed takes its writers with it; anything else shows as a word never said.
        if not isinstance(error, RecordError):
            print(f"writer {name}: {error!r}", file=sys.stderr, flush=True)
    finally:
        os._exit(9)


def _write(store: Store, files: PhotoFiles, name: str, pipe: int) -> None:
    number = 0
    while True:
        number += 1
        word = f"{name}.{number}"
        if number % PHOTO_EACH == 0:
            data = _picture(word)
            picture = read_picture(data, "photo.png")
            digest = files.keep(data, picture)
            file = PhotoFile(digest=digest, kind=picture.kind, size=len(data), width=picture.width,
                             height=picture.height, taken=None, name=word)  # fmt: skip
            store.photos.add(1, file, Place(caption=word), at=AT, who=name, key=word)
        else:
            store.add_finding(1, Entry(said=word), at=AT, who=name, key=word)
        os.write(pipe, f"{word}\n".encode())


def _picture(word: str) -> bytes:
    chance = random.Random(word)
    buffer = io.BytesIO()
    Image.frombytes("RGB", (16, 16), chance.randbytes(768)).save(buffer, "PNG")
    return buffer.getvalue()


def _first_word(pipe: int) -> bytes:
    return os.read(pipe, 65536)


def _rest(pipe: int) -> bytes:
    found = b""
    while more := os.read(pipe, 65536):
        found += more
    os.close(pipe)
    return found


def _words(sent: bytes) -> list[str]:
    # A word is acknowledged when its whole line came through.
    return sent.decode().split("\n")[:-1]


def _look(place: str, photos: Path, said: set[str], outcome: Outcome) -> None:
    """Read everything through as somebody who opens the shop again would."""
    with suppress(RecordError), open_store(place) as store:
        outcome.problems += store.problems()
        entries = store.photos.entries()
        kept = {entry.said for entry in store.findings(1)} | {entry.place.caption for entry in entries}
        outcome.lost = sorted(said - kept)
        outcome.kept_but_not_acknowledged = len(kept - said)
        checked = PhotoFiles(photos).check((entry.file.digest, entry.file.kind) for entry in entries)
        outcome.photos = len(entries)
        outcome.photos_lost = [*checked.missing, *checked.changed]
        return
    outcome.problems.append("the records cannot be opened any more")
