"""The service plan of a shop: rules, what was done, calendar and letters."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from ical.calendar_stream import IcsCalendarStream
from pypdf import PdfReader

from bellhousing.errors import BellhousingError, InputFileError, RecordError
from bellhousing.records.entries import Car
from bellhousing.reports.calendar import Reminder, calendar_file
from bellhousing.tasks import accounting, ledger, ledger_parts, opening, service
from bellhousing.tasks.reminders import letter_pdf, letter_text, plan_calendar, write_calendar
from bellhousing.tasks.service_rules import service_rules
from bellhousing.tasks.service_shapes import DueAnswer
from bellhousing.tasks.shop import Shop, open_shop

TODAY = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop with two cars on a clock that stands still."""
    with open_shop(tmp_path / "shop", clock=lambda: TODAY) as opened:
        for name, box in (("grey-saloon", "box-a"), ("tan-tourer", "four-speed-linkage")):
            opened.store.add_car(Car(slug=name, name=name.replace("-", " "), box=box, owner="A. N. Owner"))
        yield opened


def state_of(shop: Shop, car: str, rule: str) -> DueAnswer:
    """How one service of one car stands."""
    plan = service.service_plan(shop, car)
    return next(item for item in plan.cars[0].due if item.rule == rule)


def test_nothing_known_is_said_to_be_so_and_what_would_tell(shop: Shop) -> None:
    """Every service of a new car cannot be told; bands only where the box has them, a modulator likewise."""
    plan = service.service_plan(shop)
    saloon, tourer = ({item.rule: item for item in car.due} for car in plan.cars)
    assert {item.state for item in saloon.values()} == {"cannot tell"}
    assert all(item.would_tell for item in saloon.values())
    assert "vacuum-hose" in saloon
    assert "band-adjustment" not in saloon
    assert "band-adjustment" in tourer
    assert "vacuum-hose" not in tourer
    assert "look-after-work" not in saloon


def test_what_is_noted_moves_the_day_and_can_be_taken_back(shop: Shop) -> None:
    """Done two years ago today: due today by time; taken back, nobody can tell again."""
    service.note_service(shop, "grey-saloon", "fluid and filter", day="2024-06-01", odometer="60,000 miles")
    item = state_of(shop, "grey-saloon", "fluid-and-filter")
    assert (item.state, item.by_day, item.by_odometer) == ("soon", "2026-06-01", "84,000 miles")
    assert shop.store.car("grey-saloon").odometer[0].distance_m == pytest.approx(60000 * 1609.344)
    number = service.service_plan(shop, "grey-saloon").cars[0].done[0].number
    service.withdraw_service(shop, "grey-saloon", number)
    assert state_of(shop, "grey-saloon", "fluid-and-filter").state == "cannot tell"
    with pytest.raises(RecordError):
        service.withdraw_service(shop, "grey-saloon", number)


def test_the_same_key_notes_it_once(shop: Shop) -> None:
    """A form sent twice leaves one entry."""
    for _ in range(2):
        service.note_service(shop, "grey-saloon", "annual-check", day="2026-05-01", key="k")
    assert len(shop.store.services.entries()) == 1


def test_book_of_work_tells_what_was_done_and_asks_for_a_look_afterwards(tmp_path: Path) -> None:
    """A new filter on a job counts as fluid and filter; after closing the car is due for a look, once."""
    moment = [TODAY]
    with open_shop(tmp_path, clock=lambda: moment[0]) as shop:
        opening.open_car(shop, "grey saloon", box="box-a")
        opening.open_job(shop, "grey-saloon", "due for fluid", odometer="61,000 miles")
        for off in (True, False):
            for part in ("pan", "filter") if off else ("filter", "pan"):
                ledger_parts.move_part(shop, 1, part, off=off)
        ledger.renewed(shop, 1, "filter element")
        accounting.put_hours(shop, 1, "1", "Vacuum hose renewed")
        opening.close_job(shop, 1, "done", despite="a test")
        assert state_of(shop, "grey-saloon", "fluid-and-filter").last == "1 June 2026 at 61,000 miles, job 1"
        assert state_of(shop, "grey-saloon", "vacuum-hose").last_day == "2026-06-01"
        look = state_of(shop, "grey-saloon", "look-after-work")
        assert (look.by_day, look.by) == (
            "2026-07-01",
            "1 July 2026 or 61,500 miles (best after 61,050 miles)",
        )
        moment[0] += timedelta(days=40)
        assert state_of(shop, "grey-saloon", "look-after-work").state == "overdue"
        service.note_service(shop, "grey-saloon", "look-after-work")
        rules = {item.rule for item in service.service_plan(shop, "grey-saloon").cars[0].due}
        assert "look-after-work" not in rules


