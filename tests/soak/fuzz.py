"""Requests made from the app's own description, sensible and senseless: none breaks it, each is answered.

An answer in JSON has the shape that is described, an error says what would be right, no field or question
is read that is not described, and the memory of the program stays bounded.
"""

from __future__ import annotations

import argparse
import logging
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

from hypothesis import HealthCheck, Phase, given, seed, settings
from pydantic import TypeAdapter, ValidationError
from starlette.datastructures import QueryParams
from starlette.testclient import TestClient

from bellhousing.tasks import people
from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.shop import open_shop
from bellhousing.web import openapi
from bellhousing.web.app import create_app
from bellhousing.web.described import Told
from bellhousing.web.pages import Sent
from tests.phrases import quick_phrases
from tests.soak.asking import Request, requests
from tests.soak.memory import most_megabytes
from tests.tasks.full_job import full_shop

A_SHOP = 100
"""Requests to one shop, before the next is opened as it was at first."""
MOST_MEMORY = 1536
"""The most memory the program may ever have taken [MiB]."""
TOO_LONG = 90.0
"""An answer that takes longer is a fault, even on a busy machine [s]."""
MOST_PROBLEMS = 40
PHRASE = "lime ox tarp dune"
SLASH_TOO_MANY = 307
ALWAYS = {400, 401, 403, 404, 405, 409, 410, 413, 421, 422, 429}
TRACEBACK = b"Traceback (most recent call last)"


@dataclass
class Outcome:
    """What came of the requests."""

    seed: int
    requests: int = 0
    statuses: dict[str, int] = field(default_factory=dict)
    operations: int = 0
    kept: int = 0
    shapes_checked: int = 0
    problems: list[str] = field(default_factory=list)
    slowest: dict[str, float] = field(default_factory=dict)
    megabytes: int = 0
    seconds: float = 0.0

    @property
    def sound(self) -> bool:
        """Whether nothing broke and the memory stayed bounded."""
        return self.requests > 0 and not self.problems and self.megabytes < MOST_MEMORY


class Broken(logging.Handler):
    """Takes down what the app logs of its own faults."""

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the error and where it was raised."""
        error = record.exc_info[1] if record.exc_info else None
        place, trace = "", None if error is None else error.__traceback__
        while trace is not None:
            code = trace.tb_frame.f_code
            if "bellhousing" in code.co_filename:
                place = f"{code.co_filename.rpartition('bellhousing/')[2]}:{trace.tb_lineno}"
            trace = trace.tb_next
        self.said.append(f"{error!r:.200} at {place}")


class Read:
    """The fields and questions a request's route read."""

    def __init__(self) -> None:
        self.fields: set[str] = set()
        self.questions: set[str] = set()

    @contextmanager
    def along(self) -> Iterator[None]:
        """Take them down while the block runs."""
        text, get = Sent.text, QueryParams.get

        def read_text(sent: Sent, name: str) -> str:
            self.fields.add(name)
            return text(sent, name)

        def read_get(query: QueryParams, name: str, default: Any = None) -> Any:
            self.questions.add(name)
            return get(query, name, default)

        with patch.object(Sent, "text", read_text), patch.object(QueryParams, "get", read_get):
            yield


def options(parser: argparse.ArgumentParser) -> None:
    """What may be asked for."""
    parser.add_argument("--count", type=int, default=20_000, help="requests")
    parser.add_argument("--minutes", type=float, default=240.0, help="the longest it may take")
    parser.add_argument("--seed", type=int, default=1)


def run(asked: argparse.Namespace) -> Iterator[Outcome]:
    """The requests asked for."""
    outcome = Outcome(asked.seed)
    began = time.monotonic()
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="bellhousing-fuzz-")))
        # One of several jobs begun, one of a job worked through from complaint to closing.
        open_demo(folder / "here", cache=folder / "cache").close()
        full_shop(folder / "workshop", cache=folder / "cache").close()
        turn = 0
        ends = began + 60.0 * asked.minutes
        while outcome.requests < asked.count and len(outcome.problems) < MOST_PROBLEMS:
            if time.monotonic() > ends:
                break
            turn += 1
            count = min(A_SHOP, asked.count - outcome.requests)
            _ask(folder, count, asked.seed + turn, turn % 2 == 0, outcome)
    outcome.seconds = round(time.monotonic() - began, 1)
    outcome.megabytes = most_megabytes()
    outcome.slowest = dict(sorted(outcome.slowest.items(), key=lambda one: -one[1])[:8])
    yield outcome


