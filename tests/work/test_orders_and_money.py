"""What has to be got and what it costs: lines once, sums exact, a yes for whatever goes beyond."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from bellhousing.work.account import Terms, account
from bellhousing.work.open_items import open_items
from bellhousing.work.orders import (
    Need,
    blocking,
    identification,
    needs,
    order_lines,
    still_to_order,
)
from tests.work.small_tree import Step, book, ids, small_tree

TREE = small_tree()


def order(line: str, **more: Any) -> Step:
    """An order of one hard part."""
    return ("order", line, {"name": line, "count": 1, "hardness": "hard", **more})


def test_the_list_holds_the_soft_kit_of_what_is_off_and_the_hard_parts_decided_on() -> None:
    """Seals used twice are not on it; washers are all of a part that is off, else of the bolts out."""
    entries = book(
        ("bolts-out", "pump-ring", {"holes": [1, 2]}),
        ("part-off", "pump", {}),
        (
            "part-finding",
            "converter",
            {"condition": "hub grooved", "decision": "replace", "number": "0.006 in"},
        ),
        ("part-finding", "pan", {"condition": "flat", "decision": "reuse"}),
    )
    washer = Need("fit-front-washer-0.080", "front washer 0.080 in", 1, "hard", "end play")
    wanted = {need.line: need for need in needs(TREE, entries, fits=[washer])}
    assert {line: (need.count, need.hardness) for line, need in wanted.items()} == {
        "seal-pump-pump-gasket": (1, "soft"),
        "washers-pump-ring": (7, "soft"),
        "part-converter": (1, "hard"),
        "fit-front-washer-0.080": (1, "hard"),
    }
    assert wanted["part-converter"].why == "hub grooved; 0.006 in"
    (washers,) = needs(TREE, book(("bolts-out", "pump-ring", {"holes": [1, 2]})))
    assert washers.count == 2
    planned = {need.line: need.count for need in needs(TREE, (), planned=["pump", "friction-plates"])}
    assert planned == {"seal-pump-pump-gasket": 1, "washers-pump-ring": 7, "part-friction-plates": 1}


def test_a_line_ordered_by_two_is_one_line() -> None:
    """What is still short is named, what was sent back is wanted again."""
    twice = book(order("part-converter"), order("part-converter"))
    (line,) = order_lines(twice)
    assert (line.count, line.entries) == (1, (1, 2))
    wanted = (Need("part-converter", "converter", 3, "hard", ""),)
    assert [need.count for need in still_to_order(wanted, order_lines(twice))] == [2]
    back = (*twice, *book(("order-status", "part-converter", {"status": "returned"}), start=2))
    assert [need.count for need in still_to_order(wanted, order_lines(back))] == [3]
    again = (*back, *book(order("part-converter"), start=3))
    assert order_lines(again)[0].status == "to-order"


def test_new_is_laid_against_old_and_the_old_offered_back() -> None:
    """It came and differs: it blocks; fitted: the old one is the owner's until offered."""
    entries: list[Step] = [
        order("part-converter", supplier="north"),
        ("arrived", "part-converter", {"check": "differs", "note": "hub 2 mm longer"}),
    ]
    (item,) = open_items(None, book(*entries))
    assert "came and differ from the old (hub 2 mm longer)" in item.what
    assert len(blocking(order_lines(book(*entries)))) == 1
    entries += [
        ("arrived", "part-converter", {"check": "same"}),
        ("order-status", "part-converter", {"status": "fitted"}),
    ]
    assert ids(open_items(None, book(*entries))) == {"old-part:part-converter"}
    entries.append(("old-part", "part-converter", {"what": "kept"}))
    assert "kept" in open_items(None, book(*entries))[0].what
    entries.append(("old-part", "part-converter", {"what": "offered"}))
    assert open_items(None, book(*entries)) == ()


def test_what_blocks_the_job_comes_worst_first() -> None:
    """Without a day first, then the latest day; what is here blocks nothing."""
    entries = book(
        order("early"),
        ("order-status", "early", {"status": "ordered", "promised": "2026-05-10"}),
        order("late"),
        ("order-status", "late", {"status": "sent", "promised": "2026-06-01"}),
        order("no-day"),
        order("here"),
        ("arrived", "here", {"check": "same"}),
    )
    found = blocking(order_lines(entries))
    assert [line.line for line in found] == ["no-day", "late", "early"]
    assert [line.late(date(2026, 5, 11)) for line in found] == [False, False, True]


