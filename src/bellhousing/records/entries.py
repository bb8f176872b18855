"""The records as the rest of the program sees them: frozen, plain, and without a word of SQL.

Figures are SI and carry their unit in the name; times are aware and in UTC.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol, TypeVar

JobStatus = str
OPEN: JobStatus = "open"
CLOSED: JobStatus = "closed"


@dataclass(frozen=True)
class OdometerReading:
    """What the odometer showed, when it was read, and who noted it."""

    at: datetime
    distance_m: float
    who: str = ""


@dataclass(frozen=True, kw_only=True)
class Car:
    """A car the shop knows; `slug` names it in commands and addresses, `box` is a library name or a path.

    `who` added it, empty on cars of before names were kept.
    """

    slug: str
    name: str
    box: str
    note: str = ""
    owner: str | None = None
    axle_ratio: float | None = None
    tyre_radius_m: float | None = None
    altitude_m: float | None = None
    who: str = ""
    odometer: tuple[OdometerReading, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Job:
    """One visit of one car; `complaint` is verbatim, `status` is "open" or "closed"."""

    number: int
    car: str
    opened_at: datetime
    complaint: str
    odometer_m: float | None
    status: JobStatus


@dataclass(frozen=True, kw_only=True)
class StatusChange:
    """A job being opened, closed or opened again: when, by whom, and with what reason.

    `who` is empty on what was written before names were kept.
    """

    at: datetime
    status: JobStatus
    note: str
    who: str


@dataclass(frozen=True, kw_only=True)
class ClosedJob:
    """A job that stands closed with its causes confirmed, by their slugs."""

    number: int
    car: str
    causes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LearningEvent:
    """Something decided about learning: what, by whom, of which job or tally, with its plain data."""

    id: int
    at: datetime
    event: str
    job: int | None
    digest: str | None
    data: Mapping[str, Any]
    who: str


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What was said and what was understood by it; without `finding` it is a plain note.

    A finding is either one or more `states` (more than one: the words left it open), a `word` for a
    reading that was not measured, or `value_si` with `unit` as entered and its `standard_uncertainty` [SI].
    """

    said: str
    finding: str | None = None
    states: tuple[str, ...] = ()
    word: str | None = None
    value_si: float | None = None
    unit: str | None = None
    standard_uncertainty: float | None = None
    unit_assumed: bool = False
    conditions: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Finding(Entry):
    """An entry as it stands in the job's book; `supersedes` is the entry it corrects or withdraws."""

    id: int
    job: int
    at: datetime
    who: str
    supersedes: int | None = None
    withdrawn: bool = False
    key: str | None = None


class _Kept(Protocol):
    """What a chain of corrections is made of."""

    @property
    def id(self) -> int: ...
    @property
    def supersedes(self) -> int | None: ...
    @property
    def withdrawn(self) -> bool: ...


KeptT = TypeVar("KeptT", bound=_Kept)


def last_of_chains(entries: Iterable[KeptT]) -> tuple[KeptT, ...]:
    """The last entry of each chain of corrections, without those withdrawn, of entries in the order kept.

    Each keeps the place of the entry it corrects, so that a corrected list reads in the order noted.
    """
    standing: dict[int, KeptT] = {}
    first: dict[int, int] = {}
    for entry in entries:
        root = entry.id if entry.supersedes is None else first[entry.supersedes]
        first[entry.id] = root
        if entry.withdrawn:
            del standing[root]
        else:
            standing[root] = entry
    return tuple(standing.values())


@dataclass(frozen=True, kw_only=True)
class Conclusion:
    """What the inference made of a job's findings, with all it takes to work it out again.

    `findings` are the ids of the entries used, `causes` the ranked causes as plain data, `neglected` the
    probability left out of the enumeration [1].
    """

    findings: tuple[int, ...]
    seed: int
    box: str
    box_digest: str
    catalogue_digest: str
    program_version: str
    causes: tuple[Mapping[str, Any], ...]
    neglected: float
    details: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Verdict(Conclusion):
    """A conclusion as it was kept."""

    id: int
    job: int
    at: datetime
