"""A job taken apart and put together on box A: one tap for all as drawn, a line for what is not."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import timedelta
from functools import partial

import pytest

from bellhousing.errors import BellhousingError, StillOpenError
from bellhousing.tasks import ledger, ledger_parts, opening, tagging, work_book
from bellhousing.tasks.ledger_shapes import LedgerAnswer
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.work.open_items import open_items
from tests.tasks.conftest import MOMENT

PUMP = "pump-ring"


@pytest.fixture
def stripped(shop: Shop, job: int) -> int:
    """The pump out: one bolt missing on arrival, one thread stripped, one shared with a bracket."""
    ledger_parts.note_baseline(shop, job, "front pump", "front-end-play", value="0.019 in")
    ledger_parts.move_part(shop, job, "filler tube", off=True, note="hung on the wall")
    ledger.tick(shop, job, "bolts-bagged", "bell-bolts", tag="B1", place="shelf 3")
    ledger.note_exception(shop, job, PUMP, 4, "missing on arrival")
    ledger.tick(shop, job, "bolts-bagged", "pump ring", tag="B2", place="shelf 3")
    ledger.note_exception(shop, job, PUMP, 2, "stripped", note="three threads gone")
    ledger.puller(shop, job, PUMP, into=True)
    ledger_parts.move_part(shop, job, "front pump", off=True, note="tray 1")
    return job


def names(answer: LedgerAnswer) -> set[str]:
    """What is open."""
    return {item.id for item in answer.open}


def test_a_whole_strip_and_build(shop: Shop, stripped: int) -> None:
    """It stays open until each has its line; then only torques and gates are left, and counts are even."""
    job = stripped
    with pytest.raises(StillOpenError) as refused:
        opening.close_job(shop, job)
    listed = "\n".join(refused.value.problems)
    for said in (
        "missing on arrival",
        "three threads gone",
        "filler-tube bracket",
        "puller bolts",
        "B1, shelf 3",
    ):
        assert said in listed
    assert opening.job(shop, job).status == "open"
    steps: list[Callable[[], object]] = [
        partial(ledger.puller, shop, job, PUMP, into=False),
        partial(ledger_parts.move_part, shop, job, "front pump", off=False),
        partial(ledger.renewed, shop, job, "pump gasket"),
        partial(ledger.renewed, shop, job, "pump outer ring"),
        partial(ledger.renewed, shop, job, "pump-ring washers"),
        partial(ledger.answer_exception, shop, job, PUMP, 4, "replaced", note="from stock"),
        partial(ledger.answer_exception, shop, job, PUMP, 2, "thread-insert"),
        partial(ledger.tick, shop, job, "bolts-back", PUMP),
        partial(ledger.tick, shop, job, "bolts-back", "bell-bolts"),
        partial(ledger.renewed, shop, job, "filler tube ring"),
        partial(ledger_parts.move_part, shop, job, "filler tube", off=False),
    ]
    for step in steps:
        step()
        with pytest.raises(StillOpenError):
            opening.close_job(shop, job)
    done = ledger.answer_exception(shop, job, "bell-bolts", 1, "refitted", who="Ann")
    assert {name.split(":")[0] for name in names(done)} == {"gate", "torque"}
    assert done.balances
    pump = next(one for one in done.flanges if one.slug == PUMP)
    assert pump.count.text == "7 bolts: 7 back in; 1 new"
    bell = next(one for one in done.flanges if one.slug == "bell-bolts")
    assert "refitted by Ann" in bell.holes[0].text
    closed = opening.close_job(shop, job, despite="the torques are on the paper sheet")
    assert closed.status == "closed"


def test_balls_by_pocket_apart_from_the_holes_of_the_same_part(shop: Shop, job: int) -> None:
    """A ball that was missing is a line of its pocket; a replaced one goes in and is counted."""
    ledger.tick_balls(shop, job, "ball-out", "valve body")
    missing = ledger.note_exception(shop, job, "valve body", 3, "missing", pocket=True)
    assert "pocket:valve-body:3:missing-on-arrival" in names(missing)
    ledger.tick_balls(shop, job, "ball-back", "valve body")
    ledger.answer_exception(shop, job, "valve body", 3, "replaced", pocket=True)
    done = ledger.tick_balls(shop, job, "ball-back", "valve body")
    assert "4 check balls: 4 back in; 1 new" in done.said
    assert not any("pocket" in name or "ball" in name for name in names(done))


def test_a_reason_in_writing_closes_it_and_stays(shop: Shop, stripped: int) -> None:
    """For all that is open, beside each, and again when more comes open later."""
    opening.close_job(shop, stripped, despite="the box goes in exchange")
    found = ledger.open_on_job(shop, stripped)
    assert found.open == ()
    assert {item.reason for item in found.closed_by_reason} == {"the box goes in exchange"}
    opening.reopen_job(shop, stripped)
    ledger.tick(shop, stripped, "bolts-out", "pan-bolts")
    with pytest.raises(StillOpenError, match="1 thing is"):
        opening.close_job(shop, stripped)


def test_opened_again_after_45_days_it_tells_in_five_lines(shop: Shop, stripped: int) -> None:
    """What is out, where it lies, what is awaited, what is next."""
    shop.clock = lambda: MOMENT + timedelta(days=45)
    five = ledger.ledger_of_job(shop, stripped).five
    assert len(five) == 5
    assert "45 days ago" in five[0]
    assert "filler tube, front pump; 6 of 6 bolts" in five[1]
    assert "6 in bag B2, shelf 3" in five[2]
    assert five[3] == "Awaited: nothing."
    assert "hole 2 of the front pump to case: stripped (three threads gone)" in five[4]


def test_a_measurement_of_the_job_is_the_baseline(shop: Shop, job: int) -> None:
    """Noted as a finding before the part came off, it need not be said twice; afterwards it is too late."""
    from bellhousing.tasks import noting

    noting.note(shop, job, "line pressure idle D 62 psi")
    off = partial(ledger_parts.move_part, shop, job, "line-pressure tap plug", off=True)
    assert not any("line drive idle was not measured" in text for text in off().warnings)
    shop.clock = lambda: MOMENT + timedelta(hours=1)
    late = ledger_parts.move_part(shop, job, "modulator", off=True)
    assert any("modulator holds vacuum was not measured" in text for text in late.warnings)
    assert any(text.endswith(f"bellhousing hours authorise {job} open SUM") for text in late.warnings)
    shop.clock = lambda: MOMENT + timedelta(hours=2)
    noting.note(shop, job, "modulator holds vacuum")
    assert "baseline:modulator" in names(ledger.ledger_of_job(shop, job))


def test_a_correction_is_put_in_place_of_the_old_and_both_stay(shop: Shop, job: int) -> None:
    """And what does not fit is refused before anything is written."""
    first = ledger.tick(shop, job, "bolts-out", "pan", "1-5")
    second = ledger.tick(shop, job, "bolts-out", "pan", "1-4", corrects=first.entry)
    pan = next(one for one in second.flanges if one.slug == "pan-bolts")
    assert pan.count.out == 4
    chain = work_book.book_lines(shop, job, second.entry)
    assert [(line.number, line.stands) for line in chain] == [(first.entry, False), (second.entry, True)]
    work_book.withdraw_work(shop, job, second.entry or 0, "the wrong car")
    assert names(ledger.ledger_of_job(shop, job)) == set()
    assert len(work_book.book_lines(shop, job)) == 3


REFUSED: list[tuple[Callable[[Shop, int], object], str]] = [
    (lambda shop, job: ledger.tick(shop, job, "bolts-out", "pan", "14"), "no number 14"),
    (lambda shop, job: ledger.tick(shop, job, "bolts-out", "pan", "0"), "count from 1"),
    (lambda shop, job: ledger.tick(shop, job, "bolts-out", "torus"), "no flange 'torus'"),
    (lambda shop, job: ledger.tick(shop, job, "bolts-lost", "pan"), "bolts-out, bolts-bagged"),
    (lambda shop, job: ledger.tick_balls(shop, job, "ball-out", "pan"), "no check balls"),
    (lambda shop, job: ledger.puller(shop, job, "pan", into=True), "no holes for puller bolts"),
    (lambda shop, job: ledger.renewed(shop, job, "drive belt"), "used once"),
    (lambda shop, job: ledger.renewed(shop, job, "pan"), "one-use washers"),
    (lambda shop, job: ledger.note_exception(shop, job, "pan", 3, "bent"), "missing-on-arrival"),
    (lambda shop, job: ledger.answer_exception(shop, job, "pan", 3, "refitted"), "nothing is open at 3"),
    (
        lambda shop, job: ledger_parts.note_part(shop, job, "pan", "dented", "replace"),
        "reason or a number",
    ),
    (
        lambda shop, job: ledger_parts.note_baseline(shop, job, "front pump", "front-end-play"),
        "no-access",
    ),
    (lambda shop, job: ledger_parts.note_bag(shop, job, "", "shelf"), "tag and a place"),
    (lambda shop, job: ledger.tick(shop, job, "bolts-bagged", "pan", tag="<b>"), "is no tag"),
    (
        lambda shop, job: ledger.note_exception(shop, job, "pan", 1, "missing", pocket=True),
        "they lie in: valve",
    ),
    (lambda shop, job: ledger_parts.give_reason(shop, job, "bolts:pan", "x"), "not open"),
    (lambda shop, job: ledger.tick(shop, job, "bolts-out", "pan", who=""), "say who"),
    (lambda shop, job: ledger.tick(shop, 99, "bolts-out", "pan"), "no job 99"),
]


def test_what_cannot_be_is_refused_with_what_would_be_right(shop: Shop, job: int) -> None:
    """And nothing is written."""
    for step, said in REFUSED:
        with pytest.raises(BellhousingError, match=said):
            step(shop, job)
    assert shop.store.work_entries(job) == ()


def test_a_box_without_a_list_of_parts_says_so(shop: Shop) -> None:
    """And its jobs close as ever."""
    opening.open_car(shop, "Blank", box="three-speed-vacuum")
    number = opening.open_job(shop, "blank", "leaks").number
    with pytest.raises(BellhousingError, match="no list of its parts"):
        ledger.tick(shop, number, "bolts-out", "pan")
    assert opening.close_job(shop, number).status == "closed"


def test_two_tablets_ticking_one_bag_at_once(shop: Shop, job: int) -> None:
    """Each its own program on the same records: no tick is lost, none counts twice."""
    start = threading.Barrier(2, timeout=120)
    failed: list[BaseException] = []

    def tablet(who: str, holes: list[int]) -> None:
        try:
            with open_shop(shop.folder, clock=lambda: MOMENT, cache=shop.cache) as own:
                start.wait()
                for hole in holes:
                    ledger.tick(own, job, "bolts-bagged", "pan", str(hole), tag="B7", who=who)
                ledger.tick(own, job, "bolts-bagged", "pan", tag="B7", who=who, key="the same tap")
        except BaseException as error:
            failed.append(error)

    threads = [
        threading.Thread(target=tablet, args=two) for two in (("left", [1, 2, 3, 4]), ("right", [4, 3, 6, 7]))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    found = ledger.ledger_of_job(shop, job)
    assert [(bag.tag, bag.count) for bag in found.bags] == [("B7", 13)]
    assert found.balances
    assert sum(line.kind == "bolts-bagged" for line in work_book.book_lines(shop, job)) == 9


def test_a_tag_says_what_is_in_the_bag(shop: Shop, stripped: int) -> None:
    """Car, flange, count, lengths by hole, washers, sealant, what is odd, the day, and a short address."""
    tag = tagging.tag_of_bag(shop, stripped, "B2", base="http://shop.local:8350/")
    assert tag.address == f"http://shop.local:8350/job/{stripped}/bag/B2"
    assert (tag.count, tag.drawn, tag.flange_name) == (6, 7, "Front pump to case")
    told = "; ".join(tag.lines)
    for said in (
        "Grey saloon",
        "6 of 7 bolts 5/16-18",
        "1 1/4 in",
        "bonded sealing washer, fit new",
        "stripped",
    ):
        assert said in told
    assert "2026-05-04" in told
    assert len(tagging.tags_of_job(shop, stripped)) == 2
    assert tagging.drawn_tag(tag).startswith("<svg")
    with pytest.raises(BellhousingError, match="the bags are: B1, B2"):
        tagging.tag_of_bag(shop, stripped, "B9")


def test_the_open_items_of_a_page_are_those_that_keep_it_open(shop: Shop, stripped: int) -> None:
    """One reckoning for both."""
    book = work_book.read_book(shop, stripped)
    ids = {item.id for item in open_items(book.tree, book.entries, book.usual, book.taken)}
    assert names(ledger.ledger_of_job(shop, stripped)) == ids
