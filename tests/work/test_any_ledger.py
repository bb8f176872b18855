"""Any sequence of ticks, exceptions, answers and corrections: counts balance, and nothing is untraceable."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.work.entries import (
    AS_DRAWN,
    EXCEPTIONS,
    WITHDRAWN,
    WorkEntry,
    chain_of,
    check_work_entry,
    standing,
)
from bellhousing.work.ledger import Ledger, ledger
from bellhousing.work.open_items import all_items, open_items
from tests.work.small_tree import AT, small_tree

TREE = small_tree()
# Few holes, so that much happens to each; 8 is not on the drawing.
HOLE = st.sampled_from([1, 2, 2, 3, 8])
HOLES = st.one_of(st.just(AS_DRAWN), st.lists(HOLE, min_size=1, max_size=3))
Step = tuple[str, dict[str, Any], int | None]


def _steps() -> st.SearchStrategy[list[Step]]:
    kinds: list[st.SearchStrategy[tuple[str, dict[str, Any]]]] = [
        HOLES.map(lambda holes: ("bolts-out", {"holes": holes})),
        st.tuples(HOLES, st.sampled_from(["P1", "P2"])).map(
            lambda two: ("bolts-bagged", {"holes": two[0], "tag": two[1]})
        ),
        HOLES.map(lambda holes: ("bolts-back", {"holes": holes})),
        st.tuples(HOLE, st.sampled_from(EXCEPTIONS)).map(
            lambda two: ("exception", {"hole": two[0], "what": two[1]})
        ),
        st.tuples(
            HOLE, st.sampled_from(["refitted", "replaced", "thread-insert", "reason"]), st.booleans()
        ).map(
            lambda three: (
                "cleared",
                {"hole": three[0], "how": three[1], **({"note": "agreed"} if three[2] else {})},
            )
        ),
        HOLE.map(lambda hole: ("exception", {"hole": hole, "what": "missing-on-arrival"})),
        st.just((WITHDRAWN, {"reason": "ticked the wrong flange"})),
    ]
    old = st.one_of(st.none(), st.none(), st.none(), st.integers(1, 20))
    return st.lists(st.tuples(st.one_of(kinds), old), min_size=10, max_size=30).map(
        lambda drawn: [(kind, data, old) for (kind, data), old in drawn]
    )


def kept(steps: list[Step]) -> tuple[WorkEntry, ...]:
    """The book as storage would have it: a correction only of an entry that was not corrected before."""
    book: list[WorkEntry] = []
    corrected: set[int] = set()
    for kind, data, wanted in steps:
        known = {entry.id: entry for entry in book}
        old = wanted if wanted in known and wanted not in corrected else None
        if old is not None and known[old].kind == WITHDRAWN:
            old = None
        if kind == WITHDRAWN and old is None:
            continue
        number = len(book) + 1
        entry = WorkEntry(
            id=number,
            job=1,
            at=AT,
            who="bench",
            kind=kind,
            subject="pump-ring",
            data=data,
            supersedes=old,
        )
        check_work_entry(entry)
        book.append(entry)
        if old is not None:
            corrected.add(old)
    return tuple(book)


class Tokens:
    """Bolts as things in one place each: hole by number, hand, bag by tag, bin; a plain second ledger."""

    def __init__(self) -> None:
        self.place: dict[str, str] = {f"own-{hole}": f"hole {hole}" for hole in range(1, 8)}
        self.of: dict[int, str] = {hole: f"own-{hole}" for hole in range(1, 8)}
        self.moved: set[int] = set()
        self.open: dict[int, dict[str, None]] = {hole: {} for hole in range(1, 8)}
        self.came = set(self.place)
        self.bought = 0

    def buy(self, hole: int, to: str) -> None:
        """A new bolt for a hole."""
        self.bought += 1
        self.of[hole] = f"new-{self.bought}"
        self.place[self.of[hole]] = to

    def outside(self, hole: int) -> bool:
        """Whether the bolt of a hole lies in the hand or in a bag."""
        return hole in self.of and not self.place[self.of[hole]].startswith("hole")

    def tap(self, kind: str, data: dict[str, Any]) -> None:
        """One tick of holes."""
        for hole in self.meant(kind, data["holes"]):
            if hole not in self.open:
                continue
            if kind == "bolts-back":
                if hole not in self.of:
                    self.buy(hole, f"hole {hole}")
                    self.moved.add(hole)
                self.place[self.of[hole]] = f"hole {hole}"
            elif hole in self.of:
                self.moved.add(hole)
                if kind == "bolts-bagged":
                    self.place[self.of[hole]] = f"bag {data['tag']}"
                elif not self.outside(hole):
                    self.place[self.of[hole]] = "hand"

    def meant(self, kind: str, holes: Any) -> list[int]:
        """The holes a tap means."""
        if holes != AS_DRAWN:
            return list(dict.fromkeys(holes))
        elsewhere = {"missing-on-arrival", "shared-and-out"}
        if kind == "bolts-back":
            return [hole for hole in self.open if self.outside(hole) and not self.open[hole]]
        return [hole for hole in self.open if hole in self.of and not elsewhere & set(self.open[hole])]

    def note(self, hole: int, what: str) -> None:
        """An exception."""
        if hole not in self.open or what in self.open[hole]:
            return
        own = f"own-{hole}"
        if what == "missing-on-arrival":
            if own not in self.came:
                return
            self.came.remove(own)
            at = self.place.pop(own)
            if self.of.get(hole) == own:
                del self.of[hole]
                if at.startswith("hole") and hole in self.moved:
                    self.buy(hole, at)
        elif what == "shared-and-out" and hole in self.of and hole not in self.moved:
            self.place[self.of[hole]] = "hand"
            self.moved.add(hole)
        self.open[hole][what] = None

    def answer(self, hole: int, how: str, note: str) -> None:
        """An answer to all that is open at a hole."""
        if not self.open.get(hole) or (how == "reason" and not note):
            return
        self.open[hole] = {}
        if how == "refitted":
            self.tap("bolts-back", {"holes": [hole]})
        elif how == "replaced":
            inside = hole in self.of and not self.outside(hole)
            if hole in self.of:
                self.place[self.of[hole]] = "bin"
            self.buy(hole, f"hole {hole}" if inside else "hand")
            self.moved.add(hole)


def by_tokens(book: tuple[WorkEntry, ...]) -> Tokens:
    """The second ledger after the same book."""
    tokens = Tokens()
    for entry in standing(book):
        if entry.kind == "exception":
            tokens.note(int(entry.data["hole"]), entry.text("what"))
        elif entry.kind == "cleared":
            tokens.answer(int(entry.data["hole"]), entry.text("how"), entry.text("note"))
        else:
            tokens.tap(entry.kind, dict(entry.data))
    return tokens


def places(book: Ledger) -> dict[int, tuple[Any, ...]]:
    """Where each hole's bolt is, without which entries moved it."""
    holes = book.flanges["pump-ring"].holes.by_number
    return {
        number: (slot.place, slot.tag, slot.supplied, slot.set_aside, slot.arrived, len(slot.open_exceptions))
        for number, slot in holes.items()
    }


