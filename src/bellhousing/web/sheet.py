"""Everything the page of one job shows, gathered for its template."""

from __future__ import annotations

import os
from dataclasses import dataclass
from secrets import token_urlsafe

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from bellhousing.errors import BellhousingError, FindingError, InputFileError, RecordError
from bellhousing.quantities.units import to_si
from bellhousing.reports.chart import Table
from bellhousing.reports.shift_map_chart import (
    DrivenShift,
    MapBand,
    ShiftMapPicture,
    shift_map_svg,
    shift_map_table,
    shift_map_text,
)
from bellhousing.tasks import adjusting, leaks, noting, opening, ranked_jobs
from bellhousing.tasks.answers import (
    Alternative,
    CauseAnswer,
    CurveBand,
    FindingAnswer,
    NoteAnswer,
    Sheet,
    ShiftMapAnswer,
)
from bellhousing.tasks.leak_shapes import LeakAnswer
from bellhousing.tasks.on_job import OnJob, on_job
from bellhousing.tasks.plan import plan_on
from bellhousing.tasks.settings_terms import settings_or_usual
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.siblings import with_siblings
from bellhousing.web.bench_part import bench_part
from bellhousing.web.pages import Filled, Problem, page, shop_of, speed_unit
from bellhousing.web.photo_part import photo_part
from bellhousing.web.problems import NotFound
from bellhousing.web.proof_part import proof_part
from bellhousing.web.road_part import road_part
from bellhousing.web.work_frame import frame_of
from bellhousing.web.work_parts import open_shown
from bellhousing.web.work_sheet import work_part

SOUND = "sound"
MOST_CAUSES = 8
FEWEST_CAUSES = 3
# A cause less likely than this is not drawn on the shift map unasked.
DRAWN_FROM = 0.05
WIDE = (640, 300)
NARROW = (310, 300)
NOTHING = Markup("")
STILL_OPEN = "still open"


@dataclass(frozen=True)
class MapPart:
    """The shift map as the page shows it, at two widths, or why it cannot be shown."""

    wide: Markup = NOTHING
    narrow: Markup = NOTHING
    text: str = ""
    table: Table | None = None
    fault: str | None = None
    fault_name: str | None = None
    moved: bool = False
    driven: int = 0
    problem: Problem | None = None


def number_of(request: Request) -> int:
    """The job an address names.

    Raises
    ------
    NotFound : there is none.
    """
    number = int(request.path_params["number"])
    try:
        opening.job(shop_of(request), number)
    except (RecordError, OverflowError):
        raise NotFound(
            f"there is no job {number}", remedy="look through the jobs on the first page"
        ) from None
    return number


def sheet_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """The page of one job, with a form that was refused filled as it was sent."""
    shop = shop_of(request)
    now = on_job(shop, number)
    sheet = ranked_jobs.sheet_on(now)
    asked = {question.finding for question in sheet.interview}
    found = [entry for entry in sheet.answer.findings if entry.finding is not None]
    leak = leak_part(now)
    query = request.query_params
    bench = bench_part(shop, number, choose=bool(query.get("fits")), rule=query.get("rule", ""))
    findings = {entry.number for entry in found}
    wet = {entry.number for entry in leak.notes if entry.counts} - findings if leak else set()
    elsewhere = wet | bench.numbers
    return page(
        request,
        "job.html",
        status=status,
        sheet=sheet,
        job=sheet.job,
        answer=sheet.answer,
        found=[entry for entry in found if entry.finding not in asked],
        answered={entry.finding: entry for entry in found if entry.finding in asked},
        notes=[entry for entry in sheet.answer.findings if not (entry.finding or entry.number in elsewhere)],
        causes=shown_causes(sheet.answer.causes),
        noted=_noted(shop, number, sheet, request.query_params.get("noted", "")),
        leaks=leak,
        bench=bench,
        adjust=adjusting.adjusting_on(now),
        road=road_part(request, number),
        photos=photo_part(shop, number, query.get("about", "")),
        noted_entries=shop.store.current_findings(number),
        own=proof_part(
            shop,
            number,
            asked=bool(request.query_params.get("prove")),
            before=request.query_params.get("before", ""),
            unit=speed_unit(request),
        ),
        told_of_leaks=wet,
        work=work_part(shop, number),
        **still_open(request, number, filled),
        **plan_part(now, rate_asked(request)),
        map=map_part(now, sheet, request.query_params.get("fault"), speed_unit(request)),
        said=request.query_params.get("say", ""),
        key=token_urlsafe(12),
        # What was refused comes back in its form, whatever became of the job meanwhile.
        closed="" if sheet.job.status == "open" or (filled and filled.form) else f"/job/{number}",
        filled=filled or Filled(),
    )


def still_open(request: Request, number: int, filled: Filled | None) -> dict[str, object]:
    """What keeps a job open, where closing it was refused for that."""
    wrong = None if filled is None else filled.problem_of("close")
    if wrong is None or STILL_OPEN not in wrong.what:
        return {"still": (), "f": None}
    frame = frame_of(request, number, f"/job/{number}/open")
    return {"still": open_shown(frame), "f": frame}


