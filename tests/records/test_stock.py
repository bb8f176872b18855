"""The shop's stock: what there is now is the sum of what came and went, and no move is ever changed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from bellhousing.errors import RecordError
from bellhousing.records.stock import StockMove
from bellhousing.records.store import Store, open_store
from bellhousing.records.upgrading import writing

WASHER: dict[str, Any] = {
    "box": "box-a",
    "part": "front-washer",
    "size_m": 0.080 * 0.0254,
    "unit": "in",
    "mark": "green",
}


def test_moves_add_up(store: Store, at: datetime) -> None:
    """Two come, one goes on a job, three are ordered and one of those arrives."""
    moves = ({"shelf": 2}, {"shelf": -1, "job": 1}, {"on_order": 3}, {"shelf": 1, "on_order": -1})
    for counts in moves:
        left = store.move_stock(StockMove(**{**WASHER, **counts}), at=at, who="bench")
    assert (left.shelf, left.on_order) == (2, 2)
    (entry,) = store.in_stock()
    assert (entry.part, entry.mark, entry.shelf, entry.on_order) == ("front-washer", "green", 2, 2)
    assert store.in_stock("box-b") == ()


def test_a_size_said_in_other_units_is_the_same_size(store: Store, at: datetime) -> None:
    """0.080 in and 2.032 mm, and nothing two thousandths off."""
    for size in (0.080 * 0.0254, 2.032e-3, 0.0820 * 0.0254):
        store.move_stock(StockMove(**{**WASHER, "size_m": size, "shelf": 1}), at=at, who="bench")
    assert [entry.shelf for entry in store.in_stock()] == [2, 1]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"shelf": -1}, "0 of them on the shelf"),
        ({"on_order": -1}, "0 of them on order"),
        ({"shelf": 0}, "nothing comes"),
        ({"shelf": 10**6}, "more than any shelf"),
        ({"shelf": 1, "size_m": float("nan")}, "size"),
        ({"shelf": 1, "part": ""}, "box and name"),
        ({"shelf": 1, "job": 99}, "99"),
    ],
)
def test_what_cannot_be_is_refused(store: Store, at: datetime, changed: dict[str, Any], said: str) -> None:
    """And nothing is written."""
    with pytest.raises(RecordError, match=said):
        store.move_stock(StockMove(**{**WASHER, **changed}), at=at, who="bench")
    assert store.in_stock() == ()


def test_a_move_is_never_changed_nor_removed(store: Store, at: datetime) -> None:
    """The database itself refuses."""
    store.move_stock(StockMove(**WASHER, shelf=2), at=at, who="bench")
    for statement in ("UPDATE stock_moves SET shelf = 9", "DELETE FROM stock_moves"):
        with writing(store.engine) as other, pytest.raises(IntegrityError, match="written once"):
            other.execute(text(statement))


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.integers(-5, 5).filter(bool), max_size=12))
def test_never_fewer_than_none(new_place: Callable[[], str], counts: list[int]) -> None:
    """Whatever is booked in whatever order, the shelf is what a plain count says."""
    moment = datetime.fromisoformat("2026-05-01T09:30:00+00:00")
    with open_store(new_place()) as store:
        there = 0
        for count in counts:
            move = StockMove(**WASHER, shelf=count)
            if there + count < 0:
                with pytest.raises(RecordError):
                    store.move_stock(move, at=moment, who="bench")
            else:
                there += count
                assert store.move_stock(move, at=moment, who="bench").shelf == there
