"""What keeps a job open: each thing by itself, each with its answer, and the job told in five lines."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bellhousing.work.ledger import ledger
from bellhousing.work.open_items import all_items, open_items
from bellhousing.work.summary import summary
from tests.work.small_tree import AT, Step, book, ids, small_tree

TREE = small_tree()
DRAWN = {"holes": "as-drawn"}
PUMP = "pump-ring"
NEW: Step = ("one-use-replaced", PUMP, {"what": "washers", "count": 7})


def test_one_tap_means_all_that_is_as_drawn() -> None:
    """Seven holes, one found empty before the tap and one after it: five come out, the counts balance."""
    found = ledger(
        TREE,
        book(
            ("exception", PUMP, {"hole": 4, "what": "missing-on-arrival"}),
            ("bolts-out", PUMP, DRAWN),
            ("exception", PUMP, {"hole": 2, "what": "missing-on-arrival"}),
        ),
    )
    count = found.flanges[PUMP].count
    assert (count.drawn, count.missing, count.out, count.empty, count.balances) == (7, 2, 5, 2, True)


@pytest.mark.parametrize(
    ("what", "where", "answers"),
    [
        ("missing-on-arrival", "", [("cleared", PUMP, {"hole": 6, "how": "replaced"})]),
        ("missing-on-arrival", "", [("cleared", PUMP, {"hole": 6, "how": "reason", "note": "as it came"})]),
        ("stripped", "", [("cleared", PUMP, {"hole": 6, "how": "thread-insert"})]),
        ("wrong-length", "", [("cleared", PUMP, {"hole": 6, "how": "replaced"})]),
        ("shared-and-out", "with the filler tube", [("cleared", PUMP, {"hole": 6, "how": "refitted"})]),
    ],
)
def test_each_exception_is_a_line_that_wants_an_answer(what: str, where: str, answers: list[Step]) -> None:
    """One tap back does not answer it; its own answer does, and then one tap closes the flange."""
    line = f"hole:{PUMP}:6:{what}"
    steps: list[Step] = [
        ("bolts-out", PUMP, DRAWN),
        ("exception", PUMP, {"hole": 6, "what": what, "where_now": where}),
        ("bolts-back", PUMP, DRAWN),
        NEW,
    ]
    found = open_items(TREE, book(*steps))
    assert ids(found) == {line}
    assert "hole 6 of the pump ring" in found[0].what
    assert found[0].where == where
    assert open_items(TREE, book(*steps, *answers, ("bolts-back", PUMP, DRAWN))) == ()


def test_the_line_of_a_shared_bolt_names_its_bracket() -> None:
    """The filler tube took it along."""
    (item, *_) = open_items(TREE, book(("exception", PUMP, {"hole": 6, "what": "shared-and-out"})))
    assert "shared with the filler tube and already out" in item.what


def test_a_bracket_that_comes_off_takes_its_bolt_along() -> None:
    """The flange is one short before anybody undid it: the line is there without being asked for."""
    entries = book(("part-off", "filler-tube", {"note": "hung on the wall"}), ("bolts-out", PUMP, DRAWN))
    found = ledger(TREE, entries)
    assert (found.flanges[PUMP].count.out, found.flanges[PUMP].holes.by_number[6].entries) == (7, (1,))
    (item, *_) = open_items(TREE, entries)
    assert (item.id, item.where) == (f"hole:{PUMP}:6:shared-and-out", "hung on the wall")


def test_one_use_washers_and_seals_must_be_new() -> None:
    """As many as came out; one that comes out again is wanted again."""
    steps: list[Step] = [("bolts-out", PUMP, {"holes": [1, 2, 3]}), ("bolts-back", PUMP, DRAWN)]
    (item,) = open_items(TREE, book(*steps))
    assert item.what == "0 of 3 sealing washers of the pump ring are new"
    steps.append(("one-use-replaced", PUMP, {"what": "washers", "count": 3}))
    assert open_items(TREE, book(*steps)) == ()
    steps += [("bolts-out", PUMP, {"holes": [2]}), ("bolts-back", PUMP, DRAWN)]
    assert [one.what for one in open_items(TREE, book(*steps))] == [
        "2 of 3 sealing washers of the pump ring are new"
    ]
    pan: list[Step] = [("part-off", "pan", {}), ("part-on", "pan", {})]
    assert ids(open_items(TREE, book(*pan))) == {"seal:pan:pan-gasket"}


def test_puller_bolts_come_out_again() -> None:
    """Both, and a flange without holes for them takes none."""
    steps: list[Step] = [("jack-bolts-in", PUMP, {"count": 2}), ("jack-bolts-out", PUMP, {"left": 1})]
    (item,) = open_items(TREE, book(*steps))
    assert item.what == "1 puller bolts are still in the pump ring"
    assert open_items(TREE, book(*steps, ("jack-bolts-out", PUMP, {"left": 0}))) == ()
    found = ledger(TREE, book(("jack-bolts-in", "pan-rail", {"count": 2})))
    assert "no holes for puller bolts" in found.ignored[0].why


def test_balls_are_counted_by_pocket() -> None:
    """Three out, two back: the third is named; one that never came wants an answer."""
    steps: list[Step] = [
        ("ball-out", "valve-body", {"pockets": "as-drawn"}),
        ("ball-back", "valve-body", {"pockets": [1, 2]}),
    ]
    (item,) = open_items(TREE, book(*steps))
    assert "1 of 3 check balls of the valve body are not back: pocket 5" in item.what
    steps[1] = ("exception", "valve-body", {"pocket": 5, "what": "missing-on-arrival"})
    steps += [("ball-back", "valve-body", {"pockets": "as-drawn"})]
    assert ids(open_items(TREE, book(*steps))) == {"pocket:valve-body:5:missing-on-arrival"}


def test_a_baseline_is_noted_or_declined() -> None:
    """The end play before the pump comes off."""
    off: list[Step] = [
        ("part-off", "pump", {}),
        ("part-on", "pump", {}),
        ("one-use-replaced", "pump", {"what": "pump-gasket", "count": 1}),
    ]
    assert ids(open_items(TREE, book(*off))) == {"baseline:pump"}
    declined: Step = ("baseline-declined", "pump", {"measure": "front-end-play", "reason": "no-instrument"})
    assert open_items(TREE, book(declined, *off)) == ()


def test_a_written_reason_covers_what_was_open_then() -> None:
    """Not what comes open later at the same place."""
    steps: list[Step] = [("bolts-out", PUMP, {"holes": [1]}), NEW]
    (item,) = open_items(TREE, book(*steps))
    steps.append(("reason", item.id, {"text": "sold as it stands", "covers": item.what}))
    assert open_items(TREE, book(*steps)) == ()
    assert [one.reason for one in all_items(TREE, book(*steps))] == ["sold as it stands"]
    steps.append(("bolts-out", PUMP, {"holes": [2]}))
    assert ids(open_items(TREE, book(*steps))) == {f"bolts:{PUMP}"}


def test_what_does_not_fit_is_listed_and_moves_nothing() -> None:
    """A hole that is not drawn, a flange of another box, an answer to nothing."""
    found = ledger(
        TREE,
        book(
            ("bolts-out", PUMP, {"holes": [1, 8]}),
            ("bolts-out", "tail", DRAWN),
            ("cleared", PUMP, {"hole": 3, "how": "replaced"}),
            ("part-off", "torus", {}),
        ),
    )
    assert [one.entry for one in found.ignored] == [1, 2, 3, 4]
    assert found.flanges[PUMP].count.out == 1


def test_what_is_next_on_the_way_to_what_is_aimed_at() -> None:
    """First what is lost otherwise, then the part; once it was reached, the way back."""
    aimed = book(("aim", "strip", {"parts": "pump"}), ("part-off", "converter", {}))
    assert summary(TREE, aimed, AT)[4] == "Next: front end play, then take off the front pump."
    measured = (
        *aimed,
        *book(("baseline-declined", "pump", {"measure": "front-end-play", "reason": "no-access"}), start=9),
    )
    assert summary(TREE, measured, AT)[4] == "Next: take off the front pump."
    reached = (*measured, *book(("part-off", "pump", {}), start=10))
    assert "refit the front pump" in summary(TREE, reached, AT)[4]


def test_five_lines_after_45_days() -> None:
    """What is out, where it lies, what is awaited, what is next."""
    entries = book(
        ("baseline", "pump", {"measure": "front-end-play", "value": "0.019 in"}),
        (
            "exception",
            PUMP,
            {"hole": 6, "what": "shared-and-out", "where_now": "with the filler tube, bay 2"},
        ),
        ("bolts-bagged", PUMP, {"holes": "as-drawn", "tag": "P1", "place": "shelf 3"}),
        ("jack-bolts-in", PUMP, {"count": 2}),
        ("jack-bolts-out", PUMP, {"left": 0}),
        ("part-off", "converter", {"note": "under the bench, nose up"}),
        ("part-off", "pump", {"note": "tray 1"}),
        (
            "order",
            "seal-pump-pump-gasket",
            {"name": "pump gasket", "count": 1, "hardness": "soft", "part": "pump"},
        ),
        ("order-status", "seal-pump-pump-gasket", {"status": "ordered", "promised": "2026-05-20"}),
    )
    told = summary(TREE, entries, AT + timedelta(days=45, hours=2))
    assert told == (
        "Last touched 45 days ago, on 2026-05-04, by bench: order status, seal pump pump gasket.",
        "Out: converter, front pump; 7 of 7 bolts of the pump ring.",
        "Lies: pump ring: 6 in bag P1, shelf 3; with the filler tube, bay 2; "
        "converter: under the bench, nose up; pump: tray 1.",
        "Awaited: pump gasket (promised for 2026-05-20, 29 days late).",
        "Next: chase pump gasket, then refit the front pump.",
    )
    stripped = (*entries, *book(("exception", PUMP, {"hole": 5, "what": "stripped"}), start=9))
    assert summary(TREE, stripped, AT + timedelta(days=45))[4] == (
        "Next: bolt of hole 5 of the pump ring: stripped: say: thread insert, replaced, or why not."
    )
    assert summary(TREE, (), AT)[1] == "Out: nothing."
