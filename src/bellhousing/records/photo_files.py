"""Files of photos in a folder beside the records, named by their SHA-256, written whole or not at all.

Originals are kept byte for byte and never removed; copies can be made again from them.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from bellhousing.errors import RecordError
from bellhousing.records.kept_files import settle, written_whole
from bellhousing.records.pictures import SUFFIXES, Picture, read_picture

FOLDER = "photos"
ORIGINALS, COPIES = "originals", "copies"
SIZES = ("small", "large")
PARTIAL = ".part"
DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class FileCheck:
    """What is wrong with the originals: digests missing, digests whose bytes changed, files of no entry."""

    missing: tuple[str, ...]
    changed: tuple[str, ...]
    unknown: tuple[Path, ...]


class PhotoFiles:
    """The photos in one folder; safe to share between threads and programs."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def original(self, digest: str, kind: str) -> Path:
        """Where the photo lies as it came from the camera."""
        _need_digest(digest)
        return self.folder / ORIGINALS / digest[:2] / f"{digest}{SUFFIXES[kind]}"

    def keep(self, data: bytes, picture: Picture) -> str:
        """Keep a photo and its copies; the same one again is kept once, and a damaged one is mended.

        Returns its digest.

        Raises
        ------
        RecordError : the folder cannot be written to, or the disk is full.
        """
        digest = hashlib.sha256(data).hexdigest()
        path = self.original(digest, picture.kind)
        try:
            if not path.exists() or _digest_of(path) != digest:
                _write(path, data)
            self._keep_copies(digest, picture)
        except OSError as error:
            raise RecordError(
                f"the photo cannot be kept: {error.strerror or error}",
                where=str(self.folder),
                remedy="nothing was noted; give yourself the right to write there, or make room on the disk",
            ) from error
        return digest

    def read(self, digest: str, kind: str) -> bytes:
        """A photo as it came from the camera, with its bytes checked.

        Raises
        ------
        RecordError : it is missing or was changed.
        """
        path = self.original(digest, kind)
        try:
            data = path.read_bytes()
        except OSError as error:
            raise _gone(path, error) from error
        if hashlib.sha256(data).hexdigest() != digest:
            raise RecordError(
                "the photo's file was changed or damaged",
                where=str(path),
                remedy="put back the last good copy",
            )
        return data

    def path(self, digest: str, kind: str, size: str) -> Path:
        """The file of a photo: "original", or the "small" or "large" copy, made again where it is gone.

        Raises
        ------
        RecordError : there is no such size, the original is missing or was changed.
        """
        if size == "original":
            path = self.original(digest, kind)
            if not path.is_file():
                raise _gone(path, None)
            return path
        if size not in SIZES:
            raise RecordError(
                "there is no such size of a photo", where=size, remedy="small, large or original"
            )
        path = self._copy(digest, size)
        if not path.is_file():
            data = self.read(digest, kind)
            self._keep_copies(digest, read_picture(data, path.name))
        return path

    def check(self, known: Iterable[tuple[str, str]]) -> FileCheck:
        """Read every original through; `known` are the digests and kinds the records speak of."""
        missing, changed = [], []
        expected = {}
        for digest, kind in sorted(set(known)):
            path = self.original(digest, kind)
            expected[path] = digest
            try:
                if _digest_of(path) != digest:
                    changed.append(digest)
            except OSError:
                missing.append(digest)
        there = (self.folder / ORIGINALS).glob("*/*")
        unknown = [path for path in there if path not in expected and path.suffix != PARTIAL]
        return FileCheck(tuple(missing), tuple(changed), tuple(sorted(unknown)))

    def _copy(self, digest: str, size: str) -> Path:
        _need_digest(digest)
        return self.folder / COPIES / digest[:2] / f"{digest}-{size}.jpg"

    def _keep_copies(self, digest: str, picture: Picture) -> None:
        for size, data in (("small", picture.small), ("large", picture.large)):
            path = self._copy(digest, size)
            if not path.exists():
                _write(path, data)


def _write(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole, on the disk, or not there at all."""
    with written_whole(path) as stream:
        stream.write(data)
    # The folder's own name may be new too.
    for folder in list(path.parents)[:3]:
        settle(folder)


def _digest_of(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _need_digest(digest: str) -> None:
    # A digest becomes a path, so nothing else may pass for one.
    if DIGEST.fullmatch(digest) is None:
        raise RecordError("that does not name a photo", where=digest[:80])


def _gone(path: Path, error: OSError | None) -> RecordError:
    why = "" if error is None or error.strerror is None else f", {error.strerror}"
    return RecordError(
        f"the photo's file is missing{why}",
        where=str(path),
        remedy="put back the last good copy of the folder",
    )
