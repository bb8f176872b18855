"""A shop: its records, its folder, its clock, and what is loaded once for all its jobs."""

from __future__ import annotations

import copy
import os
import re
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import is_shipped, load_box
from bellhousing.diagnosis.adjusting import Bench, bench
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.learning import learnt
from bellhousing.diagnosis.prepare import CarFacts, Prepared, with_figures
from bellhousing.diagnosis.tally import added
from bellhousing.errors import BellhousingError, BoxFileError, RecordError
from bellhousing.quantities.units import shortened
from bellhousing.records.closing import Closing
from bellhousing.records.entries import Car
from bellhousing.records.store import Store, open_store
from bellhousing.tasks import counting
from bellhousing.tasks.counting import OwnCount
from bellhousing.tasks.hearing import Listener
from bellhousing.tasks.preparation import MOST_IN_MEMORY, Preparation
from bellhousing.tasks.reckoning import Reckonings
from bellhousing.tasks.shipped import shipped_catalogue

if TYPE_CHECKING:
    from bellhousing.records.phrases import Phrases

Clock = Callable[[], datetime]
RECORDS = "records.sqlite"
BACKUPS = "backups"
MOVED = "records-moved-to"
# Who did it, where nobody said a name.
UNNAMED = "shop"
OWN_BOX = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
BOXES = "boxes"
"""Folder of the shop's own box files, each named by the box's slug."""


def now() -> datetime:
    """The present moment in UTC."""
    return datetime.now(UTC)


def default_folder() -> Path:
    """The user's own folder for a shop's data."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return base / "bellhousing"


@dataclass
class Shop(Closing):
    """Everything a task needs: the store, its folder, the clock, the catalogue, prepared models."""

    store: Store
    folder: Path
    clock: Clock = now
    catalogue: Catalogue = field(default_factory=shipped_catalogue)
    cache: Path | None = None
    who: str = UNNAMED
    # Whether a box may be named by any file of this machine, as only somebody who sits at it may.
    names_files: bool = True
    reckonings: Reckonings = field(default_factory=Reckonings, repr=False)
    _benches: dict[str, Bench] = field(default_factory=dict, repr=False)
    # What was learnt, by the mark it was learnt at: one entry, shared by every view of the shop.
    _learnt: dict[tuple[int, int], dict[str, Catalogue]] = field(default_factory=dict, repr=False)
    _informed: dict[tuple[str, str], Prepared] = field(default_factory=dict, repr=False)
    _boxes: dict[tuple[str, int], Box] = field(default_factory=dict, repr=False)
    _guard: threading.Lock = field(default_factory=threading.Lock, repr=False)

    def close(self) -> None:
        """Let go of the records."""
        self.store.close()

    def signed_as(self, name: str) -> Shop:
        """The same shop in the hands of a person on the network, whose name stands at all that is written."""
        # Shared by both, so they must be there before the one is made from the other.
        _ = self.preparation, self.listener, self.own_count, self.phrases, self.signing_key
        signed = copy.copy(self)
        signed.who = name
        signed.names_files = False
        return signed

    def signed(self, who: str) -> str:
        """The name to write: the one that was said, or whoever has the shop in hands."""
        return self.who if who == UNNAMED else who

    @cached_property
    def preparation(self) -> Preparation:
        """Prepared models, in memory and on disk."""
        return Preparation(self.catalogue, self.cache)

    @cached_property
    def own_count(self) -> OwnCount:
        """What the shop's own closed jobs hold."""
        return OwnCount(self.catalogue, self.kind_of_box)

    @cached_property
    def listener(self) -> Listener:
        """The reader of notes."""
        return Listener.of(self.catalogue)

    @cached_property
    def phrases(self) -> Phrases:
        """The maker of hashes of pass phrases."""
        # Only a shop that is open to others needs it.
        from bellhousing.records.phrases import Phrases

        return Phrases()

    @cached_property
    def signing_key(self) -> bytes:
        """The key that signs sessions."""
        return self.store.access.doors.signing_key()

    def box(self, name: str) -> Box:
        """The box of a name or path, the shop's own before those that come with the program; read once as
        long as its file does not change.

        Raises
        ------
        BoxFileError : no such box, or a file that cannot be used.
        """
        own = self.folder / BOXES / f"{name}.yaml"
        if not self.names_files:
            self._need_known(name, own)
        try:
            if OWN_BOX.fullmatch(name) and own.is_file():
                name = str(own)
            changed = Path(name).stat().st_mtime_ns
        except (OSError, ValueError):
            changed = 0
        with self._guard:
            if (name, changed) not in self._boxes:
                self._boxes[name, changed] = load_box(name)
            return self._boxes[name, changed]

    def _need_known(self, name: str, own: Path) -> None:
        # What is wrong with a file is told line by line, so files of this machine are not read for others.
        known = is_shipped(name) or (OWN_BOX.fullmatch(name) and os.path.isfile(own))
        if not known and all(car.box != name for car in self.store.cars()):
            raise BoxFileError(
                "there is no box of that name here",
                where=shortened(name, 60),
                remedy="take one of the list of boxes; a file is named at the shop's own machine",
            )

    @staticmethod
    def facts_of(car: Car) -> CarFacts:
        """What of a car bears on its shift speeds; the usual figure where none is known."""
        known = {
            "axle_ratio": car.axle_ratio,
            "tyre_radius": car.tyre_radius_m,
            "altitude": car.altitude_m,
        }
        return CarFacts(**{name: value for name, value in known.items() if value is not None})

    def kind_of(self, slug: str) -> str | None:
        """The kind of box in a car of the shop, None where its box can no longer be used."""
        try:
            return self.kind_of_box(self.store.car(slug).box)
        except BellhousingError:
            return None

    def kind_of_box(self, name: str) -> str | None:
        """The kind of a box of a name or path, None where it can no longer be used."""
        try:
            return self.box(name).kind
        except BellhousingError:
            return None

    def learnt(self, kind: str) -> Catalogue | None:
        """The catalogue for a kind of box with what closed jobs taught, None where they taught nothing."""
        mark = self.store.learning_mark()
        with self._guard:
            if mark in self._learnt:
                return self._learnt[mark].get(kind)
        state = counting.decided(self.store.learning_events())
        own = self.own_count.tally(self.store, state) if state.own else {}
        total = added([own, *counting.taken_in(self.catalogue, state).values()])
        found = {name: learnt(self.catalogue, counts, name)[0] for name, counts in total.items()}
        with self._guard:
            self._learnt.clear()
            self._learnt[mark] = found
        return found.get(kind)

    def prepared(self, car: Car) -> Prepared:
        """The prepared model of a car of the shop, with what closed jobs taught."""
        box = self.box(car.box)
        prepared = self.preparation.prepared(box, self.facts_of(car))
        catalogue = self.learnt(box.kind)
        if catalogue is None:
            return prepared
        key = (prepared.key, catalogue.digest)
        with self._guard:
            found = self._informed.get(key)
        if found is None:
            found = with_figures(prepared, catalogue)
            with self._guard:
                while len(self._informed) >= MOST_IN_MEMORY:
                    self._informed.pop(next(iter(self._informed)))
                self._informed[key] = found
        return found

    def bench(self, prepared: Prepared) -> Bench:
        """The cars of a prepared model at every setting of their adjustment, worked out once."""
        with self._guard:
            found = self._benches.get(prepared.key)
        if found is None:
            found = bench(prepared)
            with self._guard:
                while len(self._benches) >= MOST_IN_MEMORY:
                    self._benches.pop(next(iter(self._benches)))
                self._benches[prepared.key] = found
        return found


