"""Every text field of the app filled with markup, and every page looked at afterwards: text stays text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import cast
from urllib.parse import parse_qsl, urljoin, urlsplit

import pytest
from httpx2 import Response
from starlette.applications import Starlette
from starlette.routing import Route
from starlette.testclient import TestClient

from bellhousing.tasks import people
from bellhousing.tasks.shop import Shop
from tests.camera import jpeg
from tests.security.conftest import PHRASES

MARK = "x-probe"
PAYLOAD = (
    f"""q" {MARK}="1' {MARK}='1 <{MARK}></textarea></title><{MARK} onclick=alert(1)> javascript:alert(1)"""
)
TYPED = {"text", "search", ""}
# Sent last or not at all: they end the walk.
ENDS = ("/logout", "/people/remove", "/people/role", "/people/phrase", "/login")
MOST_PAGES = 150


@dataclass
class Form:
    """A form of a page: where it goes, what is fixed in it, and what is typed into it."""

    action: str
    post: bool
    fixed: dict[str, str] = field(default_factory=dict)
    typed: list[str] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


class Page(HTMLParser):
    """Links, forms and whatever markup got through."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.forms: list[Form] = []
        self.broken: list[str] = []
        self._form: Form | None = None
        self._select = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == MARK or MARK in given or any(name.startswith("on") for name in given):
            self.broken.append(self.get_starttag_text() or tag)
        for name in ("href", "src", "action", "formaction"):
            if given.get(name, "").strip().casefold().startswith(("javascript:", "data:text", "//")):
                self.broken.append(self.get_starttag_text() or tag)
        if tag == "a" and "href" in given:
            self.links.append(given["href"])
        elif tag == "form":
            self._form = Form(given.get("action", ""), given.get("method", "get").casefold() == "post")
            self.forms.append(self._form)
        elif self._form is not None:
            self._field(self._form, tag, given)

    def _field(self, form: Form, tag: str, given: dict[str, str]) -> None:
        name, kind = given.get("name", ""), given.get("type", "")
        if tag == "select":
            self._select = name
        elif tag == "option" and self._select:
            form.fixed.setdefault(self._select, given.get("value", ""))
        elif tag == "textarea" or (tag == "input" and kind in TYPED and name):
            form.typed.append(name)
        elif tag == "input" and kind == "file":
            form.files.append(name)
        elif tag == "input" and kind in ("hidden", "checkbox", "radio") and name:
            form.fixed.setdefault(name, given.get("value", "on"))
        elif tag == "button" and name:
            form.fixed.setdefault(name, given.get("value", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = ""


def begun(client: TestClient) -> list[str]:
    """The addresses of the app that name a job at most."""
    routes = [one for one in cast("Starlette", client.app).routes if isinstance(one, Route)]
    paths = [one.path.replace("{number:int}", "1") for one in routes if "GET" in (one.methods or ())]
    return [path for path in paths if "{" not in path]


def walked(client: TestClient) -> Iterator[tuple[str, Page]]:
    """Every page of the app and all they lead to, one for each address and kind of question put to it."""
    waiting, seen = begun(client), set[object]()
    while waiting and len(seen) < MOST_PAGES:
        path = waiting.pop(0)
        parts = urlsplit(path)
        asked = tuple(sorted(name for name, _ in parse_qsl(parts.query)))
        if parts.netloc or parts.scheme or not parts.path.startswith("/") or (parts.path, asked) in seen:
            continue
        seen.add((parts.path, asked))
        answer = client.get(path, follow_redirects=True)
        assert answer.status_code < 500, path
        if not answer.headers.get("content-type", "").startswith(("text/html", "image/svg")):
            continue
        page = Page(answer.text)
        assert page.broken == [], path
        yield path, page
        waiting += [urljoin(path, link) for link in page.links]


def filled(form: Form, payload: str) -> dict[str, str]:
    """What a form sends when every field that can be typed into holds the payload."""
    return form.fixed | dict.fromkeys(form.typed, payload)


@pytest.fixture
def proprietor(door: TestClient, shop: Shop) -> TestClient:
    """Somebody whose very name is markup."""
    name = f"<{MARK}>\"'"
    people.add(shop, name, "proprietor", phrase=PHRASES["Petra"])
    assert door.post("/login", data={"name": name, "phrase": PHRASES["Petra"]}).status_code == 303
    return door


def test_markup_typed_anywhere_is_shown_as_it_was_typed(proprietor: TestClient, shop: Shop) -> None:
    """Every form of every page is sent full of markup: the answers and every page after them hold none."""
    sent: set[tuple[str, tuple[str, ...]]] = set()
    fields = 0
    for path, page in list(walked(proprietor)):
        for form in page.forms:
            where = urljoin(path, form.action)
            known = (where, tuple(sorted((*form.typed, *form.files))))
            if known in sent or urlsplit(where).path in ENDS:
                continue
            sent.add(known)
            fields += len(form.typed)
            answer = submitted(proprietor, where, form)
            assert answer.status_code < 500, where
            assert Page(answer.text).broken == [], where
    assert fields > 25
    # The payload itself stands somewhere, else nothing was shown.
    shown = [path for path, _ in walked(proprietor)]
    assert len(shown) > 20
    assert MARK in proprietor.get("/job/1").text
    assert shop.store.findings(1)[-1].who.startswith("<")


def submitted(client: TestClient, where: str, form: Form) -> Response:
    """Send a form, with a photo of a name full of markup where it takes a file."""
    data = filled(form, PAYLOAD)
    if not form.post:
        return client.get(where, params=data, follow_redirects=True)
    files = {name: (f"<{MARK}>.jpg", jpeg(), "image/jpeg") for name in form.files}
    return client.post(where, data=data, files=files or None, follow_redirects=True)


def test_the_walk_notices_what_gets_through() -> None:
    """A page that shows the payload raw is caught, in text, in attributes of either quote and in titles."""
    for around in ("<p>{}</p>", '<a title="{}">', "<a title='{}'>", "<title>{}</title>", "<textarea>{}"):
        assert Page(around.replace("{}", PAYLOAD)).broken != []
    assert Page("<a href=' JavaScript:alert(1)'>").broken != []
    assert Page("<p>q&quot; x-probe=&#34;1 &lt;x-probe&gt;</p>").broken == []


def test_no_template_marks_what_people_wrote_as_safe() -> None:
    """Escaping is left to the one place that does it always."""
    import bellhousing.web as web

    folder = Path(web.__path__[0]) / "templates"
    texts = {path.name: path.read_text("utf-8").replace(" ", "") for path in folder.rglob("*.html")}
    assert [name for name, text in texts.items() if "|safe" in text or "autoescape" in text] == []
