"""Everything the records hold about who may come in: people, the door, links for owners."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager

from sqlalchemy import Connection

from bellhousing.records.doors import Doors
from bellhousing.records.people import People
from bellhousing.records.shares import Shares

Transaction = Callable[[], AbstractContextManager[Connection]]


class Access:
    """People, sessions and failures, links."""

    def __init__(self, reading: Transaction, writing: Transaction) -> None:
        self.people = People(reading, writing)
        self.doors = Doors(reading, writing)
        self.shares = Shares(reading, writing)
