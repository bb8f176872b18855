"""Logs of drives on a job: taken from a form, put right, shown as JSON and as a picture."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO, Any

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.reports.drive_chart import drive_svg, drive_table, drive_text
from bellhousing.tasks import opening
from bellhousing.tasks.road_kept import readings_of_job
from bellhousing.tasks.road_logs import Asked, add_road_log, read_again
from bellhousing.tasks.road_window import Window, log_window
from bellhousing.tasks.simulated_drive import (
    SEVERITIES,
    USUAL,
    SimulatedAnswer,
    faults_to_drive,
    manoeuvres,
    simulated,
)
from bellhousing.web.pages import (
    Problem,
    Sent,
    as_json,
    kept,
    page,
    refused,
    see,
    sent_back,
    shop_of,
    speed_unit,
    taking,
    wants_json,
)
from bellhousing.web.problems import NotFound
from bellhousing.web.road_part import chosen
from bellhousing.web.sheet import number_of, sheet_page
from bellhousing.web.under_way import UnderWay

LARGEST_LOG = 256 * 2**20
TAKES_LOGS = r"/job/\d+/road(\.json)?"
LONGEST_NAME = 120
DRAWN = (("wide", 960, 420), ("narrow", 320, 330))
ASKED = {"manoeuvre": USUAL, "fault": "", "severity": "middling"}


def shown(request: Request) -> Response:
    """What was read of a job's logs, as JSON; the page has it among its parts."""
    number = number_of(request)
    if not wants_json(request):
        return see(f"/job/{number}#road")
    found = [reading.model_dump(mode="json") for reading in readings_of_job(shop_of(request), number)]
    text = json.dumps(found, ensure_ascii=False, indent=2)
    return Response(text, media_type="application/json")


def picture(request: Request) -> Response:
    """The drive as a picture file, of the log named with ?log= or the last one added."""
    number = number_of(request)
    reading = chosen(readings_of_job(shop_of(request), number), request.query_params.get("log", ""))
    if reading is None:
        raise NotFound(f"job {number} has no log of a drive", remedy="add one on the job's page")
    drawn = drive_svg(reading.picture, speed_unit(request), width=960, height=440)
    return Response(drawn, media_type="image/svg+xml")


async def add(request: Request) -> Response:
    """Take a log; one that cannot be read is refused beside the form."""
    try:
        async with request.form(max_files=1, max_fields=8) as form:
            texts = {name: value for name, value in form.items() if isinstance(value, str)}
            sent, log = Sent(texts), form.get("log")
            if not isinstance(log, UploadFile) or not log.filename:
                return await run_in_threadpool(_taken, request, sent, None, "")
            return await run_in_threadpool(_taken, request, sent, log.file, log.filename)
    except ClientDisconnect:
        return Response(status_code=400)  # stopped while it was sent: nobody reads this answer


def _taken(request: Request, sent: Sent, log: IO[bytes] | None, name: str) -> Response:
    number = number_of(request)
    try:
        if log is None:
            raise InputFileError("no log was chosen", remedy="choose a logger's file, then add it")
        with TemporaryDirectory(prefix="bellhousing-") as folder:
            path = Path(folder) / _safe(name)
            with path.open("wb") as target:
                shutil.copyfileobj(log, target, 2**20)
            with _under_way(request).followed(request.query_params.get("reading", "")) as reading:
                answer = add_road_log(
                    shop_of(request), number, path, asked=_asked(sent), name=path.name,
                    progress=reading.progress, stop=reading.stopped.is_set,
                )  # fmt: skip
    except BellhousingError as error:
        told = _for_page(error, name)
        return sent_back(request, told, "road", sent, lambda back: sheet_page(request, number, back, 422))
    return kept(request, answer, f"/job/{number}#road")


async def how_far(request: Request) -> Response:
    """How far the reading of a log is that was sent under this name, as JSON; nothing where none is."""
    reading = _under_way(request).find(str(request.path_params["name"]))
    return JSONResponse(None if reading is None else {"done": reading.done, "total": reading.total})


async def stop(request: Request) -> Response:
    """Stop the reading of a log; the one who sent it is told by the answer to the log itself."""
    reading = _under_way(request).find(str(request.path_params["name"]))
    if reading is not None:
        reading.stopped.set()
    return JSONResponse({"stopped": reading is not None})


def _under_way(request: Request) -> UnderWay:
    found = request.app.state.under_way
    assert isinstance(found, UnderWay)
    return found


def again(request: Request, sent: Sent) -> Response:
    """Read a kept log again with other columns; what it told before is put right."""
    number, log = number_of(request), str(request.path_params["log"])
    try:
        answer = read_again(shop_of(request), number, log, _asked(sent))
    except BellhousingError as error:
        told = _for_page(error, "")
        return sent_back(request, told, "columns", sent, lambda back: sheet_page(request, number, back, 422))
    return kept(request, answer, f"/job/{number}?log={log}#road")


