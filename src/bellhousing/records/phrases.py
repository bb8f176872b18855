"""Hashes of pass phrases: argon2id, RFC 9106, each with its own salt.

Each takes 64 MiB for a moment, so only a few are worked out at a time.
"""

from __future__ import annotations

import secrets
import threading
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError
from argon2.profiles import RFC_9106_LOW_MEMORY

AT_ONCE = 2


class Phrases:
    """Makes and checks hashes, a few at a time."""

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)
        self._turn = threading.BoundedSemaphore(AT_ONCE)

    @property
    def decoy(self) -> str:
        """A hash of nobody's pass phrase, as dear to check as a real one."""
        return _decoy(self._hasher)

    def hashed(self, phrase: str) -> str:
        """The hash of a pass phrase with its salt and parameters."""
        with self._turn:
            return self._hasher.hash(phrase)

    def matches(self, kept: str | None, phrase: str) -> bool:
        """Whether a phrase is the one of a hash; where there is no hash, as long is taken to say no."""
        with self._turn:
            try:
                self._hasher.verify(self.decoy if kept is None else kept, phrase)
            except (Argon2Error, InvalidHashError):
                return False
        return kept is not None

    def is_weak(self, kept: str) -> bool:
        """Whether a hash was made with parameters weaker than today's."""
        return self._hasher.check_needs_rehash(kept)


@cache
def _decoy(hasher: PasswordHasher) -> str:
    return hasher.hash(secrets.token_hex(16))