def _ask(folder: Path, count: int, turn: int, workshop: bool, outcome: Outcome) -> None:
    """So many requests to a shop as it was at first, open to this machine or to the workshop."""
    shutil.copytree(folder / ("workshop" if workshop else "here"), folder / f"{turn}")
    log, broken, seen = logging.getLogger("bellhousing.web"), Broken(), Counter[str](outcome.statuses)
    log.addHandler(broken)
    log.propagate = False
    read = Read()
    address = "https://bench.local" if workshop else "http://127.0.0.1:8350"
    with open_shop(folder / f"{turn}", cache=folder / "cache") as shop, read.along():
        shop.__dict__["phrases"] = quick_phrases()
        people.add(shop, "Petra", "proprietor", phrase=PHRASE)
        app = create_app(shop, hosts=("bench.local", "127.0.0.1"), workshop=workshop)
        description = openapi.described(app.routes, workshop=workshop)
        with TestClient(app, base_url=address, headers={"origin": address}, follow_redirects=False,
                        raise_server_exceptions=False) as client:  # fmt: skip
            trial = _Trial(client, workshop, outcome, seen, broken, read)

            @seed(turn)
            @settings(max_examples=count, phases=[Phase.generate], database=None, deadline=None,
                      suppress_health_check=list(HealthCheck))  # fmt: skip
            @given(requests(description))
            def each(request: Request) -> None:
                trial.send(request)

            each()
    log.removeHandler(broken)
    outcome.statuses = dict(sorted(seen.items()))
    outcome.operations = sum(len(methods) for methods in description["paths"].values())
    shutil.rmtree(folder / f"{turn}")


@dataclass
class _Trial:
    """Requests sent to one shop, each looked at."""

    client: TestClient
    workshop: bool
    outcome: Outcome
    seen: Counter[str]
    broken: Broken
    read: Read

    def send(self, request: Request) -> None:
        """Send a request and look at what comes back."""
        if self.workshop and not self.client.cookies:
            self.client.post("/login", data={"name": "Petra", "phrase": PHRASE})
        self.read.fields.clear()
        self.read.questions.clear()
        began = time.monotonic()
        answer = self.client.request(
            request.method,
            request.path,
            headers=[(name.encode(), value.encode("latin-1")) for name, value in request.headers.items()],
            content=request.body,
        )
        took = time.monotonic() - began
        if answer.status_code == 401:
            self.client.cookies.clear()
        self.outcome.requests += 1
        self.seen[str(answer.status_code)] += 1
        slowest = self.outcome.slowest
        name = f"{request.method} {request.operation}"
        slowest[name] = max(slowest.get(name, 0.0), round(took, 2))
        self.outcome.kept += request.method == "POST" and answer.status_code < 400
        problem = self._wrong(request, answer.status_code, answer.headers, answer.content, took)
        if problem is not None and len(self.outcome.problems) < MOST_PROBLEMS:
            self.outcome.problems.append(f"{problem}: {request.told()}")

    def _wrong(self, request: Request, status: int, headers: Any, body: bytes, took: float) -> str | None:
        if self.broken.said:
            return f"broke with {status}, {self.broken.said.pop()}"
        told = openapi.told_of("GET" if request.method == "HEAD" else request.method, request.operation)
        assert told is not None
        if status >= 500 or status not in {*ALWAYS, 200, 303, SLASH_TOO_MANY, told.status}:
            return f"answered {status}"
        if TRACEBACK in body:
            return "shows its inside"
        if took > TOO_LONG:
            return f"took {took:.0f} s"
        undescribed = self._undescribed(request, told, status)
        if undescribed:
            return f"reads {', '.join(sorted(undescribed))}, which is not described"
        if request.method != "HEAD" and headers.get("content-type", "").startswith("application/json"):
            return self._misshapen(told, status, body)
        return None

    def _undescribed(self, request: Request, told: Told, status: int) -> set[str]:
        if request.method == "POST":
            return self.read.fields - set(told.sends)
        # A page that refuses may show more of itself than what was asked for.
        return self.read.questions - {*told.asks, openapi.UNIT} if status < 400 else set()

    def _misshapen(self, told: Told, status: int, body: bytes) -> str | None:
        if status >= 400:
            error = TypeAdapter(dict[str, dict[str, str | None]]).validate_json(body).get("error", {})
            return None if error.get("what") else "refuses without saying why"
        shape = openapi.answer_type(told)
        if shape is None:
            return "answers in JSON, which is not described"
        try:
            TypeAdapter(shape).validate_json(body)
        except ValidationError as error:
            return f"answers in another shape, {error.errors()[0]['loc']}: {error.errors()[0]['msg']}"
        self.outcome.shapes_checked += 1
        return None
