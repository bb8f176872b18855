"""What each address is asked, what is sent to it and what it answers, beside what its route says itself.

Addresses stand here without .json and without the kinds of their parts; a test holds every route to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bellhousing.tasks import (
    accounting,
    adjusting,
    bench,
    building,
    car_history,
    changing_settings,
    checking,
    evening,
    evening_drives,
    evening_game,
    fits,
    fitting_car,
    job_list,
    leaks,
    learning,
    ledger,
    measuring,
    noting,
    opening,
    ordering,
    people,
    photos,
    plan,
    proving,
    ranked_jobs,
    road_kept,
    road_logs,
    service,
    sharing,
    shop_boxes,
    simulated_drive,
    stocking,
    stripping,
    tagging,
    work_book,
)
from bellhousing.tasks.answers import CarAnswer, Shape
from bellhousing.tasks.ledger_shapes import FlangeAnswer, PartAnswer
from bellhousing.tasks.report_shapes import OwnerReport
from bellhousing.tasks.shop_settings import ShopSettings
from bellhousing.web.bench_tools import TOOLS

PDF, SVG, JSON, SCRIPT, CALENDAR, TEXT, ANY = (
    "application/pdf",
    "image/svg+xml",
    "application/json",
    "text/javascript",
    "text/calendar",
    "text/plain",
    "application/octet-stream",
)


class StartAnswer(job_list.JobPageAnswer):
    """The first page: the cars that were on the bench last, and a page of jobs."""

    cars: tuple[CarAnswer, ...]


class EverybodyAnswer(Shape):
    """The people of the shop."""

    people: tuple[people.PersonAnswer, ...]


class WhoAnswer(Shape):
    """Who was let in."""

    name: str
    role: str


class LeftAnswer(Shape):
    """Whether somebody was let out."""

    left: bool


class ReadingAnswer(Shape):
    """How far the reading of a log is [bytes]."""

    done: int
    total: int


class StoppedAnswer(Shape):
    """Whether there was a reading to stop."""

    stopped: bool


@dataclass(frozen=True)
class Told:
    """What is asked in the address, what is sent, and what comes back.

    `answer` is a shape, or tasks whose answers are such shapes; `listed` where it is a list of them.
    A field that ends in a hyphen stands for every field that begins so. `kind` is the sort of file where
    neither a page nor JSON comes back. `problem` is told as JSON only where `answer` is.
    """

    answer: Any = None
    asks: tuple[str, ...] = ()
    sends: tuple[str, ...] = ()
    files: tuple[str, ...] = ()
    listed: bool = False
    nullable: bool = False
    status: int = 200
    kind: str | None = None

    @property
    def answers(self) -> tuple[Any, ...]:
        """The shapes and tasks, one or several."""
        if self.answer is None:
            return ()
        return self.answer if isinstance(self.answer, tuple) else (self.answer,)


WORK = (
    "arrived authority back bag box by check condition count decision deed declined figure flange form gate"
    " hard holes hours how item key kind left line measure name note number part parts part- place pocket"
    " pockets price promised rate reason said sort stage status step sum supplier tag tax text value what"
    " when where where_now who why without_numbers entry figure_unit"
)
WORK_ANSWERS = (
    stripping.choose_aims,
    ledger.tick,
    ordering.orders_of_job,
    accounting.account_of_job,
    building.building,
    noting.note,
)
SHEET = ("about", "before", "fault", "fits", "log", "noted", "prove", "rate", "rule", "say")
OF_TOOLS = tuple(sorted({entry.name for tool in TOOLS.values() for entry in tool.entries}))
PHOTO = ("caption", "finding", "part", "step", "key")
STOCK = ("kind", "box", "part", "size", "count", "mark", "seen")
FRAME = ("did", "noted")
PEOPLE = ("name", "role", "phrase")


def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


LOOKS: Mapping[str, Told] = {
    "/": Told(StartAnswer, ("q", "page", "show", "car")),
    "/shop": Told(StartAnswer, ("q", "page", "show", "car")),
    "/cars": Told(job_list.car_page, ("q", "page")),
    "/car/{slug}": Told(car_history.car_history),
    "/boxes": Told(shop_boxes.boxes_of_shop),
    "/boxes/new": Told(None, ("from", "right")),
    "/boxes/{slug}": Told(shop_boxes.box_of_shop),
    "/settings": Told(changing_settings.settings_of_shop),
    "/job/{number}": Told(ranked_jobs.job_sheet, SHEET),
    "/job/{number}/causes": Told(ranked_jobs.causes_of_job),
    "/job/{number}/next": Told(ranked_jobs.next_of_job),
    "/job/{number}/shift-map": Told(ranked_jobs.shift_map_of_job, ("fault",)),
    "/job/{number}/shift-map.svg": Told(None, ("fault",), kind=SVG),
    "/job/{number}/leaks": Told(leaks.leaks_of_job),
    "/job/{number}/adjust": Told(adjusting.adjusting_of_job),
    "/job/{number}/plan": Told(plan.plan_of_job, ("rate",)),
    "/job/{number}/proof": Told(proving.proof, ("before",)),
    "/job/{number}/proof.svg": Told(None, ("before",), kind=SVG),
    "/job/{number}/fit": Told(fitting_car.fit_of_job),
    "/job/{number}/report": Told(OwnerReport, ("kind", "units", "rate")),
    "/job/{number}/report.pdf": Told(None, ("kind", "units", "rate"), kind=PDF),
    "/job/{number}/measured": Told(measuring.measured_on_job, ("rule",)),
    "/job/{number}/bench": Told(bench.bench_of_job),
    "/job/{number}/fits": Told(fits.fits_of_job, ("rule",)),
    "/job/{number}/drive": Told(
        simulated_drive.SimulatedAnswer.model_fields["drive"].annotation, ("manoeuvre", "fault", "severity")
    ),
    "/job/{number}/road": Told(road_kept.readings_of_job),
    "/job/{number}/road.svg": Told(None, ("log",), kind=SVG),
    "/job/{number}/road/reading/{name}": Told(ReadingAnswer, nullable=True, kind=JSON),
    "/job/{number}/road/{log}": Told(dict[str, Any], ("from", "to", "only")),
    "/job/{number}/photos": Told(photos.photos_of_job),
    "/job/{number}/photos/compare": Told(None, ("left", "right")),
    "/job/{number}/photos/{photo}": Told(photos.photo_on_job),
    "/job/{number}/photo/{digest}/{size}": Told(kind=ANY),
    "/job/{number}/share": Told(),
    "/job/{number}/strip": Told(stripping.strip_of_job, ("to", "choose", *FRAME)),
    "/job/{number}/build": Told(building.building, FRAME),
    "/job/{number}/parts": Told(ordering.orders_of_job, ("fits", *FRAME)),
    "/job/{number}/money": Told(accounting.account_of_job, FRAME),
    "/job/{number}/open": Told(ledger.open_on_job, FRAME),
    "/job/{number}/book": Told(work_book.BookLine, FRAME, listed=True),
    "/job/{number}/flanges": Told(ledger.ledger_of_job, FRAME),
    "/job/{number}/ledger": Told(ledger.ledger_of_job, FRAME),
    "/job/{number}/tags": Told(None, FRAME),
    "/job/{number}/flange/{name}": Told(FlangeAnswer, FRAME),
    "/job/{number}/part/{name}": Told(PartAnswer, FRAME),
    "/job/{number}/bag/{name}": Told(tagging.tag_of_bag, FRAME),
    "/learn": Told(learning.learning),
    "/learn/tally": Told(dict[str, Any], kind=JSON),
    "/bench": Told(stocking.stock_of_shop, ("tool", "box", *OF_TOOLS)),
    "/bench/{tool}": Told(tuple(tool.work for tool in TOOLS.values()), OF_TOOLS),
    "/stock": Told(stocking.stock_of_shop, ("box",)),
    "/due": Told(service.service_plan, ("car",)),
    "/due/calendar.ics": Told(None, ("car",), kind=CALENDAR),
    "/due/letter/{car}.pdf": Told(kind=PDF),
    "/due/letter/{car}.txt": Told(kind=TEXT),
    "/evening": Told(None, ("box",)),
    "/evening/table": Told(evening.evening, ("box", "broken", "how")),
    "/evening/drive": Told(evening_drives.evening_drive, ("box", "drive", "broken", "how")),
    "/evening/case/{name}": Told(evening_game.told),
    "/login": Told(None, ("back", "left")),
    "/people": Told(EverybodyAnswer),
    "/shared/{token}": Told(None, ("units",)),
    "/shared/{token}/report.pdf": Told(None, ("units",), kind=PDF),
    "/shared/{token}/photo/{digest}/{size}": Told(kind=ANY),
    "/health": Told(checking.health, kind=JSON),
    "/openapi": Told(dict[str, Any], kind=JSON),
    "/worker.js": Told(kind=SCRIPT),
    "/static/{path}": Told(kind=ANY),
}
SENDS: Mapping[str, Told] = {
    "/jobs": Told(opening.open_job, sends=("car", "complaint", "odometer", "key"), status=201),
    "/cars": Told(
        opening.open_car, sends=("name", "box", "axle_ratio", "tyre_radius", "altitude", "note"), status=201
    ),
    "/unit": Told(sends=("back", "unit", "theme")),
    "/boxes": Told(shop_boxes.save_box, sends=("text", "replace", "begun"), status=201),
    "/boxes/check": Told(shop_boxes.check_box, sends=("text", "replace")),
    "/settings": Told(changing_settings.change_settings, sends=(*ShopSettings.model_fields, "key")),
    "/job/{number}/understand": Told(noting.preview, sends=("text",)),
    "/job/{number}/note": Told(noting.note, sends=("text", "instead", "key")),
    "/job/{number}/answer": Told(noting.answer_question, sends=("finding", "answer", "key")),
    "/job/{number}/close": Told(opening.close_job, sends=("why", "causes", "despite", "cause-")),
    "/job/{number}/reopen": Told(opening.reopen_job, sends=("why",)),
    "/job/{number}/entry/{entry}/correct": Told(noting.correct, sends=("text", "key")),
    "/job/{number}/entry/{entry}/withdraw": Told(noting.withdraw, sends=("reason", "key")),
    "/job/{number}/entry/{entry}/instead": Told(noting.take_instead, sends=("instead", "key")),
    "/job/{number}/leak": Told(leaks.note_leak, sends=("text", "key")),
    "/job/{number}/fit": Told(fitting_car.fit_of_job, sends=("before",)),
    "/job/{number}/measure": Told(measuring.measure_on_job, sends=("text", "key")),
    "/job/{number}/road": Told(road_logs.add_road_log, ("reading",), ("columns", "rate"), ("log",)),
    "/job/{number}/road/reading/{name}/stop": Told(StoppedAnswer, kind=JSON),
    "/job/{number}/road/{log}": Told(road_logs.read_again, sends=("columns", "rate")),
    "/job/{number}/photos": Told(photos.add_photo, sends=(*PHOTO, "back"), files=("photo",)),
    "/job/{number}/photos/{photo}/change": Told(photos.change_photo, sends=PHOTO),
    "/job/{number}/photos/{photo}/withdraw": Told(photos.withdraw_photo, sends=("reason", "key")),
    "/job/{number}/share": Told(sharing.share, sends=("days", "page"), status=201),
    "/job/{number}/share/{link}/revoke": Told(),
    "/job/{number}/work": Told(WORK_ANSWERS, sends=_words(WORK)),
    "/learn/use": Told(learning.use_own, sends=("use",)),
    "/learn/job": Told(learning.forget, sends=("job", "again")),
    "/learn/tally": Told(learning.take_in, sends=("tally",)),
    "/learn/back": Told(learning.take_back, sends=("digest",)),
    "/stock/add": Told(stocking.add_stock, sends=(*STOCK, "ordered")),
    "/stock/take": Told(stocking.use_stock, sends=(*STOCK, "job")),
    "/stock/arrived": Told(stocking.arrived, sends=STOCK),
    "/stock/count": Told(stocking.count_stock, sends=(*STOCK, "shelf", "on_order")),
    "/due/done": Told(
        service.note_service, sends=("car", "service", "day", "odometer", "note", "key"), asks=("car",)
    ),
    "/due/odometer": Told(service.note_odometer, sends=("car", "odometer", "day"), asks=("car",)),
    "/due/withdraw": Told(service.withdraw_service, sends=("car", "number"), asks=("car",)),
    "/login": Told(WhoAnswer, sends=("back", "name", "phrase")),
    "/logout": Told(LeftAnswer),
    "/people/add": Told(people.add, sends=PEOPLE),
    "/people/role": Told(people.set_role, sends=("name", "role")),
    "/people/phrase": Told(people.set_phrase, sends=("name", "phrase")),
    "/people/remove": Told(people.remove, sends=("name",)),
}
