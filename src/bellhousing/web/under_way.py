"""Logs being read right now: how far, and whether whoever sent one wants it stopped."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event, Lock

NAMES = re.compile(r"[0-9a-z-]{8,64}")
"""What a page may call a reading."""

MOST = 64
"""Readings under way that are followed; more are read all the same, but not shown."""


@dataclass
class Reading:
    """One log under way: bytes gone through, bytes to go through, and the wish to stop."""

    done: int = 0
    total: int = 0
    stopped: Event = field(default_factory=Event)

    def progress(self, done: int, total: int) -> None:
        """Takes down how far the reading is."""
        self.done, self.total = done, total


@dataclass
class UnderWay:
    """The readings of one app, each under the name its page gave it."""

    _readings: dict[str, Reading] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    @contextmanager
    def followed(self, name: str) -> Iterator[Reading]:
        """A reading that can be asked after and stopped while the block runs."""
        reading = Reading()
        with self._lock:
            shown = bool(NAMES.fullmatch(name)) and name not in self._readings and len(self._readings) < MOST
            if shown:
                self._readings[name] = reading
        try:
            yield reading
        finally:
            if shown:
                with self._lock:
                    del self._readings[name]

    def find(self, name: str) -> Reading | None:
        """The reading under way of that name."""
        with self._lock:
            return self._readings.get(name)
