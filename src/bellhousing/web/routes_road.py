"""Logs of drives on a job: taken from a form, put right, shown as JSON and as a picture."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.reports.drive_chart import drive_svg
from bellhousing.tasks.road_kept import readings_of_job
from bellhousing.tasks.road_logs import Asked, add_road_log, read_again
from bellhousing.web.pages import Sent, kept, see, sent_back, shop_of, speed_unit, taking, wants_json
from bellhousing.web.problems import NotFound
from bellhousing.web.road_part import chosen
from bellhousing.web.sheet import number_of, sheet_page
from bellhousing.web.under_way import UnderWay

LARGEST_LOG = 256 * 2**20
TAKES_LOGS = r"/job/\d+/road(\.json)?"
LONGEST_NAME = 120


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


ROUTES = [
    Route("/job/{number:int}/road", shown),
    Route("/job/{number:int}/road.json", shown),
    Route("/job/{number:int}/road.svg", picture),
    Route("/job/{number:int}/road", add, methods=["POST"]),
    Route("/job/{number:int}/road.json", add, methods=["POST"]),
    Route("/job/{number:int}/road/reading/{name:str}", how_far),
    Route("/job/{number:int}/road/reading/{name:str}/stop", stop, methods=["POST"]),
    Route("/job/{number:int}/road/{log:str}", taking(again), methods=["POST"]),
]