@settings(max_examples=200)
@given(_steps())
def test_counts_balance_and_agree_with_bolts_moved_one_by_one(steps: list[Step]) -> None:
    """In equals out for the flange and for every hole, and a second ledger of single bolts says the same."""
    book = kept(steps)
    found = ledger(TREE, book)
    assert found.balances
    state = found.flanges["pump-ring"]
    assert all(slot.balances for slot in state.holes.by_number.values())
    tokens = by_tokens(book)
    held = Counter(place.split()[0] for place in tokens.place.values())
    count = state.count
    assert (count.never_out + count.back, count.out, count.bagged) == (
        held["hole"],
        held["hand"],
        held["bag"],
    )
    assert (count.set_aside, count.supplied, count.drawn - count.missing) == (
        held["bin"],
        tokens.bought,
        len(tokens.came),
    )


@given(_steps())
def test_every_tick_twice_is_every_tick_once(steps: list[Step]) -> None:
    """A second tablet that sends the same tick changes nothing, and loses nothing."""
    book = kept([(kind, data, None) for kind, data, _ in steps])
    twice = [entry for entry in book for _ in range(2)]
    doubled = tuple(replace(entry, id=number) for number, entry in enumerate(twice, start=1))
    assert places(ledger(TREE, doubled)) == places(ledger(TREE, book))


@given(st.lists(st.tuples(st.booleans(), st.integers(1, 7)), max_size=20))
def test_two_tablets_in_any_order_reach_the_same(ticks: list[tuple[bool, int]]) -> None:
    """Ticks of one bag from two tablets: the bag holds the union, however they fall together."""
    book = kept([("bolts-bagged", {"holes": [hole], "tag": "P1"}, None) for _, hole in ticks])
    found = ledger(TREE, book)
    assert {slot.number for slot in found.flanges["pump-ring"].holes.at("bagged")} == {h for _, h in ticks}
    assert sum(bag.count for bag in found.bags) == len({hole for _, hole in ticks})


@given(_steps())
def test_every_correction_is_traceable(steps: list[Step]) -> None:
    """Each entry stands, or leads by its chain to the one that stands for it or to a withdrawal."""
    book = kept(steps)
    counted = {entry.id for entry in standing(book)}
    for entry in book:
        last = chain_of(book, entry.id or 0)[-1]
        assert (last.id in counted) != (last.kind == WITHDRAWN)
        assert chain_of(book, last.id or 0) == chain_of(book, entry.id or 0)


@given(_steps())
def test_nothing_is_open_only_when_all_is_accounted_for(steps: list[Step]) -> None:
    """No open bolt item means each hole holds a bolt or a written reason; reasons close and stay told."""
    book = kept(steps)
    state = ledger(TREE, book).flanges["pump-ring"]
    bolts = [item for item in open_items(TREE, book) if not item.id.startswith("washers")]
    accounted = all(
        not slot.open_exceptions and (slot.place in ("in", "back") or slot.left_empty)
        for slot in state.holes.by_number.values()
    )
    assert (not bolts) == accounted
    reasons = tuple(
        WorkEntry(
            id=len(book) + place,
            job=1,
            at=AT,
            who="bench",
            kind="reason",
            subject=item.id,
            data={"text": "the box goes in exchange", "covers": item.what},
        )
        for place, item in enumerate(open_items(TREE, book), start=1)
    )
    assert open_items(TREE, (*book, *reasons)) == ()
    assert len(all_items(TREE, (*book, *reasons))) == len(reasons)
