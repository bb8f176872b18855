"""The pages for reading: what they show, as a page and as JSON."""

from __future__ import annotations

import re
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks.answers import Answer, NextAnswer, Sheet, ShiftMapAnswer
from bellhousing.tasks.plan_answers import PlanAnswer

WEB = Path(str(resources.files("bellhousing.web")))
PAGES = ["/", "/learn", "/job/1", "/job/2", "/job/3", "/job/3?unit=km/h", "/job/3?fault=vacuum-hose-off"]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_has_a_language_a_title_and_one_heading(web: TestClient, path: str) -> None:
    """What a screen reader needs first is on every page, and no id is given twice."""
    answer = web.get(path)
    assert answer.status_code == 200
    text = answer.text
    assert '<html lang="en">' in text
    assert re.search(r"<title>\s*\S", text)
    assert text.count("<h1") == 1
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("path", PAGES)
def test_a_page_holds_no_script_or_style_of_its_own(web: TestClient, path: str) -> None:
    """Nothing stands in a page that its own policy would refuse, and nothing comes from elsewhere."""
    text = web.get(path).text
    assert re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text) is None
    assert re.findall(r"<script(?![^>]*\ssrc=\"/static/)", text) == []
    assert set(re.findall(r"\w+://[^\s\"'<]+", text)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }


def test_the_job_sheet_has_its_parts_and_the_next_thing_on_top(web: TestClient) -> None:
    """With no look that pays the first line is the work; the parts stand in the order of the job."""
    text = web.get("/job/3").text
    plan = PlanAnswer.model_validate_json(web.get("/job/3/plan.json").text)
    assert plan.decision == "in-car"
    head = text[text.index('<header class="next"') : text.index("</header>")]
    assert plan.headline[1:] in head
    assert "cautions first" in head
    assert re.findall(r'<a href="#([a-z-]+)">(\w[\w, ]+\w) <span>', text) == [
        ("complaint", "Complaint"),
        ("findings", "Findings"),
        ("causes", "Causes"),
        ("next-tests", "Next tests"),
        ("leaks", "Leaks"),
        ("what-to-do", "What to do"),
        ("shift-map", "Shift map"),
        ("road", "The road"),
        ("adjust", "Adjusting"),
        ("strip", "Strip"),
        ("bench", "The bench"),
        ("parts", "Parts to get"),
        ("build", "Build"),
        ("prove", "Proof"),
        ("photos", "Photos"),
        ("money", "Hours, money"),
        ("job-end", "This job"),
    ]
    places = re.findall(r'<section id="([a-z-]+)"', text)
    assert places == re.findall(r'<a href="#([a-z-]+)">\w[\w, ]+\w <span>', text)


def test_a_look_that_pays_stands_on_top(web: TestClient, new_job: Callable[[], int]) -> None:
    """On a new job the first line is the first of the ranked tests, with its minutes."""
    number = new_job()
    first = Sheet.model_validate_json(web.get(f"/job/{number}.json").text).answer.next[0]
    text = web.get(f"/job/{number}").text
    head = text[text.index('<header class="next"') : text.index("</header>")]
    assert (first.first or first.in_words) in head
    assert "min" in head


def test_no_page_speaks_of_bits(web: TestClient) -> None:
    """What a test would tell is said in words."""
    for path in PAGES:
        assert re.search(r"\bbits?\b", web.get(path).text) is None


def test_causes_are_told_in_a_hundred_with_their_reasons(web: TestClient) -> None:
    """The leading cause shows its odds, their error and what speaks for it; none is certain."""
    sheet = Sheet.model_validate_json(web.get("/job/3.json").text)
    text = web.get("/job/3").text
    part = text[text.index('id="causes"') : text.index('id="next-tests"')]
    assert sheet.answer.causes[0].name in part
    assert f"{100 * sheet.answer.causes[0].probability:.0f} in 100" in part or "more than 99 in 100" in part
    assert re.search(r"[×÷] \d", part)
    assert "times likelier" in part
    assert "100 in 100" not in part.replace("99 in 100", "")
    for area in sheet.answer.not_looked_at:
        assert area in part


def test_a_forbidden_test_says_why(web: TestClient) -> None:
    """Each test that must not be done stands on the page with its reason."""
    sheet = Sheet.model_validate_json(web.get("/job/3.json").text)
    text = web.get("/job/3").text
    assert sheet.answer.forbidden
    for refused in sheet.answer.forbidden:
        assert refused.why[1:40].split("'")[0] in text


@pytest.mark.parametrize(
    ("path", "shape"),
    [
        ("/job/3", Sheet),
        ("/job/3/causes", Answer),
        ("/job/3/next", NextAnswer),
        ("/job/3/shift-map", ShiftMapAnswer),
    ],
)
def test_every_part_is_there_as_json(
    web: TestClient, path: str, shape: type[Sheet | Answer | NextAnswer | ShiftMapAnswer]
) -> None:
    """By address or by asking for it, the same answer in the same shape."""
    by_name = web.get(f"{path}.json")
    asked = web.get(path, headers={"accept": "application/json"})
    assert by_name.headers["content-type"] == asked.headers["content-type"] == "application/json"
    assert shape.model_validate_json(by_name.text) == shape.model_validate_json(asked.text)


def test_the_shop_is_there_as_json(web: TestClient) -> None:
    """Cars and jobs, as the first page shows them."""
    found = web.get("/shop.json").json()
    assert {car["slug"] for car in found["cars"]} >= {"grey-saloon", "green-wagon", "blue-coupe"}
    assert found == web.get("/", headers={"accept": "application/json"}).json()


def test_a_browser_gets_the_page(web: TestClient) -> None:
    """What a browser says it takes leads to the page, though JSON would be taken too."""
    accept = "text/html,application/xhtml+xml,application/json;q=0.9,*/*;q=0.8"
    assert "text/html" in web.get("/job/3", headers={"accept": accept}).headers["content-type"]


def test_an_empty_shop_says_what_to_do_first(empty: TestClient) -> None:
    """With no car, the first page asks for one and has its form open."""
    text = empty.get("/").text
    assert "First: add a car" in text
    assert '<details id="add-car" open>' in text


def test_the_shift_map_is_there_as_a_picture(web: TestClient) -> None:
    """The picture alone, with the cause asked for."""
    answer = web.get("/job/3/shift-map.svg", params={"fault": "vacuum-hose-off"})
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert "Vacuum hose" in answer.text


def test_an_unknown_fault_is_told_with_the_nearest(web: TestClient) -> None:
    """The map says what it cannot draw; the rest of the sheet stands."""
    answer = web.get("/job/3", params={"fault": "vacuum-hose-of"})
    assert answer.status_code == 200
    assert "vacuum-hose-off" in answer.text
    assert "map-problem" in answer.text


def test_what_people_write_is_never_markup(web: TestClient, new_job: Callable[[str], int]) -> None:
    """A complaint with angle brackets is shown as typed."""
    number = new_job("<script>alert(1)</script> & slips")
    text = web.get(f"/job/{number}").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; slips" in text


def test_static_files_load_nothing_from_elsewhere() -> None:
    """Own scripts and styles only: no address of another site in any of them."""
    files = [path for path in (WEB / "static").iterdir() if path.suffix in (".js", ".css")]
    assert len(files) >= 6
    for path in files:
        assert "://" not in path.read_text(encoding="utf-8")
