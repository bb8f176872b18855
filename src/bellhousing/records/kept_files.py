"""Files kept once under the SHA-256 of their bytes, and which files a shop's folder holds."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from secrets import token_hex
from typing import BinaryIO

from bellhousing.errors import RecordError

PIECE = 1024 * 1024
PARTIAL = (".part", ".new")
# What can be made again, what is kept otherwise, and what was put aside.
LEFT_OUT = ("photos/copies", "backups")
ASIDE = "before-"
RECORDS = "records.sqlite"


@dataclass(frozen=True)
class KeptFile:
    """A file of a shop's folder: its path in it, its bytes, their SHA-256."""

    path: str
    size: int
    digest: str


def files_in(folder: Path) -> Iterator[str]:
    """The paths of a shop's own files in its folder, sorted; the database itself is not among them."""
    for place, folders, names in os.walk(folder):
        within = PurePosixPath(Path(place).relative_to(folder).as_posix())
        folders[:] = sorted(
            name for name in folders if str(within / name) not in LEFT_OUT and not name.startswith(ASIDE)
        )
        for name in sorted(names):
            path = Path(place) / name
            ours = place == str(folder) and name.startswith((RECORDS, ASIDE))
            if not ours and path.suffix not in PARTIAL and path.is_file() and not path.is_symlink():
                yield str(within / name)


def digest_of(path: Path) -> tuple[int, str]:
    """The bytes of a file and their SHA-256."""
    with path.open("rb") as stream:
        found = hashlib.file_digest(stream, "sha256").hexdigest()
        return stream.tell(), found


def safe_path(text: str) -> PurePosixPath:
    """A path that stays below the folder it is put in.

    Raises
    ------
    RecordError : it does not.
    """
    path = PurePosixPath(text)
    strange = any(part in ("", ".", "..") or part != part.strip() for part in text.split("/"))
    if (
        strange
        or path.is_absolute()
        or "\\" in text
        or ":" in text
        or not text.isprintable()
        or len(text) > 400
    ):
        raise RecordError("a file in it has no place it could go", where=text[:80])
    return path


def copy_whole(source: Path, target: Path) -> KeptFile:
    """Copy a file so that the copy is there whole, on the disk, or not at all."""
    digest, size = hashlib.sha256(), 0
    with written_whole(target) as right, source.open("rb") as left:
        while piece := left.read(PIECE):
            digest.update(piece)
            size += len(piece)
            right.write(piece)
    settle(target.parent)
    return KeptFile(target.name, size, digest.hexdigest())


@contextmanager
def written_whole(target: Path) -> Iterator[BinaryIO]:
    """A new file that is there whole, on the disk, or not at all; its name is yet to be settled."""
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(f"{target.name}.{token_hex(6)}.part")
    try:
        with part.open("xb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(target)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise


def write_whole(data: bytes, target: Path) -> None:
    """Write a small file so that it is there whole, on the disk, or as it was before."""
    with written_whole(target) as stream:
        stream.write(data)
    settle(target.parent)


def settle(folder: Path) -> None:
    """See to it that the names in a folder outlive a loss of power."""
    if os.name != "posix":
        return  # elsewhere a folder cannot be opened, and the rename itself is settled by the system
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


class KeptFiles:
    """A folder of files named by their content; the same bytes are kept once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, digest: str) -> Path:
        """Where the bytes of a digest lie."""
        return self.folder / digest[:2] / digest

    def keep(self, source: Path, path: str) -> KeptFile:
        """Keep a copy of a file, unless the same bytes are kept already."""
        size, digest = digest_of(source)
        there = self.path(digest)
        if not (there.is_file() and there.stat().st_size == size):
            # Copied under the digest of what was read then; a file that grew meanwhile is kept as it grew.
            copied = copy_whole(source, there.with_name(f"{digest}.coming"))
            size, digest = copied.size, copied.digest
            there.with_name(copied.path).replace(self._made(digest))
        return KeptFile(path, size, digest)

    def is_whole(self, kept: KeptFile) -> bool:
        """Whether the bytes are there as they were kept."""
        try:
            return digest_of(self.path(kept.digest)) == (kept.size, kept.digest)
        except OSError:
            return False

    def forget_all_but(self, digests: Collection[str]) -> int:
        """Remove what no backup speaks of any more; how many files went."""
        gone = 0
        for path in self.folder.glob("*/*"):
            if path.name not in digests:
                path.unlink(missing_ok=True)
                gone += 1
        return gone

    def _made(self, digest: str) -> Path:
        path = self.path(digest)
        path.parent.mkdir(parents=True, exist_ok=True)
        return path