def open_shop(
    folder: Path, *, clock: Clock = now, cache: Path | None = None, records: str | None = None
) -> Shop:
    """Open the shop whose data lie in a folder, making both if they are new.

    `records` is the address of a database elsewhere, which several programs may share; without it they are
    kept in the folder.

    Raises
    ------
    RecordError : a folder that cannot be made, or records that cannot be used.
    """
    try:
        if folder.exists() and not folder.is_dir():
            raise RecordError(
                "a shop is kept in a folder, and this is a file",
                where=str(folder),
                remedy=f"name the folder with --shop; the records lie in it as {RECORDS}",
            )
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise RecordError(
            f"the shop's folder cannot be made: {getattr(error, 'strerror', None) or error}",
            where=shortened(str(folder), 200),
            remedy="name a folder you may write to with --shop",
        ) from None
    # The settings are read with a shop in hands.
    from bellhousing.tasks.settings_terms import settings_or_usual

    need_here(folder, records)
    store = open_store(records or folder / RECORDS, copies=folder / BACKUPS)
    shop = Shop(store, folder, clock=clock, cache=cache)
    shop.who = settings_or_usual(shop).who or UNNAMED
    return shop


def need_here(folder: Path, records: str | None) -> None:
    """Refuse a folder whose records were moved to a server, when no server is named.

    Raises
    ------
    RecordError : they were moved; it says where to.
    """
    marker = folder / MOVED
    if records is None and marker.is_file():
        raise RecordError(
            f"the records of this shop were moved to {marker.read_text('utf-8').strip()[:200]}",
            where=str(folder),
            remedy="give that address with --records, or set BELLHOUSING_RECORDS",
        )
