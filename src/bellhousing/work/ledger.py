"""The ledger of a job: where every bolt, ball, puller bolt and part is, from the entries of its book.

Entries are read in the order they were kept, each correction in the place of what it corrects. Sets are
kept, not sums: the same tick from two tablets counts once. What does not fit moves nothing and is listed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial

from bellhousing.boxes.parts_tree import Flange, PartsTree
from bellhousing.work import slots
from bellhousing.work.entries import AS_DRAWN, WorkEntry, number_of, standing
from bellhousing.work.slots import Slot, Slots, Unfit

WASHERS = "washers"


@dataclass(frozen=True)
class Count:
    """Bolts of one flange or balls of one part: `drawn` - `missing` + `supplied` = there + `set_aside`."""

    drawn: int
    missing: int
    supplied: int
    set_aside: int
    never_out: int
    out: int
    bagged: int
    back: int
    empty: int

    @property
    def balances(self) -> bool:
        """Whether every hole is accounted for, and what came equals what is there and what was set aside."""
        there = self.never_out + self.out + self.bagged + self.back
        return there + self.empty == self.drawn and (
            self.drawn - self.missing + self.supplied == there + self.set_aside
        )

    @property
    def to_go_back(self) -> int:
        """How many lie outside their holes."""
        return self.out + self.bagged


def count_of(held: Slots) -> Count:
    """Count the slots of one flange or part."""
    every = tuple(held.by_number.values())
    return Count(
        drawn=len(every),
        missing=sum(not slot.arrived for slot in every),
        supplied=sum(slot.supplied for slot in every),
        set_aside=sum(slot.set_aside for slot in every),
        never_out=len(held.at("in")),
        out=len(held.at("out")),
        bagged=len(held.at("bagged")),
        back=len(held.at("back")),
        empty=len(held.at("none")),
    )


@dataclass(frozen=True)
class FlangeState:
    """A flange: its holes, puller bolts still in it, and sealing washers fitted new."""

    slug: str
    holes: Slots
    jack_bolts: int = 0
    washers_new: int = 0

    @property
    def count(self) -> Count:
        """Its bolts counted."""
        return count_of(self.holes)


@dataclass(frozen=True)
class PartState:
    """A part: whether it is off, since when and by whom, its balls, and its seals fitted new by slug."""

    slug: str
    pockets: Slots = field(default_factory=Slots)
    off: bool = False
    ever_off: bool = False
    moved: datetime | None = None
    by: str = ""
    order: int = 0
    seals_new: Mapping[str, int] = field(default_factory=dict)
    baselines: frozenset[str] = frozenset()
    came_off: datetime | None = None

    @property
    def count(self) -> Count:
        """Its balls counted."""
        return count_of(self.pockets)

    def measured(self, measure: str, taken: Mapping[str, datetime]) -> bool:
        """Whether something was measured or declined, or was `taken` on the job before the part came off."""
        at = taken.get(measure)
        return measure in self.baselines or (
            at is not None and (self.came_off is None or at <= self.came_off)
        )


@dataclass(frozen=True)
class Bag:
    """A bag: what flange its bolts are of, where it lies, and how many are in it."""

    tag: str
    flange: str
    place: str
    count: int
    entry: int


@dataclass(frozen=True)
class Ignored:
    """An entry, or one number of it, that moved nothing, and why."""

    entry: int
    subject: str
    why: str


@dataclass(frozen=True)
class Ledger:
    """Everything counted on one job."""

    flanges: Mapping[str, FlangeState]
    parts: Mapping[str, PartState]
    bags: tuple[Bag, ...] = ()
    ignored: tuple[Ignored, ...] = ()

    @property
    def balances(self) -> bool:
        """Whether the counts of every flange and every part balance."""
        bolts = all(state.count.balances for state in self.flanges.values())
        return bolts and all(state.count.balances for state in self.parts.values())

    @property
    def parts_off(self) -> tuple[PartState, ...]:
        """Parts that are off, in the order they came off."""
        return tuple(sorted((p for p in self.parts.values() if p.off), key=lambda part: part.order))


def ledger(tree: PartsTree, entries: Iterable[WorkEntry]) -> Ledger:
    """Return where everything is after the entries of a job; those that were corrected take no part."""
    book = _Book(tree)
    for entry in standing(entries):
        book.take(entry)
    return book.ledger()


class _Book:
    """The ledger while its entries are read."""

    def __init__(self, tree: PartsTree) -> None:
        self.tree = tree
        self.flanges = {
            slug: FlangeState(slug, Slots.drawn(tuple(hole.number for hole in flange.holes)))
            for slug, flange in tree.flanges.items()
        }
        self.parts = {
            slug: PartState(slug, Slots.drawn(tuple(ball.pocket for ball in part.check_balls)))
            for slug, part in tree.parts.items()
        }
        self.bags: dict[str, Bag] = {}
        self.ignored: list[Ignored] = []
        self.order = 0

    def ledger(self) -> Ledger:
        """Return what stands."""
        held: dict[str, int] = {}
        for state in self.flanges.values():
            for slot in state.holes.at("bagged"):
                held[slot.tag] = held.get(slot.tag, 0) + 1
        bags = tuple(replace(bag, count=held.get(bag.tag, 0)) for bag in self.bags.values())
        return Ledger(dict(self.flanges), dict(self.parts), bags, tuple(self.ignored))

    def take(self, entry: WorkEntry) -> None:
        """Read one entry; one of a kind that counts nothing here is passed over."""
        reducer = REDUCERS.get(entry.kind)
        if reducer is None:
            return
        try:
            reducer(self, entry)
        except Unfit as why:
            self.ignore(entry, str(why))

    def ignore(self, entry: WorkEntry, why: str) -> None:
        """List an entry, or a number of it, that moved nothing."""
        self.ignored.append(Ignored(number_of(entry), entry.subject, why))

    # Bolts and balls

    def flange(self, entry: WorkEntry) -> FlangeState:
        """Return the flange an entry is about."""
        if entry.subject not in self.flanges:
            raise Unfit(f"this box has no flange '{entry.subject}'")
        return self.flanges[entry.subject]

    def part(self, entry: WorkEntry) -> PartState:
        """Return the part an entry is about."""
        if entry.subject not in self.parts:
            raise Unfit(f"this box has no part '{entry.subject}'")
        return self.parts[entry.subject]

    def tick(self, entry: WorkEntry, held: Slots, kind: str, change: Callable[[Slot], Slot]) -> Slots:
        """Return slots after a tick of some numbers or of all as drawn; what does not fit is listed."""
        wanted = entry.data.get("holes", entry.data.get("pockets"))
        numbers = held.as_drawn(kind) if wanted == AS_DRAWN else dict.fromkeys(wanted or ())
        for number in numbers:
            try:
                held = held.changed(number, change, entry)
            except Unfit as why:
                self.ignore(entry, str(why))
        return held

    def bolts_out(self, entry: WorkEntry) -> None:
        """Bolts came out of their holes."""
        state = self.flange(entry)
        self.moved(state, self.tick(entry, state.holes, "out", slots.taken_out))

    def bolts_bagged(self, entry: WorkEntry) -> None:
        """Bolts lie in a bag."""
        state, tag = self.flange(entry), entry.text("tag")
        self.moved(state, self.tick(entry, state.holes, "bagged", lambda slot: slots.bagged(slot, tag)))
        known = self.bags.get(tag)
        place = entry.text("place") or (known.place if known is not None else "")
        self.bags[tag] = Bag(tag, state.slug, place, 0, number_of(entry))

    def bolts_back(self, entry: WorkEntry) -> None:
        """Bolts are in again."""
        state = self.flange(entry)
        self.moved(state, self.tick(entry, state.holes, "back", slots.put_back))

    def moved(self, state: FlangeState, holes: Slots) -> None:
        """Keep a flange's holes; a bolt that comes out again takes its new washer with it."""
        again = sum(
            state.holes.by_number[hole.number].place == "back"
            and holes.by_number[hole.number].place in ("out", "bagged")
            for hole in self.tree.flanges[state.slug].washers
        )
        left = max(0, state.washers_new - again)
        self.flanges[state.slug] = replace(state, holes=holes, washers_new=left)

    def ball_out(self, entry: WorkEntry) -> None:
        """Balls came out of their pockets."""
        state = self.part(entry)
        self.parts[state.slug] = replace(
            state, pockets=self.tick(entry, state.pockets, "out", slots.taken_out)
        )

    def ball_back(self, entry: WorkEntry) -> None:
        """Balls lie in their pockets again."""
        state = self.part(entry)
        self.parts[state.slug] = replace(
            state, pockets=self.tick(entry, state.pockets, "back", slots.put_back)
        )

    def exception(self, entry: WorkEntry) -> None:
        """Something was not as drawn."""
        self.at_slot(entry, lambda slot: slots.excepted(slot, entry))

    def cleared(self, entry: WorkEntry) -> None:
        """What was not as drawn is answered."""
        self.at_slot(entry, lambda slot: slots.answered(slot, entry))

    def at_slot(self, entry: WorkEntry, change: Callable[[Slot], Slot]) -> None:
        """Change the one hole or pocket an entry names."""
        if "pocket" in entry.data:
            part = self.part(entry)
            pockets = part.pockets.changed(int(entry.data["pocket"]), change, entry)
            self.parts[part.slug] = replace(part, pockets=pockets)
        elif "hole" in entry.data:
            state = self.flange(entry)
            self.moved(state, state.holes.changed(int(entry.data["hole"]), change, entry))
        else:
            raise Unfit("it names neither a hole nor a pocket")

    # The rest

    def part_off(self, entry: WorkEntry) -> None:
        """A part came off; what was new at it is to be new again."""
        state = self.part(entry)
        if state.off:
            return
        self.order += 1
        self.parts[state.slug] = replace(
            state,
            off=True,
            ever_off=True,
            moved=entry.at,
            by=entry.who,
            order=self.order,
            came_off=state.came_off or entry.at,
            seals_new={} if state.ever_off else state.seals_new,
        )
        self.brackets_off(entry)

    def brackets_off(self, entry: WorkEntry) -> None:
        """A bracket that came off took the bolts it shares: each is a line of its own."""
        for flange in self.tree.flanges.values():
            for hole in flange.holes:
                state = self.flanges[flange.slug]
                if hole.shared_part == entry.subject and state.holes.by_number[hole.number].place == "in":
                    where = entry.text("note") or f"with the {hole.shared_with}"
                    line = replace(entry, data={"what": "shared-and-out", "where_now": where})
                    change = partial(slots.excepted, entry=line)
                    self.moved(state, state.holes.changed(hole.number, change, line))

    def part_on(self, entry: WorkEntry) -> None:
        """A part is on again."""
        state = self.part(entry)
        if state.off:
            self.parts[state.slug] = replace(state, off=False, moved=entry.at, by=entry.who)

    def one_use_replaced(self, entry: WorkEntry) -> None:
        """So many of a one-use part were fitted new, all told."""
        what, count = entry.text("what"), int(entry.data["count"])
        if what == WASHERS:
            state = self.flange(entry)
            self.flanges[state.slug] = replace(state, washers_new=count)
            return
        part = self.part(entry)
        if what not in {seal.slug for seal in self.tree.parts[part.slug].seals}:
            raise Unfit(f"that part has no seal '{what}'")
        self.parts[part.slug] = replace(part, seals_new={**part.seals_new, what: count})

    def jack_bolts_in(self, entry: WorkEntry) -> None:
        """Puller bolts are in their holes."""
        state = self.flange(entry)
        if self.tree.flanges[state.slug].jack_holes is None:
            raise Unfit("that flange has no holes for puller bolts")
        self.flanges[state.slug] = replace(state, jack_bolts=int(entry.data["count"]))

    def jack_bolts_out(self, entry: WorkEntry) -> None:
        """Puller bolts came out; some may still be in."""
        state = self.flange(entry)
        left = min(state.jack_bolts, int(entry.data["left"]))
        self.flanges[state.slug] = replace(state, jack_bolts=left)

    def baseline(self, entry: WorkEntry) -> None:
        """What must be measured before undoing was measured, or was declined with a reason."""
        state = self.part(entry)
        self.parts[state.slug] = replace(state, baselines=state.baselines | {entry.text("measure")})

    def bag(self, entry: WorkEntry) -> None:
        """A bag lies somewhere."""
        known = self.bags.get(entry.subject)
        flange = entry.text("flange") or (known.flange if known is not None else "")
        self.bags[entry.subject] = Bag(entry.subject, flange, entry.text("place"), 0, number_of(entry))


REDUCERS: Mapping[str, Callable[[_Book, WorkEntry], None]] = {
    "bolts-out": _Book.bolts_out,
    "bolts-bagged": _Book.bolts_bagged,
    "bolts-back": _Book.bolts_back,
    "ball-out": _Book.ball_out,
    "ball-back": _Book.ball_back,
    "exception": _Book.exception,
    "cleared": _Book.cleared,
    "part-off": _Book.part_off,
    "part-on": _Book.part_on,
    "one-use-replaced": _Book.one_use_replaced,
    "jack-bolts-in": _Book.jack_bolts_in,
    "jack-bolts-out": _Book.jack_bolts_out,
    "baseline": _Book.baseline,
    "baseline-declined": _Book.baseline,
    "bag": _Book.bag,
}


def washers_needed(flange: Flange, state: FlangeState) -> int:
    """Return how many sealing washers must be new: those of bolts that came out, where none is used twice."""
    if not flange.washers_one_use:
        return 0
    return sum(state.holes.by_number[hole.number].disturbed for hole in flange.washers)
