"""Random books of entries, corrections and withdrawals against a list in plain Python."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bellhousing.errors import RecordError
from bellhousing.records.entries import Car, Entry, Finding
from bellhousing.records.store import Store, open_store

AT = datetime(2026, 5, 1, tzinfo=UTC)
WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=12).filter(str.strip)
STEPS = st.lists(
    st.tuples(
        st.sampled_from(["add", "correct", "correct", "withdraw"]),
        st.integers(min_value=1, max_value=12),
        WORDS,
        st.one_of(st.none(), st.sampled_from(["k1", "k2", "k3"])),
    ),
    max_size=20,
)


class PlainBook:
    """The same rules, written as lists: each place holds the ids that stood there, the last may be gone."""

    def __init__(self) -> None:
        self.said: dict[int, str] = {}
        self.places: list[list[int]] = []
        self.gone: set[int] = set()
        self.keys: dict[str, tuple[str, int | None, str, int]] = {}

    def step(self, kind: str, old: int | None, said: str, key: str | None) -> int | None:
        """The id the step gives, or None if it must be refused."""
        if key is not None and key in self.keys:
            *sent, number = self.keys[key]
            return number if sent == [kind, old, said] else None
        place: list[int] = []
        if kind == "add":
            self.places.append(place)
        else:
            found = [ids for ids in self.places if ids[-1] == old and old not in self.gone]
            if not found:
                return None
            place = found[0]
        number = len(self.said) + 1
        place.append(number)
        self.said[number] = said
        if kind == "withdraw":
            self.gone.add(number)
        if key is not None:
            self.keys[key] = (kind, old, said, number)
        return number

    def standing(self) -> list[tuple[int, str]]:
        """What counts, in the order first noted."""
        return [(ids[-1], self.said[ids[-1]]) for ids in self.places if ids[-1] not in self.gone]


def do(store: Store, kind: str, old: int | None, said: str, key: str | None) -> Finding:
    """The same step on the store."""
    if old is None:
        return store.add_finding(1, Entry(said=said), at=AT, who="m", key=key)
    if kind == "correct":
        return store.correct_finding(old, Entry(said=said), at=AT, who="m", key=key)
    return store.withdraw_finding(old, at=AT, who="m", reason=said, key=key)


def outcome(step: Callable[[], Finding]) -> int | None:
    """The id of the entry made, or None if it was refused."""
    try:
        return step().id
    except RecordError:
        return None


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS)
def test_any_sequence_leaves_what_a_plain_list_would(
    new_place: Callable[[], str], steps: list[tuple[str, int, str, str | None]]
) -> None:
    """Each step is taken or refused alike, what stands is the same, and nothing noted is ever lost."""
    plain = PlainBook()
    with open_store(new_place()) as store:
        store.add_car(Car(slug="car", name="Car", box="box-a"))
        store.open_job("car", complaint="none", at=AT, who="m")
        for kind, number, said, key in steps:
            old = None if kind == "add" else number
            expected = plain.step(kind, old, said, key)
            assert outcome(partial(do, store, kind, old, said, key)) == expected
        assert [(entry.id, entry.said) for entry in store.current_findings(1)] == plain.standing()
        assert {entry.id: entry.said for entry in store.findings(1)} == plain.said
        for ids in plain.places:
            assert [entry.id for entry in store.history(ids[0])] == ids