def _asked(sent: Sent) -> Asked:
    columns = tuple(text.strip() for text in sent.text("columns").split(";") if text.strip())
    return Asked(columns, sent.given("rate"))


def _safe(name: str) -> str:
    """A file's name without its folders and without what a name on disk may not hold."""
    last = re.split(r"[/\\]", name)[-1]
    return re.sub(r"[^\w .()+-]", "_", last).strip(" .")[-LONGEST_NAME:] or "log"


def _for_page(error: BellhousingError, name: str) -> BellhousingError:
    """The error with the name the file had, and a remedy that speaks of the field and not of an option."""
    remedy = None if error.remedy is None else error.remedy.replace("--column ", "")
    where = error.where
    if where is not None and Path(where).is_absolute():
        where = _safe(name) if name else None
    return InputFileError(error.what, where=where, remedy=remedy)


def window(request: Request) -> Response:
    """A stretch of a log on a page of its own, ?from= and ?to= in seconds; drawn from all of its rows."""
    number, log = number_of(request), str(request.path_params["log"])
    query, shop = request.query_params, shop_of(request)
    begin, end = _seconds(query.get("from", "")), _seconds(query.get("to", ""))
    try:
        found = log_window(shop, number, log, begin=begin, end=end)
    except InputFileError as error:
        raise NotFound(error.what, remedy=error.remedy) from None
    unit, picture = speed_unit(request), found.picture
    if wants_json(request):
        return Response(_as_json(found), media_type="application/json")
    sizes = [size for size in DRAWN if query.get("only", size[0]) == size[0]]
    return page(
        request,
        "road_window.html",
        job=opening.job(shop, number),
        found=found,
        pictures={name: Markup(drive_svg(picture, unit, width=w, height=h, name=f"log-{name}"))
                  for name, w, h in sizes},
        text=drive_text(picture, unit),
        table=drive_table(picture, unit),
    )  # fmt: skip


def _seconds(text: str) -> float | None:
    try:
        found = float(text)
    except ValueError:
        return None
    return found if abs(found) < 1e9 else None


def _as_json(found: Window) -> str:
    picture = found.picture
    plain = {
        "from": found.begin, "to": found.end, "first": found.first, "last": found.last, "rows": found.rows,
        "every_row": found.fine, "time_s": picture.time, "speed_m_s": picture.speed,
        "engine_rpm": picture.engine,
    }  # fmt: skip
    return json.dumps(plain)


def simulated_drive(request: Request) -> Response:
    """A simulated drive of the job's car, ?manoeuvre=, ?fault= and ?severity=."""
    number, query, shop = number_of(request), request.query_params, shop_of(request)
    asked = {name: query.get(name, usual) for name, usual in ASKED.items()}
    found, problem = None, None
    try:
        # A drive takes seconds, so none is begun unasked.
        if "manoeuvre" in query or wants_json(request):
            found = simulated(shop, number, **asked)
    except BellhousingError as error:
        told = refused(request, error, 422)
        if told is not None:
            return told
        problem = Problem.of(error)
    if found is not None and wants_json(request):
        return as_json(found.drive)
    return page(
        request,
        "simulated.html",
        status=200 if problem is None else 422,
        job=opening.job(shop, number),
        found=found,
        problem=problem,
        asked=asked,
        manoeuvres=manoeuvres(),
        faults=faults_to_drive(shop, number),
        severities=tuple(SEVERITIES),
        **_told_of_drive(found, speed_unit(request)),
    )


def _told_of_drive(found: SimulatedAnswer | None, unit: str) -> dict[str, Any]:
    """A simulated drive in words and pictures, nothing of either where none was driven."""
    if found is None:
        return {"text": "", "pictures": {}}
    pictures = {
        name: Markup(drive_svg(found.picture, unit, width=w, height=h, name=f"drive-{name}"))
        for name, w, h in DRAWN
    }
    return {"text": drive_text(found.picture, unit), "pictures": pictures}


ROUTES = [
    Route("/job/{number:int}/drive", simulated_drive),
    Route("/job/{number:int}/drive.json", simulated_drive),
    Route("/job/{number:int}/road", shown),
    Route("/job/{number:int}/road.json", shown),
    Route("/job/{number:int}/road.svg", picture),
    Route("/job/{number:int}/road", add, methods=["POST"]),
    Route("/job/{number:int}/road.json", add, methods=["POST"]),
    Route("/job/{number:int}/road/reading/{name:str}", how_far),
    Route("/job/{number:int}/road/reading/{name:str}/stop", stop, methods=["POST"]),
    Route("/job/{number:int}/road/{log:str}.json", window),
    Route("/job/{number:int}/road/{log:str}", window, methods=["GET"]),
    Route("/job/{number:int}/road/{log:str}", taking(again), methods=["POST"]),
]
