"""Work a shop can do: which faults it puts right, what it costs, and what shares the way to it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.catalogue import parsed
from bellhousing.errors import CatalogueError

IN_CAR, PAN_OFF, BOX_OUT = 0, 1, 2
ACCESS = ("in-car", "pan-off", "box-out")
"""How far the car is taken apart, least first."""

REQUIRED = {"id", "name", "access", "hours", "parts", "parts_worth", "cures", "come_back", "cautions"}
OPTIONAL = {"families", "shared", "cures_all_of", "while_open", "exchange"}


@dataclass(frozen=True)
class Work:
    """One piece of work as it is decided and paid: all times in hours [h].

    `hours` is the whole of it by itself; `shared` what it takes when the way is open already (the pan off,
    the box on the bench; for work in the car, when the box is out). `parts_worth` is the usual price of the
    parts in hours of labour. `come_back` is the chance that a fault returns or was not reached.
    """

    id: str
    name: str
    families: tuple[str, ...]
    access: str
    hours: float
    shared: float
    parts: tuple[str, ...]
    parts_worth: float
    cures: frozenset[str]
    come_back: float
    cautions: tuple[str, ...]
    while_open: str
    exchange: bool

    @property
    def depth(self) -> int:
        """How far the car is taken apart: 0 in the car, 1 pan off, 2 box out."""
        return ACCESS.index(self.access)

    @property
    def opening(self) -> float:
        """Hours that go into the way to it and back [h]; none for work in the car."""
        return 0.0 if self.depth == IN_CAR else self.hours - self.shared

    def hours_at(self, depth: int) -> float:
        """Hours of the work itself when the car is taken apart so far, the way not counted [h]."""
        return self.hours if self.depth == IN_CAR and depth < BOX_OUT else self.shared


@cache
def load_works(parse: Callable[[str], Any] = parsed) -> Mapping[str, Work]:
    """Read the shipped works; `parse` makes data of the text of the file.

    Raises
    ------
    CatalogueError : a work that contradicts itself, naming it.
    """
    path = resources.files("bellhousing.diagnosis") / "catalogue" / "works.yaml"
    works: dict[str, Work] = {}
    for row in parse(path.read_text(encoding="utf-8")):
        work = _work(row, works)
        if work.id in works:
            raise CatalogueError("a work is there twice", where=work.id)
        works[work.id] = work
    return works


def works_of(works: Mapping[str, Work], family: str, faults: Iterable[str]) -> tuple[Work, ...]:
    """The works of one family of boxes that put right at least one of some faults."""
    wanted = frozenset(faults)
    return tuple(
        work for work in works.values() if family in work.families and not wanted.isdisjoint(work.cures)
    )


def _work(row: Mapping[str, Any], before: Mapping[str, Work]) -> Work:
    where = str(row.get("id"))
    amiss = (set(row) - REQUIRED - OPTIONAL) | (REQUIRED - set(row))
    if amiss:
        raise CatalogueError(f"keys missing or unknown: {', '.join(sorted(amiss))}", where=where)
    cures = set(row["cures"])
    for name in row.get("cures_all_of") or ():
        if name not in before:
            raise CatalogueError(f"'{name}' must stand before it", where=where)
        cures |= before[name].cures
    hours = float(row["hours"])
    work = Work(
        id=row["id"],
        name=row["name"],
        families=tuple(row.get("families") or FAMILIES),
        access=row["access"],
        hours=hours,
        shared=float(row.get("shared", hours)),
        parts=tuple(row["parts"]),
        parts_worth=float(row["parts_worth"]),
        cures=frozenset(cures),
        come_back=float(row["come_back"]),
        cautions=tuple(row["cautions"]),
        while_open=row.get("while_open", ""),
        exchange=bool(row.get("exchange", False)),
    )
    if work.access not in ACCESS:
        raise CatalogueError(f"access must be one of {', '.join(ACCESS)}", where=where)
    if not (0.0 < work.shared <= work.hours and 0.0 <= work.come_back < 1.0 and work.parts_worth >= 0.0):
        raise CatalogueError("its hours, price or chance of a come-back cannot be", where=where)
    if not cures:
        raise CatalogueError("it puts nothing right", where=where)
    return work
