"""Photos of a job: taken from a form, shown alone and side by side, put elsewhere, taken back."""

from __future__ import annotations

import json
from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, InputFileError, RecordError
from bellhousing.tasks import photos
from bellhousing.web.pages import (
    Filled,
    Sent,
    as_json,
    kept,
    own_path,
    page,
    see,
    sent_back,
    shop_of,
    taking,
    wants_json,
    whole_of,
)
from bellhousing.web.problems import NotFound
from bellhousing.web.sheet import number_of, sheet_page

TAKES_PHOTOS = r"/job/\d+/photos(\.json)?"
# A photo and the words sent beside it.
LARGEST_FORM = photos.LARGEST_PHOTO + 64 * 1024
# A file named by its content never changes.
FOR_EVER = "private, max-age=31536000, immutable"


def shown(request: Request) -> Response:
    """The photos of a job as JSON; the page has them among its parts."""
    number = number_of(request)
    if not wants_json(request):
        return see(f"/job/{number}#photos")
    found = [photo.model_dump(mode="json") for photo in photos.photos_of_job(shop_of(request), number)]
    return Response(json.dumps(found, ensure_ascii=False, indent=2), media_type="application/json")


async def add(request: Request) -> Response:
    """Take a photo; what is none is refused beside the form."""
    async with request.form(max_files=2, max_fields=12) as form:
        sent = Sent({name: value for name, value in form.items() if isinstance(value, str)})
        # One field opens the camera, the other the files; whichever was used holds something.
        files = [value for _, value in form.multi_items() if isinstance(value, UploadFile)]
        chosen = next((file for file in files if file.filename), None)
        data = b"" if chosen is None else await chosen.read()
    name = None if chosen is None else chosen.filename
    return await run_in_threadpool(_taken, request, sent, data, name)


def _taken(request: Request, sent: Sent, data: bytes, name: str | None) -> Response:
    shop, number = shop_of(request), number_of(request)
    try:
        if name is None:
            raise InputFileError("no photo was chosen", remedy="take one or choose one, then add it")
        answer = photos.add_photo(
            shop,
            number,
            data,
            name=name,
            caption=sent.text("caption"),
            finding=_entry_in(sent),
            part=sent.text("part"),
            step=sent.text("step"),
            key=sent.given("key"),
        )
    except BellhousingError as error:
        return sent_back(request, error, "photo", sent, lambda back: sheet_page(request, number, back, 422))
    return kept(request, answer, own_path(sent.text("back"), f"/job/{number}#photos"))


def _entry_in(sent: Sent) -> int | None:
    given = sent.given("finding")
    if given is None:
        return None
    number = whole_of(given)
    if number is None:
        raise RecordError("that is no entry of this job", where=given[:40], remedy="give an entry's number")
    return number


def one(request: Request) -> Response:
    """One photo, large, with what is known of it."""
    photo = _photo(request)
    return as_json(photo) if wants_json(request) else _one_page(request, photo)


def _one_page(
    request: Request, photo: photos.PhotoAnswer, filled: Filled | None = None, status: int = 200
) -> Response:
    shop = shop_of(request)
    return page(
        request,
        "photo.html",
        status=status,
        photo=photo,
        others=[other for other in photos.photos_of_job(shop, photo.job) if other.number != photo.number],
        findings=shop.store.current_findings(photo.job),
        filled=filled or Filled(),
    )


def _photo(request: Request) -> photos.PhotoAnswer:
    number, photo = number_of(request), int(request.path_params["photo"])
    try:
        return photos.photo_on_job(shop_of(request), number, photo)
    except (RecordError, OverflowError):
        raise NotFound(f"job {number} has no photo {photo}", remedy="look through the job's photos") from None


def change(request: Request, sent: Sent) -> Response:
    """Put other words beside a photo, or let it belong to something else."""
    return _written(
        request,
        "change",
        sent,
        lambda: photos.change_photo(
            shop_of(request),
            number_of(request),
            int(request.path_params["photo"]),
            caption=sent.text("caption"),
            finding=_entry_in(sent),
            part=sent.text("part"),
            step=sent.text("step"),
            key=sent.given("key"),
        ),
    )


def withdraw(request: Request, sent: Sent) -> Response:
    """Take a photo back."""
    shop, number, photo = shop_of(request), number_of(request), int(request.path_params["photo"])
    reason, key = sent.text("reason"), sent.given("key")
    there = f"/job/{number}#photos"
    return _written(
        request, "withdraw", sent, lambda: photos.withdraw_photo(shop, number, photo, reason, key=key), there
    )


def _written(
    request: Request, form: str, sent: Sent, write: Callable[[], photos.PhotoAnswer], there: str = ""
) -> Response:
    photo = _photo(request)
    try:
        answer = write()
    except BellhousingError as error:
        return sent_back(request, error, form, sent, lambda back: _one_page(request, photo, back, 422))
    return kept(request, answer, there or f"/job/{answer.job}/photos/{answer.number}")


def compare(request: Request) -> Response:
    """Two photos of a job side by side; the first and the last where none are named."""
    number = number_of(request)
    found = photos.photos_of_job(shop_of(request), number)
    if not found:
        return see(f"/job/{number}#photos")
    by_number = {str(photo.number): photo for photo in found}
    left = by_number.get(request.query_params.get("left", ""), found[0])
    right = by_number.get(request.query_params.get("right", ""), found[-1])
    return page(request, "compare.html", job=number, photos=found, sides=(("left", left), ("right", right)))


def picture(request: Request) -> Response:
    """The file of a photo: small or large as JPEG, or the original as it came."""
    shop, number, digest = shop_of(request), number_of(request), str(request.path_params["digest"])
    try:
        path, kind = photos.photo_file(shop, number, digest, str(request.path_params["size"]))
    except RecordError as error:
        raise NotFound(error.what, where=f"job {number}", remedy=error.remedy or "look at the job") from None
    return FileResponse(path, media_type=kind, headers={"Cache-Control": FOR_EVER})


ROUTES = [
    Route("/job/{number:int}/photos", shown),
    Route("/job/{number:int}/photos.json", shown),
    Route("/job/{number:int}/photos", add, methods=["POST"]),
    Route("/job/{number:int}/photos.json", add, methods=["POST"]),
    Route("/job/{number:int}/photos/compare", compare),
    Route("/job/{number:int}/photos/{photo:int}", one),
    Route("/job/{number:int}/photos/{photo:int}.json", one),
    Route("/job/{number:int}/photos/{photo:int}/change", taking(change), methods=["POST"]),
    Route("/job/{number:int}/photos/{photo:int}/withdraw", taking(withdraw), methods=["POST"]),
    Route("/job/{number:int}/photo/{digest}/{size}", picture),
]
