"""Hashes of pass phrases for the tests' invented shops, cheap where a real shop's are dear."""

from __future__ import annotations

from argon2 import PasswordHasher, Type

from bellhousing.records.phrases import Phrases


def quick_phrases() -> Phrases:
    """Hashes that protect nothing, for shops that live for minutes."""
    return Phrases(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1, type=Type.ID))
