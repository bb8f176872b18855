"""Parts got and money said yes to on a job of box A: right numbers first, exact sums, what blocks is told."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest

from bellhousing.errors import BellhousingError, StillOpenError
from bellhousing.tasks import accounting, ledger_parts, measuring, opening, ordering
from bellhousing.tasks.accounting import read_hours, read_range
from bellhousing.tasks.money import read_sum
from bellhousing.tasks.shop import Shop
from tests.tasks.conftest import MOMENT

CONVERTER = "part-converter"


def numbers_read(shop: Shop, job: int) -> None:
    """The numbers a supplier asks for."""
    for name, value in (("casting", "8 624 117"), ("tag", "K 104"), ("engine", "6.6 l, 1964")):
        ordering.note_number(shop, job, name, value)


def test_from_a_worn_part_to_its_old_one_offered_back(shop: Shop, job: int) -> None:
    """Wanted, ordered only with its numbers, late, here but different, sent back, right, fitted, offered."""
    ledger_parts.note_part(shop, job, "converter", "hub grooved", "replace", number="0.006 in")
    assert [need.text for need in ordering.orders_of_job(shop, job).wanted] == [
        "1 × Converter (hard): hub grooved; 0.006 in"
    ]
    assert "not read off yet" in ordering.add_line(shop, job, "all").warnings[0]
    with pytest.raises(BellhousingError, match="casting number on the left rail"):
        ordering.set_status(shop, job, CONVERTER, "ordered")
    numbers_read(shop, job)
    ordered = ordering.set_status(
        shop, job, "converter", "ordered", supplier="north", price="£300", promised="in 2 weeks"
    )
    assert ordered.wanted == ()
    assert ordered.blocked == "1 line blocks the job, until 2026-05-18 as promised."
    shop.clock = lambda: MOMENT + timedelta(days=20)
    late = ordering.orders_of_job(shop, job).blocking[0]
    assert (late.late, late.supplier, late.price) == (6, "north", Decimal("300.00"))
    different = ordering.note_arrival(shop, job, CONVERTER, "differs", note="hub longer")
    assert "nobody can say until when" in different.blocked
    ordering.set_status(shop, job, CONVERTER, "returned")
    ordering.add_line(shop, job, "converter")
    ordering.set_status(shop, job, CONVERTER, "sent")
    ordering.note_arrival(shop, job, CONVERTER, "same")
    fitted = ordering.set_status(shop, job, CONVERTER, "fitted")
    assert fitted.blocked == "No part blocks the job."
    assert fitted.offer_back == ("Converter",)
    with pytest.raises(StillOpenError, match="was not offered the old converter"):
        opening.close_job(shop, job)
    assert ordering.note_old_part(shop, job, CONVERTER, "offered").offer_back == ()


def test_what_the_strip_destroys_and_the_fits_want_is_on_the_list(shop: Shop, job: int) -> None:
    """Before anything is undone, each thing once; washers of the pump by its bolts."""
    measuring.measure_on_job(shop, job, "front end play 0.021 in")
    measuring.measure_on_job(shop, job, "front thrust washer 0.0715 in")
    off = ledger_parts.move_part(shop, job, "front pump", off=True)
    assert not any("was not measured" in text for text in off.warnings)
    found = ordering.orders_of_job(shop, job, planned=["front pump"])
    wanted = {need.line: need.count for need in found.wanted}
    assert wanted["washers-pump-ring"] == 7
    assert wanted["fit-front-washer-0.08-green"] == 1
    assert wanted["seal-front-pump-pump-gasket"] == 1
    assert not any("pump-bolt-washers" in line for line in wanted)
    ordering.add_line(shop, job, "all", planned=["front pump"])
    again = ordering.orders_of_job(shop, job, planned=["front pump"])
    assert [need for need in again.wanted if need.line in wanted] == []
    ordering.add_line(shop, job, "all", planned=["front pump"])
    assert len({line.line for line in again.lines}) == len(again.lines)


def test_money_is_exact_and_what_goes_beyond_is_said_at_once(shop: Shop, job: int) -> None:
    """Hours before any yes, then over the sum, then over the hours, then a yes for more; nothing closes."""
    accounting.set_terms(shop, job, rate="£80/h", tax="20 %")
    first = accounting.put_hours(shop, job, "1:20", "road test")
    assert first.total == Decimal("127.68")
    assert "nothing is authorised yet" in first.warnings[0]
    with pytest.raises(BellhousingError, match="in EUR, the job is in £"):
        accounting.put_price(shop, job, "fluid", "fluid", "20 EUR")
    accounting.authorise(shop, job, "diagnose", "130", hours="1-2", by="owner", how="telephone")
    accounting.authorise(shop, job, "open", "£400.00", hours="3-4", by="owner", how="in person")
    over = accounting.put_hours(shop, job, "4.5", "box out")
    assert over.over == Decimal("29.68")
    assert any("0.5 h over the 3–4 h" in text for text in over.warnings)
    with pytest.raises(StillOpenError, match=r"559\.68 is charged and 530\.00 authorised"):
        opening.close_job(shop, job)
    paid = accounting.vary(shop, job, "29.68", "seized bolts", by="owner", how="telephone")
    assert (paid.over, paid.authorised) == (Decimal("0.00"), Decimal("559.68"))
    assert "seized bolts: owner, telephone, 2026-05-04 09:30 UTC" in paid.variations[0].text
    assert opening.close_job(shop, job).status == "closed"
    other = opening.open_job(shop, "grey-saloon", "again").number
    later = accounting.put_hours(shop, other, "1", "look")
    assert later.net == Decimal("80.00")
    assert later.assumed == ("£80 an hour, 20 % tax, as said last on another job",)


REFUSED: list[tuple[Callable[[Shop, int], object], str]] = [
    (lambda shop, job: ordering.add_line(shop, job, " "), "nothing is named"),
    (lambda shop, job: ordering.add_line(shop, job, "seal", count=0), "from 1"),
    (lambda shop, job: ordering.set_status(shop, job, "drum", "ordered"), "nothing called 'drum'"),
    (lambda shop, job: ordering.note_number(shop, job, "number", "1"), "could be several"),
    (lambda shop, job: ordering.note_number(shop, job, "chassis", "1"), "asked for are"),
    (
        lambda shop, job: accounting.authorise(shop, job, "paint", "1", by="a", how="b"),
        "diagnose, open, repair",
    ),
    (lambda shop, job: accounting.authorise(shop, job, "open", "1", by="", how="b"), "say who"),
    (lambda shop, job: accounting.authorise(shop, job, "open", "lots", by="a", how="b"), "cannot be read"),
    (lambda shop, job: accounting.vary(shop, job, "10", "", by="a", how="b"), "needs a reason"),
    (lambda shop, job: accounting.put_hours(shop, job, "1", ""), "what was done"),
    (lambda shop, job: accounting.put_price(shop, job, "paint", "x", "1"), "part, fluid"),
    (lambda shop, job: accounting.set_terms(shop, job), "nothing is said"),
    (lambda shop, job: accounting.set_terms(shop, job, tax="-1"), "per cent"),
]


def test_what_cannot_be_is_refused_with_what_would_be_right(shop: Shop, job: int) -> None:
    """And nothing is written."""
    for step, said in REFUSED:
        with pytest.raises(BellhousingError, match=said):
            step(shop, job)
    assert shop.store.work_entries(job) == ()


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("2.5", "2.5"),
        ("2,5 h", "2.5"),
        ("2:30", "2.5"),
        ("1 h 20 min", "1.33"),
        ("90 min", "1.5"),
        ("3", "3"),
    ],
)
def test_hours_as_people_write_them(text: str, hours: str) -> None:
    """Figures, clocks and minutes."""
    assert read_hours(text) == Decimal(hours)


@pytest.mark.parametrize("text", ["", "0", "2:75", "-1", "1e3", "soon", "900", "12 days"])
def test_what_are_no_hours(text: str) -> None:
    """None of them, and no range that runs backwards."""
    with pytest.raises(BellhousingError):
        read_hours(text)
    with pytest.raises(BellhousingError):
        read_range("5-3")


def test_sums_as_people_write_them() -> None:
    """To the hundredth, with or without a sign; parts of a hundredth are refused."""
    assert [read_sum(text) for text in ("1200", "£1,250.50", "840,50 EUR")] == [
        Decimal("1200.00"),
        Decimal("1250.50"),
        Decimal("840.50"),
    ]
    for text in ("", "-5", "12.3456", "£5 EUR", "5 mph", "1e5", "99999999"):
        with pytest.raises(BellhousingError):
            read_sum(text)
