"""Order of the build, its torques and its gates."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bellhousing.boxes.parts_tree import Flange, Gate, Hole, Part, PartsTree, Refit
from bellhousing.quantities.measured import Interval
from bellhousing.work.build import build, build_order
from bellhousing.work.entries import WorkEntry
from bellhousing.work.open_items import open_items

WHEN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
INCH = 0.0254
END_PLAY = Gate(
    "end-play",
    "end play",
    "number",
    unit="in",
    window=Interval(0.008 * INCH, 0.024 * INCH, "in", "0.008-0.024 in"),
    hold=True,
)
TURNS = Gate("turns-freely", "turns freely by hand", "check")


def part(slug: str, *after: tuple[str, ...], **more: Any) -> Part:
    """A part that comes off after one of each group."""
    return Part(slug, slug, after=after, **more)


def tree(*parts: Part, flanges: tuple[Flange, ...] = (), final: tuple[Gate, ...] = ()) -> PartsTree:
    """A small tree."""
    return PartsTree({p.slug: p for p in parts}, {f.slug: f for f in flanges}, final_gates=final)


SMALL = tree(
    part("bell", refit=Refit(minutes=20.0)),
    part("pump", ("bell",), flange="pump-bolts", refit=Refit(minutes=15.0, gates=(END_PLAY, TURNS))),
    part("drum", ("pump",), refit=Refit(minutes=10.0)),
    flanges=(
        Flange(
            "pump-bolts", "pump", "5/16-18", (Hole(1, (0.5, 0.0)), Hole(2, (0.5, 1.0))), torque=24.4, steps=2
        ),
    ),
    final=(Gate("converter-gap", "gap to the flexplate", "number", unit="in"),),
)


def book(*told: tuple[str, str, dict[str, Any]]) -> list[WorkEntry]:
    """Entries in the order they are given."""
    return [
        WorkEntry(id=number, job=1, at=WHEN, who="mate", kind=kind, subject=subject, data=data)
        for number, (kind, subject, data) in enumerate(told, start=1)
    ]


STRIPPED: tuple[tuple[str, str, dict[str, Any]], ...] = (
    ("part-off", "bell", {}),
    ("bolts-out", "pump-bolts", {"holes": "as-drawn"}),
    ("part-off", "pump", {}),
    ("part-off", "drum", {}),
)


def names(entries: list[WorkEntry]) -> list[str]:
    """The steps of the build, by part."""
    return [step.part.slug for step in build(SMALL, entries).steps]


def test_last_off_is_first_on() -> None:
    """The build is the strip backwards."""
    assert names(book(*STRIPPED)) == ["drum", "pump", "bell"]


def test_order_of_taking_off_that_skips_the_tree_is_mended() -> None:
    """A bell noted off after the pump still goes back after it: without it off the pump cannot be reached."""
    taken = [("part-off", slug) for slug in ("drum", "pump", "bell")]
    assert names(book(*((one, slug, {}) for one, slug in taken))) == ["drum", "pump", "bell"]


def test_nothing_off_is_nothing_to_build() -> None:
    """A box nobody opened has no steps, and no gates before the hand-over."""
    assert build(SMALL, []).steps == ()
    assert build(SMALL, []).final == ()


def test_hold_point_stops_what_comes_after_until_its_number_is_inside() -> None:
    """The bell waits for the end play; a number outside keeps it waiting, one inside lets it go."""
    told: list[Any] = [*STRIPPED, ("part-on", "drum", {}), ("part-on", "pump", {})]
    assert build(SMALL, book(*told)).steps[2].waits_for == ("end play",)
    outside = ("gate", "end-play", {"value": 0.030 * INCH, "text": "0.030 in"})
    state = build(SMALL, book(*told, outside))
    assert state.steps[1].gates[0].passed == "failed"
    assert state.steps[2].waits_for == ("end play",)
    inside = ("gate", "end-play", {"value": 0.015 * INCH, "text": "0.015 in"})
    assert build(SMALL, book(*told, outside, inside)).steps[2].waits_for == ()


def test_written_reason_lets_a_gate_through_and_says_so() -> None:
    """A gate outside its window may be let through by a reason, which stays visible as such."""
    outside = ("gate", "end-play", {"value": 0.030 * INCH, "text": "0.030 in"})
    covers = "end play of the pump: 0.030 in is outside 0.008-0.024 in"
    reason = ("reason", "gate:end-play", {"text": "owner accepts", "covers": covers})
    gate = build(SMALL, book(*STRIPPED, outside, reason)).steps[1].gates[0]
    assert (gate.passed, gate.text, gate.reason, gate.done) == ("failed", "0.030 in", "owner accepts", True)
    worse = ("gate", "end-play", {"value": 0.050 * INCH, "text": "0.050 in"})
    assert not build(SMALL, book(*STRIPPED, outside, reason, worse)).steps[1].gates[0].done


def test_part_that_comes_off_again_is_to_be_proved_again() -> None:
    """A gate passed before the pump came off a second time does not count."""
    passed = ("gate", "end-play", {"value": 0.015 * INCH})
    told: list[Any] = [*STRIPPED, ("part-on", "pump", {}), passed, ("part-off", "pump", {})]
    assert build(SMALL, book(*told)).steps[1].gates[0].passed == "open"


def test_torque_is_asked_for_step_by_step_and_again_after_the_bolts_came_out() -> None:
    """Two steps are left at first, one after the first, both again once the bolts are out again."""

    def left(*more: tuple[str, str, dict[str, Any]]) -> tuple[int, ...]:
        return build(SMALL, book(*STRIPPED, *more)).steps[1].torque_left

    first, again = ("torque", "pump-bolts", {"step": 1}), ("bolts-out", "pump-bolts", {"holes": [1]})
    assert left() == (1, 2)
    assert left(first) == (2,)
    assert left(first, ("torque", "pump-bolts", {"step": 2})) == ()
    assert left(first, again) == (1, 2)


def test_step_is_done_when_on_torqued_and_through_its_gates() -> None:
    """Only then does the next step come up, and the time left falls."""
    told: list[Any] = [*STRIPPED, ("part-on", "drum", {}), ("part-on", "pump", {})]
    state = build(SMALL, book(*told))
    assert state.next is not None
    assert state.next.part.slug == "pump"
    assert state.minutes_left == pytest.approx(20.0)
    told += [("torque", "pump-bolts", {"step": step}) for step in (1, 2)]
    told += [("gate", "end-play", {"value": 0.015 * INCH}), ("gate", "turns-freely", {"done": True})]
    after = build(SMALL, book(*told)).next
    assert after is not None
    assert after.part.slug == "bell"


def test_what_was_not_torqued_or_proved_keeps_the_job_open() -> None:
    """Torque, gates of the parts and, with the box out, those of the hand-over are open until told."""
    done: list[Any] = [*STRIPPED, *(("part-on", slug, {}) for slug in ("drum", "pump", "bell"))]
    done += [("bolts-back", "pump-bolts", {"holes": "as-drawn"})]
    proofs: dict[str, list[Any]] = {
        "torque:pump-bolts": [("torque", "pump-bolts", {"step": step}) for step in (1, 2)],
        "gate:end-play": [("gate", "end-play", {"value": 0.015 * INCH})],
        "gate:turns-freely": [("gate", "turns-freely", {"done": True})],
        "gate:converter-gap": [("gate", "converter-gap", {"value": 0.1 * INCH, "done": True})],
    }
    assert {item.id for item in open_items(SMALL, book(*done))} == set(proofs)
    for name, told in proofs.items():
        assert name in {item.id for item in open_items(SMALL, book(*done))}
        done += told
        assert name not in {item.id for item in open_items(SMALL, book(*done))}


@st.composite
def stripped_trees(draw: st.DrawFn) -> tuple[PartsTree, list[str]]:
    """A random tree with alternatives, and an order in which some of it can come off."""
    count = draw(st.integers(1, 8))
    parts = []
    for number in range(count):
        groups = draw(st.lists(st.sets(st.integers(0, number - 1), min_size=1), max_size=2)) if number else []
        parts.append(part(f"p{number}", *(tuple(f"p{one}" for one in sorted(group)) for group in groups)))
    made = tree(*parts)
    off: list[str] = []
    for _ in range(draw(st.integers(1, count))):
        free = [
            p.slug for p in parts if p.slug not in off and all(set(group) & set(off) for group in p.after)
        ]
        if free:
            off.append(draw(st.sampled_from(free)))
    return made, off


@given(stripped_trees())
def test_each_part_goes_back_while_it_can_still_be_reached(found: tuple[PartsTree, list[str]]) -> None:
    """Whatever came off in a possible order goes back once each, never into a place already closed."""
    made, off = found
    order = build_order(made, off)
    assert sorted(order) == sorted(off)
    for place, slug in enumerate(order):
        still_off = set(order[place:])
        assert all(set(group) & still_off for group in made.parts[slug].after)
