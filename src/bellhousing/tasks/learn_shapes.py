"""The shapes of what a shop has learnt, as every door hands them out."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class LearnMoved(Shape):
    """One figure before and after: `what` says it in words; chances, and the standard deviation left."""

    what: str
    kind: str
    cause: str | None
    finding: str | None
    state: str | None
    before: float
    after: float
    spread: float
    counted: int
    of: int


class LearnKind(Shape):
    """What was learnt of one kind of box; `cars` counts the shop's own closed jobs and those of tallies."""

    kind: str
    cars: int
    own: int
    digest: str
    moved: tuple[LearnMoved, ...]


class LearnJob(Shape):
    """A closed job that is learnt from, or was told to be forgotten."""

    job: int
    car: str
    causes: tuple[str, ...]
    forgotten: bool


class LearnTally(Shape):
    """A tally taken in, by the digest of what it says."""

    digest: str
    cars: int
    counts: bool


class LearnAnswer(Shape):
    """What closed jobs have taught: what is used, what moved and by how much."""

    own_used: bool
    kinds: tuple[LearnKind, ...]
    jobs: tuple[LearnJob, ...]
    tallies: tuple[LearnTally, ...]
    prior: str
    said: str = ""
