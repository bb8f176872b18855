"""One hole with its bolt, or one pocket with its ball: where it is, what was wrong, and what was answered.

For every slot, whatever happens to it: arrived + supplied = there now + set aside.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Literal

from bellhousing.work.entries import WorkEntry, number_of

Place = Literal["in", "out", "bagged", "back", "none"]
ELSEWHERE = ("missing-on-arrival", "shared-and-out")


@dataclass(frozen=True)
class Answered:
    """How an exception was answered, by whom, when, and in which entry."""

    how: str
    note: str
    who: str
    at: datetime
    entry: int


@dataclass(frozen=True)
class ExceptionLine:
    """Something that was not as drawn; it stays open until it is answered."""

    what: str
    note: str
    where_now: str
    who: str
    at: datetime
    entry: int
    answered: Answered | None = None


@dataclass(frozen=True)
class Slot:
    """One hole or pocket as the book leaves it.

    Parameters
    ----------
    number : as on the drawing
    place : in (never undone), out, bagged, back, or none: nothing is there
    tag : the bag it lies in, empty if in none
    arrived : whether there was one when the car came
    supplied, set_aside : new ones that went in, old ones that were taken out of use
    disturbed : whether it ever came out
    exceptions : what was not as drawn, in the order noted
    entries : the entries that moved it
    """

    number: int
    place: Place = "in"
    tag: str = ""
    arrived: bool = True
    supplied: int = 0
    set_aside: int = 0
    disturbed: bool = False
    exceptions: tuple[ExceptionLine, ...] = ()
    entries: tuple[int, ...] = ()

    @property
    def there(self) -> bool:
        """Whether there is one at all, in or out."""
        return self.place != "none"

    @property
    def balances(self) -> bool:
        """Whether what came equals what is there and what was set aside."""
        return int(self.arrived) + self.supplied == int(self.there) + self.set_aside

    @property
    def open_exceptions(self) -> tuple[ExceptionLine, ...]:
        """Exceptions nobody answered yet."""
        return tuple(line for line in self.exceptions if line.answered is None)

    @property
    def left_empty(self) -> bool:
        """Whether it is empty, and the reason is in writing."""
        answers = [line.answered.how for line in self.exceptions if line.answered is not None]
        return self.place == "none" and not self.open_exceptions and "reason" in answers


class Unfit(Exception):
    """An entry that does not fit what the book says; it moves nothing."""


@dataclass(frozen=True)
class Slots:
    """All holes of a flange, or all pockets of a part, by number."""

    by_number: Mapping[int, Slot] = field(default_factory=dict)

    @classmethod
    def drawn(cls, numbers: tuple[int, ...]) -> Slots:
        """Return slots nothing has happened to."""
        return cls({number: Slot(number) for number in numbers})

    def changed(self, number: int, change: Callable[[Slot], Slot], entry: WorkEntry) -> Slots:
        """Return the slots with one of them changed by an entry; the same if it was so already.

        Raises
        ------
        Unfit : there is no such slot, or the change does not fit what the book says of it
        """
        if number not in self.by_number:
            raise Unfit(f"there is no number {number} on the drawing")
        before = self.by_number[number]
        after = change(before)
        if after == before:
            return self
        after = replace(after, entries=(*after.entries, number_of(entry)))
        return Slots({**self.by_number, number: after})

    def as_drawn(self, kind: str) -> tuple[int, ...]:
        """Return the numbers one tap for all of them means: those it fits, of which nothing else is said."""
        fits = {"out": ("in", "back"), "bagged": ("in", "back", "out", "bagged"), "back": ("out", "bagged")}[
            kind
        ]
        return tuple(
            slot.number
            for slot in self.by_number.values()
            if slot.place in fits
            and not any(kind == "back" or line.what in ELSEWHERE for line in slot.open_exceptions)
        )

    def at(self, *places: Place) -> tuple[Slot, ...]:
        """Return the slots in some place."""
        return tuple(slot for slot in self.by_number.values() if slot.place in places)


def taken_out(slot: Slot) -> Slot:
    """Return the slot with its bolt out; one that is out or bagged stays so."""
    _need_one(slot)
    if slot.place in ("out", "bagged"):
        return slot
    return replace(slot, place="out", disturbed=True)


def bagged(slot: Slot, tag: str) -> Slot:
    """Return the slot with its bolt in a bag, which takes it out first."""
    _need_one(slot)
    return replace(slot, place="bagged", tag=tag, disturbed=True)


def put_back(slot: Slot) -> Slot:
    """Return the slot with a bolt in: its own, or one supplied where none arrived."""
    if slot.place in ("in", "back"):
        return slot
    supplied = slot.supplied + int(not slot.there)
    return replace(slot, place="back", tag="", supplied=supplied, disturbed=True)


def excepted(slot: Slot, entry: WorkEntry) -> Slot:
    """Return the slot with something noted that is not as drawn; noted twice it is one line."""
    what = entry.text("what")
    if any(line.what == what for line in slot.open_exceptions):
        return slot
    if what == "missing-on-arrival" and not slot.arrived:
        return slot
    line = ExceptionLine(
        what, entry.text("note"), entry.text("where_now"), entry.who, entry.at, number_of(entry)
    )
    noted = replace(slot, exceptions=(*slot.exceptions, line))
    if what == "missing-on-arrival":
        return _never_came(noted)
    if what == "shared-and-out" and slot.place == "in":
        return replace(noted, place="out", disturbed=True)
    return noted


def answered(slot: Slot, entry: WorkEntry) -> Slot:
    """Return the slot with its open exceptions answered, or the one of the kind named.

    Raises
    ------
    Unfit : no exception of that kind is open there, or the answer is a reason and nothing is written
    """
    how, what = entry.text("how"), entry.text("what")
    meant = [line for line in slot.open_exceptions if what in ("", line.what)]
    if not meant:
        raise Unfit(f"nothing is open at {slot.number}, or not of that kind")
    if how == "reason" and not entry.text("note").strip():
        raise Unfit("a reason has to be written")
    said = Answered(how, entry.text("note"), entry.who, entry.at, number_of(entry))
    lines = tuple(replace(line, answered=said) if line in meant else line for line in slot.exceptions)
    after = replace(slot, exceptions=lines)
    if how == "refitted":
        return put_back(after)
    return _replaced(after) if how == "replaced" else after


def _replaced(slot: Slot) -> Slot:
    place: Place = "back" if slot.place in ("in", "back") else "out"
    return replace(
        slot,
        place=place,
        tag="",
        supplied=slot.supplied + 1,
        set_aside=slot.set_aside + int(slot.there),
        disturbed=True,
    )


def _never_came(slot: Slot) -> Slot:
    if slot.set_aside:
        # It was replaced already, so what was taken for the old one never was.
        return replace(slot, arrived=False, set_aside=slot.set_aside - 1)
    if slot.place == "back":
        # What is in there now came from the shop.
        return replace(slot, arrived=False, supplied=slot.supplied + 1)
    return replace(slot, arrived=False, place="none", tag="")


def _need_one(slot: Slot) -> None:
    if not slot.there:
        raise Unfit(f"{slot.number} was noted empty on arrival, so nothing can come out of it")
