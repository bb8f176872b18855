"""Writing on a job: notes, corrections, answers; what is refused comes back as it was typed."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import BellhousingError, FindingError, RecordError
from bellhousing.tasks import noting, opening
from bellhousing.tasks.answers import NoteAnswer
from bellhousing.tasks.ranking import with_limit_shown
from bellhousing.tasks.siblings import with_siblings
from bellhousing.web.pages import (
    Problem,
    Sent,
    as_json,
    kept,
    page,
    refused,
    sent_back,
    shop_of,
    taking,
    wants_json,
)
from bellhousing.web.sheet import noted_address, number_of, sheet_page

# Parts of a chosen alternative: place of the finding in the note, finding, states, word.
BETWEEN = "|"

TICKED = "cause-"


def understand(request: Request, sent: Sent) -> Response:
    """What would be understood of a line, with nothing kept."""
    number = number_of(request)
    text = sent.text("text")
    if not text.strip():
        return page(request, "understood.html", found=None)
    try:
        answer = _with_limits(request, number, noting.preview(shop_of(request), number, text))
    except BellhousingError as error:
        return refused(request, error, 422) or page(
            request, "understood.html", found=None, problem=Problem.of(error)
        )
    return as_json(answer) if wants_json(request) else page(request, "understood.html", found=answer.findings)


def _with_limits(request: Request, number: int, answer: NoteAnswer) -> NoteAnswer:
    """Each reading with its window and what else it could be; a box that cannot be used has neither."""
    shop = shop_of(request)
    try:
        prepared = shop.prepared(shop.store.car(shop.store.job(number).car))
    except BellhousingError:
        return answer
    known = prepared.catalogue.findings
    shown = (
        with_siblings(prepared, with_limit_shown(prepared, one)) if one.finding in known else one
        for one in answer.findings
    )
    return answer.model_copy(update={"findings": tuple(shown)})


def note(request: Request, sent: Sent) -> Response:
    """Keep what a line says; with `instead`, taken for the alternative that was tapped."""
    shop, number = shop_of(request), number_of(request)

    def keep() -> NoteAnswer:
        noted = noting.note(shop, number, sent.text("text"), key=sent.given("key"))
        chosen = sent.given("instead")
        return noted if chosen is None else _taken_instead(request, number, noted, sent)

    return _kept(request, number, "note", sent, keep)


def _taken_instead(request: Request, number: int, noted: NoteAnswer, sent: Sent) -> NoteAnswer:
    place, finding, states, word = _alternative(sent.text("instead"))
    if not 0 <= place < len(noted.findings) or noted.findings[place].number is None:
        return noted
    entry = noted.findings[place].number
    assert entry is not None
    key = sent.given("key")
    put = noting.take_instead(
        shop_of(request), number, entry, finding, states=states, word=word, key=key and f"{key}-instead"
    )
    findings = (*noted.findings[:place], *put.findings, *noted.findings[place + 1 :])
    return noted.model_copy(update={"findings": findings})


def _alternative(chosen: str) -> tuple[int, str, tuple[str, ...], str | None]:
    parts = chosen.split(BETWEEN)
    if len(parts) != 4 or not parts[0].isdecimal():
        raise FindingError("this is none of the alternatives that were offered", where=chosen[:80])
    states = tuple(state for state in parts[2].split(",") if state)
    return int(parts[0][:6]), parts[1], states, parts[3] or None


def correct(request: Request, sent: Sent) -> Response:
    """Put a new line in place of an entry."""
    shop, number, entry = shop_of(request), number_of(request), _entry(request)
    key = sent.given("key")
    return _kept(
        request,
        number,
        f"correct-{entry}",
        sent,
        lambda: noting.correct(shop, number, entry, sent.text("text"), key=key),
    )


def withdraw(request: Request, sent: Sent) -> Response:
    """Take an entry back."""
    shop, number, entry = shop_of(request), number_of(request), _entry(request)
    reason, key = sent.text("reason"), sent.given("key")
    return _kept(
        request,
        number,
        f"correct-{entry}",
        sent,
        lambda: noting.withdraw(shop, number, entry, reason, key=key),
    )


def instead(request: Request, sent: Sent) -> Response:
    """Take an entry's words for another finding or state."""
    shop, number, entry = shop_of(request), number_of(request), _entry(request)

    def keep() -> NoteAnswer:
        _, finding, states, word = _alternative(sent.text("instead"))
        return noting.take_instead(
            shop, number, entry, finding, states=states, word=word, key=sent.given("key")
        )

    return _kept(request, number, f"correct-{entry}", sent, keep)


def answer(request: Request, sent: Sent) -> Response:
    """Answer one question about the complaint."""
    shop, number = shop_of(request), number_of(request)
    finding, given, key = sent.text("finding"), sent.text("answer"), sent.given("key")
    try:
        noted = noting.answer_question(shop, number, finding, given, key=key)
    except BellhousingError as error:
        return _sheet_back(request, number, error, "complaint", sent)
    return kept(request, noted, f"/job/{number}#complaint")


def close(request: Request, sent: Sent) -> Response:
    """Close a job with the causes that were ticked or typed; what is refused comes back as it was sent."""
    number = number_of(request)
    ticked = [name.removeprefix(TICKED) for name in sent.values if name.startswith(TICKED)]
    typed = sent.text("causes").split(";")
    try:
        job = opening.close_job(
            shop_of(request), number, sent.text("why"), [*ticked, *typed], despite=sent.text("despite")
        )
    except RecordError as error:
        return _sheet_back(request, number, error, "close", sent)
    return kept(request, job, f"/job/{job.number}")


def reopen(request: Request, sent: Sent) -> Response:
    """Open a closed job again."""
    job = opening.reopen_job(shop_of(request), number_of(request), sent.text("why"))
    return kept(request, job, f"/job/{job.number}")


def _entry(request: Request) -> int:
    return int(request.path_params["entry"])


def _kept(request: Request, number: int, form: str, sent: Sent, keep: Callable[[], NoteAnswer]) -> Response:
    try:
        noted = keep()
    except BellhousingError as error:
        return _sheet_back(request, number, error, form, sent)
    return kept(request, noted, noted_address(number, noted))


def _sheet_back(request: Request, number: int, error: BellhousingError, form: str, sent: Sent) -> Response:
    return sent_back(request, error, form, sent, lambda filled: sheet_page(request, number, filled, 422))


ROUTES = [
    Route("/job/{number:int}/understand", taking(understand), methods=["POST"]),
    Route("/job/{number:int}/note", taking(note), methods=["POST"]),
    Route("/job/{number:int}/answer", taking(answer), methods=["POST"]),
    Route("/job/{number:int}/close", taking(close), methods=["POST"]),
    Route("/job/{number:int}/reopen", taking(reopen), methods=["POST"]),
    Route("/job/{number:int}/entry/{entry:int}/correct", taking(correct), methods=["POST"]),
    Route("/job/{number:int}/entry/{entry:int}/withdraw", taking(withdraw), methods=["POST"]),
    Route("/job/{number:int}/entry/{entry:int}/instead", taking(instead), methods=["POST"]),
]
