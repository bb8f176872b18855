"""Prepared models, kept in memory and on disk so that a box and car are worked out once."""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
import threading
from collections import OrderedDict
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare

SEED = 1
CARS = 160
MOST_FILES = 8
MOST_IN_MEMORY = 4
ROOMS = ("quantities", "geartrain", "hydraulics", "friction", "boxes", "road", "diagnosis")


def cache_folder() -> Path:
    """Folder of the user's own for what can always be worked out again; BELLHOUSING_CACHE overrides it."""
    chosen = os.environ.get("BELLHOUSING_CACHE")
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "bellhousing"


@cache
def program_digest() -> str:
    """Digest of every program and data file a prepared model depends on, so that none outlives its maker."""
    digest = hashlib.sha256()
    for room in ROOMS:
        _digest_folder(resources.files("bellhousing") / room, room, digest)
    return digest.hexdigest()


def _digest_folder(folder: Traversable, name: str, digest: hashlib._Hash) -> None:
    for entry in sorted(folder.iterdir(), key=lambda item: item.name):
        if entry.is_dir() and entry.name != "__pycache__":
            _digest_folder(entry, f"{name}/{entry.name}", digest)
        elif entry.name.endswith((".py", ".yaml")):
            digest.update(f"{name}/{entry.name}\n".encode())
            digest.update(entry.read_bytes())


def preparation_key(
    box: Box, car: CarFacts, catalogue: Catalogue, *, seed: int = SEED, cars: int = CARS
) -> str:
    """Digest of everything a prepared model depends on."""
    facts = (
        program_digest(),
        box.digest,
        catalogue.digest,
        repr(float(car.axle_ratio)),
        repr(float(car.tyre_radius)),
        repr(float(car.altitude)),
        str(seed),
        str(cars),
    )
    return hashlib.sha256("\n".join(facts).encode()).hexdigest()


class Preparation:
    """Hands out prepared models: from memory, else from disk, else worked out and kept in both.

    A file on disk that cannot be read is put aside and worked out again; a folder that cannot be
    written costs time, never the answer.
    """

    def __init__(self, catalogue: Catalogue, folder: Path | None = None) -> None:
        self.catalogue = catalogue
        self.folder = cache_folder() if folder is None else folder
        self._memory: OrderedDict[str, Prepared] = OrderedDict()
        self._locks: dict[str, threading.Lock] = {}
        self._guard = threading.Lock()

    def prepared(self, box: Box, car: CarFacts, *, seed: int = SEED, cars: int = CARS) -> Prepared:
        """The prepared model of one box in one car."""
        key = preparation_key(box, car, self.catalogue, seed=seed, cars=cars)
        with self._guard:
            lock = self._locks.setdefault(key, threading.Lock())
        with lock:
            found = self._memory.get(key)
            if found is None:
                found = self._worked_out(key, box, car, seed, cars)
            self._remember(key, found)
            return found

    def _remember(self, key: str, prepared: Prepared) -> None:
        with self._guard:
            self._memory[key] = prepared
            self._memory.move_to_end(key)
            while len(self._memory) > MOST_IN_MEMORY:
                self._memory.popitem(last=False)

    def _worked_out(self, key: str, box: Box, car: CarFacts, seed: int, cars: int) -> Prepared:
        path = self.folder / f"{key}.prepared"
        try:
            if path.is_file():
                return prepare(box, car, self.catalogue, seed=seed, cars=cars, cache=path)
        except OSError:
            # The cache cannot be read or mended: the answer does not depend on it.
            pass
        prepared = prepare(box, car, self.catalogue, seed=seed, cars=cars)
        self._keep(path, prepared)
        return prepared

    def _keep(self, path: Path, prepared: Prepared) -> None:
        try:
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            with tempfile.TemporaryDirectory(dir=self.folder, prefix="writing-") as draft:
                written = Path(draft) / path.name
                prepared.save(written)
                written.replace(path)
            self._thin_out()
        except OSError:
            return

    def _thin_out(self) -> None:
        files = sorted(self.folder.glob("*.prepared"), key=lambda path: path.stat().st_mtime, reverse=True)
        for path in files[MOST_FILES:]:
            path.unlink(missing_ok=True)