@pytest.mark.parametrize(
    ("act", "says"),
    [
        (lambda s: service.note_service(s, "grey-saloon", "fluid"), "did you mean"),
        (lambda s: service.note_service(s, "grey-saloon", "service", day="2026-06-02"), "done yet"),
        (lambda s: service.note_service(s, "grey-saloon", "service", odometer="12 psi"), "psi"),
        (lambda s: service.note_odometer(s, "grey-saloon", " "), "no reading"),
        (lambda s: service.note_service(s, "red-coupe", "service"), "no car"),
        (lambda s: service.note_service(s, "grey-saloon", "service", day="1066-10-14"), "done yet"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    shop: Shop, act: Callable[[Shop], object], says: str
) -> None:
    """A service nobody knows, a day ahead, a pressure for a distance."""
    with pytest.raises(BellhousingError) as refused:
        act(shop)
    assert says in str(refused.value)
    assert not shop.store.services.entries()


def test_rules_are_the_shops_to_change(shop: Shop) -> None:
    """Another interval, one left out, one of its own; the source says whose they are."""
    (shop.folder / "service.yaml").write_text(
        "service: {miles: 6000, months: 12}\nseal-review: {off: true}\n"
        "wash: {name: Washed below, days: 90, km: 1000, risk: 1}\n",
        encoding="utf-8",
    )
    rules = {rule.rule: rule for rule in service.service_plan(shop).rules}
    assert rules["service"].every == "12 months or 6,000 miles, whichever comes first"
    assert rules["service"].source == "this shop’s own"
    assert rules["annual-check"].source == "common practice"
    assert "seal-review" not in rules
    assert rules["wash"].every == "90 days or 621 miles, whichever comes first"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("service: 3", "fields"),
        ("service: {months: -1}", "months"),
        ("new: {months: 3}", "name"),
        ("new: {name: x}", "never due"),
        ("service: {kinds: [five-speed]}", "five-speed"),
        ("service: {mnths: 3}", "mnths"),
        ("service: {months: .nan}", "months"),
    ],
)
def test_rules_that_cannot_be_are_refused_by_name(shop: Shop, text: str, says: str) -> None:
    """The file, the service and the field are said."""
    (shop.folder / "service.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(InputFileError) as refused:
        service_rules(shop)
    assert says in str(refused.value)
    assert "service.yaml" in str(refused.value)


def test_calendar_is_accepted_by_an_independent_reader(shop: Shop, tmp_path: Path) -> None:
    """Days, names and a reminder read back by another library; the same plan is the same file."""
    service.note_service(shop, "grey-saloon", "fluid-and-filter", day="2025-01-31", odometer="60,000 miles")
    service.note_service(shop, "grey-saloon", "annual-check", day="2026-01-31")
    plan = service.service_plan(shop)
    content = plan_calendar(shop, plan)
    assert plan_calendar(shop, plan) == content
    assert write_calendar(shop, plan, tmp_path / "service.ics") == 2
    read = IcsCalendarStream.calendar_from_ics(content.decode())
    days = {event.summary: event.dtstart for event in read.events}
    assert days == {
        "grey saloon: Fluid and filter": date(2027, 1, 31),
        "grey saloon: Annual check": date(2027, 1, 31),
    }
    assert all(len(event.alarm) == 1 for event in read.events)
    assert len({event.uid for event in read.events}) == 2


def test_names_of_days_stay_when_the_day_moves(shop: Shop) -> None:
    """Done again, the same event comes back on another day, so that no calendar shows it twice."""
    uids = []
    for day in ("2026-01-31", "2026-05-31"):
        service.note_service(shop, "grey-saloon", "annual-check", day=day)
        content = plan_calendar(shop, service.service_plan(shop)).decode()
        uids.append([line for line in content.splitlines() if line.startswith("UID")])
    assert uids[0] == uids[1]


@pytest.mark.parametrize(
    "typed",
    ["a;b,c\\n\nBEGIN:VEVENT", "x" * 300, "öäü 😀 שלום", "tab\tbell\x07null\x00", 'quote " : ; ,'],
)
def test_calendar_holds_whatever_was_typed(typed: str) -> None:
    """Long lines are folded within 75 octets at whole letters, and nothing typed begins or ends a part."""
    content = calendar_file([Reminder("a/b", date(2026, 2, 28), typed, typed)], title=typed, at=TODAY)
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert content.endswith(b"END:VCALENDAR\r\n")
    (event,) = IcsCalendarStream.calendar_from_ics(content.decode()).events
    kept = "".join(sign for sign in typed if sign.isprintable() or sign in "\n\t")
    assert event.description == kept


def test_letter_says_what_is_due_and_is_one_page(shop: Shop) -> None:
    """As text and as PDF; nothing due is no letter."""
    service.note_service(shop, "grey-saloon", "annual-check", day="2025-01-31", odometer="60,000 miles")
    plan = service.service_plan(shop, "grey-saloon")
    text = letter_text(shop, plan.cars[0], plan.today)
    assert "A. N. Owner" in text
    assert "Annual check: by 31 January 2026 (overdue)" in text
    pages = PdfReader(io.BytesIO(letter_pdf(shop, plan.cars[0], plan.today))).pages
    assert len(pages) == 1
    assert "overdue" in pages[0].extract_text()
    with pytest.raises(RecordError):
        letter_text(shop, service.service_plan(shop, "tan-tourer").cars[0], plan.today)