def test_the_numbers_the_supplier_asks_for() -> None:
    """Those of the box file, empty until read off."""
    entries = book(("identification", "tag number", {"value": "K 104"}))
    assert identification(TREE, entries) == {"casting number": "", "tag number": "K 104"}


YES = {"sum": "500", "by": "owner", "how": "telephone"}


def test_work_beyond_the_authorised_sum_is_open_until_a_yes() -> None:
    """Three authorisations add up, with tax; a variation is a yes for more."""
    steps: list[Step] = [
        ("terms", "job", {"rate": "80", "tax": "20", "before": "£"}),
        ("authority", "diagnose", {**YES, "sum": "120"}),
        ("authority", "open", {**YES, "hours_low": "3", "hours_high": "4.5"}),
        ("hours", "diagnose", {"hours": "1.25", "what": "pressures"}),
        ("hours", "open", {"hours": "5", "what": "box out and open"}),
    ]
    found = account(book(*steps))
    assert (found.net, found.tax, found.total) == (Decimal("500.00"), Decimal("100.00"), Decimal("600.00"))
    assert (found.authorised, found.over) == (Decimal("620"), Decimal("0.00"))
    assert [(one.stage, one.over) for one in found.stages] == [("diagnose", 0), ("open", Decimal("0.5"))]
    steps += [
        order("seals", price="66.67"),
        ("order-status", "seals", {"status": "ordered"}),
    ]
    found = account(book(*steps))
    assert (found.total, found.over) == (Decimal("680.00"), Decimal("60.00"))
    (item,) = [one for one in open_items(None, book(*steps)) if one.id == "money"]
    assert "680.00 is charged and 620.00 authorised: 60.00 beyond" in item.what
    steps.append(("variation", "job", {**YES, "sum": "60", "why": "seal kit"}))
    assert account(book(*steps)).over == 0


def test_what_is_not_ordered_yet_is_said_to_come() -> None:
    """So that the yes can be asked for before it is spent."""
    found = account(book(("terms", "job", {"tax": "20"}), order("drum", price="200")))
    assert (found.total, found.to_come, found.would_be_over) == (
        Decimal(0),
        Decimal("240.00"),
        Decimal("240.00"),
    )


def test_hours_without_a_rate_are_not_priced_at_nothing() -> None:
    """They are listed as unpriced; the shop's usual terms hold where the job says none."""
    entries = book(("hours", "diagnose", {"hours": "2", "what": "road test"}))
    assert [charge.what for charge in account(entries).unpriced] == ["road test"]
    assert account(entries, Terms(rate=Decimal("75.50"))).net == Decimal("151.00")


@given(
    st.lists(st.decimals("0.25", "40", places=2), max_size=12),
    st.lists(st.decimals("0", "9999.99", places=2), max_size=12),
    st.decimals("1", "300", places=2),
    st.decimals("0", "30", places=1),
)
def test_totals_are_exact(hours: list[Decimal], sums: list[Decimal], rate: Decimal, tax: Decimal) -> None:
    """Each line to the nearest hundredth, tax on their sum, against fractions."""
    steps: list[Step] = [("terms", "job", {"rate": str(rate), "tax": str(tax)})]
    steps += [("hours", "repair", {"hours": str(one), "what": "work"}) for one in hours]
    steps += [("price", "part", {"what": "part", "sum": str(one)}) for one in sums]
    cents = sum(_cents(Fraction(one) * Fraction(rate)) for one in hours)
    cents += sum(_cents(Fraction(one)) for one in sums)
    taxed = _cents(Fraction(cents, 100) * Fraction(tax) / 100)
    found = account(book(*steps))
    got = [int(sum * 100) for sum in (found.net, found.tax, found.total)]
    assert got == [cents, taxed, cents + taxed]


def _cents(sum: Fraction) -> int:
    return int(sum * 100 + Fraction(1, 2))