def rate_asked(request: Request) -> str:
    """What an hour costs: as asked, or as set for this program, or in the shop's settings, or nothing."""
    usual = os.environ.get("BELLHOUSING_RATE", "") or settings_or_usual(shop_of(request)).rate
    return request.query_params.get("rate", usual).strip()


def plan_part(now: OnJob, rate: str) -> dict[str, object]:
    """What to do on a job; a rate that cannot be read is told beside it."""
    try:
        plan = plan_on(now, rate=rate or None)
    except InputFileError as error:
        return {"plan": plan_on(now), "plan_problem": Problem.of(error), "rate": rate}
    return {"plan": plan, "plan_problem": None, "rate": rate}


def leak_part(now: OnJob) -> LeakAnswer | None:
    """Where the car of a job leaks, None where its box names no places."""
    try:
        return leaks.leaks_on(now)
    except FindingError:
        return None


def shown_causes(causes: tuple[CauseAnswer, ...]) -> tuple[CauseAnswer, ...]:
    """The causes worth a line: those of at least one in a hundred, three at least and eight at most."""
    likely = sum(cause.probability >= 0.01 for cause in causes)
    return causes[: min(MOST_CAUSES, max(FEWEST_CAUSES, likely))]


def noted_address(number: int, answer: NoteAnswer) -> str:
    """The address of a job's page that shows what was just understood."""
    kept = ".".join(str(entry.number) for entry in answer.findings if entry.number is not None)
    return f"/job/{number}?noted={kept}#write" if kept else f"/job/{number}#findings"


def _noted(shop: Shop, number: int, sheet: Sheet, text: str) -> list[FindingAnswer]:
    wanted = {part for part in text.split(".")[:20] if part.isdecimal()}
    shown = []
    for entry in sheet.answer.findings:
        if str(entry.number) in wanted:
            shown.append(entry.model_copy(update={"alternatives": _alternatives(shop, number, entry)}))
    return shown


def _alternatives(shop: Shop, number: int, entry: FindingAnswer) -> tuple[Alternative, ...]:
    try:
        again = noting.preview(shop, number, entry.said)
    except BellhousingError:
        return ()
    near = tuple(
        other for read in again.findings for other in read.alternatives if read.finding == entry.finding
    )
    prepared = shop.prepared(shop.store.car(shop.store.job(number).car))
    return with_siblings(prepared, entry.model_copy(update={"alternatives": near})).alternatives


def map_part(now: OnJob, sheet: Sheet, asked: str | None, unit: str) -> MapPart:
    """The shift map of a job: sound, and with the cause asked for or else the leading one."""
    fault = asked or _leading(sheet)
    try:
        sound = ranked_jobs.shift_map_on(now)
        suspected = None if fault is None else ranked_jobs.shift_map_on(now, fault)
    except BellhousingError as error:
        return MapPart(problem=Problem.of(error))
    picture = picture_of(sound, suspected)
    return MapPart(
        wide=Markup(_svg(picture, unit, WIDE, "map-wide")),
        narrow=Markup(_svg(picture, unit, NARROW, "map-narrow")),
        text=shift_map_text(picture, unit),
        table=shift_map_table(picture, unit),
        fault=fault,
        fault_name=picture.suspected_name,
        moved=picture.moved,
        driven=len(picture.driven),
    )


def _svg(picture: ShiftMapPicture, unit: str, size: tuple[int, int], name: str) -> str:
    return shift_map_svg(picture, unit, width=size[0], height=size[1], name=name)


def _leading(sheet: Sheet) -> str | None:
    first = next((cause for cause in sheet.answer.causes if cause.cause != SOUND), None)
    noted = any(entry.finding is not None for entry in sheet.answer.findings)
    return first.cause if first is not None and noted and first.probability >= DRAWN_FROM else None


def picture_of(sound: ShiftMapAnswer, suspected: ShiftMapAnswer | None) -> ShiftMapPicture:
    """What the chart shows, in SI, of the answers that carry mph and inHg."""
    return ShiftMapPicture(
        vacuum=tuple(float(to_si(value, sound.vacuum_unit)) for value in sound.vacuum),
        sound=tuple(_band(band, sound.speed_unit) for band in sound.curves),
        suspected=tuple(_band(band, sound.speed_unit) for band in (suspected.curves if suspected else ())),
        suspected_name=None if suspected is None else suspected.fault_name,
        driven=tuple(
            DrivenShift(
                shift=point.shift,
                speed=float(to_si(point.speed, sound.speed_unit)),
                vacuum=float(to_si(point.vacuum, sound.vacuum_unit)),
                throttle=point.throttle,
            )
            for point in sound.driven
        ),
    )


def _band(band: CurveBand, unit: str) -> MapBand:
    def speeds(values: tuple[float | None, ...]) -> tuple[float | None, ...]:
        return tuple(None if value is None else float(to_si(value, unit)) for value in values)

    return MapBand(band.shift, speeds(band.low), speeds(band.median), speeds(band.high))
