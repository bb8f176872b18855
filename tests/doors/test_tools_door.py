"""The page of stock, rings, bolts and pulling screws: answers as the command line's, stock booked once."""

from __future__ import annotations

import json
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.quantities.turn import INCH, turned
from bellhousing.web.bench_tools import TOOLS

HOLE = {"thread": "5/16-18", "torque": "18 lb ft", "engagement": "0.5 in", "damaged": "4", "finish": "dry"}
PULL = {"thread": "3/8-16", "engagement": "0.5 in", "apart": "7 in"}
ASKED = {
    "groove": {"floor": "0.75 in", "width": "0.187 in", "depth": "0.118 in"},
    "aged": {"thickness": "0.139 in", "depth": "0.116 in", "set": "60 %", "shrink": "4 %"},
    "gasket": {"thickness": "0.015 in", "shrink": "15 %", "span": "60 mm"},
    "cut": {"bore": "4 in", "thickness": "0.140 in", "squeeze": "20 %"},
    "thread": {"thread": "3/8-16"},
    "pack": {
        "lined": "5",
        "inner": "4.5 in",
        "outer": "6.42 in",
        "piston_inner": "2.5 in",
        "piston_outer": "6.07 in",
        "pressure": "65 psi",
        "springs": "250 lbf",
        "friction": "0.12",
        "holds": "400 lb ft",
    },
    "band": {"wrap": "330 deg", "drum": "150 mm", "pressure": "90 psi", "piston": "62 mm", "leverage": "2.3"},
    "torque": {"thread": "3/8-16", "torque": "30 lb ft", "finish": "dry"},
    "hole": HOLE,
    "order": {"bolts": "6", "torque": "20 lb ft"},
    "pull": PULL,
}
SAME = {
    "groove": ["seal", "groove", "--floor", "0.75 in", "--width", "0.187 in", "--depth", "0.118 in"],
    "torque": ["bolt", "torque", "3/8-16", "--torque", "30 lb ft", "--finish", "dry"],
    "pull": ["pull", "3/8-16", "--engagement", "0.5 in", "--apart", "7 in"],
}


def _asked(tool: str, **more: str) -> str:
    return f"/bench?{urlencode({'tool': tool} | ASKED[tool] | more)}"


def test_every_sum_is_asked_in_these_tests() -> None:
    """None is left out."""
    assert set(ASKED) == set(TOOLS)


@pytest.mark.parametrize("tool", ASKED)
def test_the_sentence_stands_before_the_form(tool: str, web: TestClient) -> None:
    """Its fold is open, the sentence of the JSON first, then limit lines, then the form as it was filled."""
    said = web.get(f"/bench/{tool}.json?{urlencode(ASKED[tool])}").json()["text"]
    text = web.get(_asked(tool)).text
    own = text[text.index(f'id="tool-{tool}"') :].partition("</details>")[0]
    assert own.startswith(f'id="tool-{tool}" open')
    assert own.index('class="answer"') < own.index("<form")
    assert turned(said, INCH).rstrip(".").replace("'", "&#39;")[:40] in own
    if tool not in ("order", "pull", "cut", "thread", "band"):
        assert own.index('class="limit-line"') < own.index("<form")
    for value in ASKED[tool].values():
        assert f'value="{value}"' in own or f"selected>{value}<" in own
    assert text.count('class="answer"') == 1


@pytest.mark.parametrize("tool", SAME)
def test_the_answers_are_those_of_the_command_line(
    tool: str, web: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same figures, letter for letter."""
    assert cli.run([*SAME[tool], "--json"]) == 0
    assert web.get(f"/bench/{tool}.json?{urlencode(ASKED[tool])}").json() == json.loads(
        capsys.readouterr().out
    )


def test_pulling_says_stop_and_draws_what_was_felt(web: TestClient) -> None:
    """The caution stands before the form, the torque felt on its limit line."""
    text = web.get(_asked("pull", turns_first="1", turns_second="1", felt_first="60 lb ft")).text
    assert "Stop: 60.0 lb ft felt" in text
    assert "Most felt on a screw" in text
    assert "Before this:" in text
    calm = web.get(_asked("pull", turns_first="0.25", turns_second="0", felt_first="2 lb ft")).text
    assert "Stop:" not in calm
    assert "quarter turn on the second screw" in calm


@pytest.mark.parametrize(
    ("tool", "wrong", "said"),
    [
        ("groove", {"depth": ""}, "The depth of the gland is not known"),
        ("groove", {"inside": "0.7 in"}, "known by two figures"),
        ("torque", {"thread": "3/7-16"}, "known are"),
        ("hole", {"torque": "3 psi"}, "unit of pressure"),
        ("order", {"bolts": "many"}, "how many bolts is not said"),
        ("order", {"bolts": "99"}, "1 to 60"),
        ("pull", {"apart": ""}, "No figure for the distance"),
        ("aged", {"depth": "<b>"}, "No figure for the depth"),
    ],
)
def test_what_is_refused_comes_back_as_it_was_filled(
    tool: str, wrong: dict[str, str], said: str, web: TestClient
) -> None:
    """One problem in words inside its own fold, every other field as typed."""
    found = web.get(_asked(tool, **wrong))
    assert found.status_code == 422
    assert said.casefold() in found.text.casefold()
    assert f'id="{tool}-problem"' in found.text
    assert "<b>" not in found.text
    as_json = web.get(f"/bench/{tool}.json?{urlencode(ASKED[tool] | wrong)}")
    assert as_json.status_code == 422
    assert as_json.json()["error"]["what"]
    assert web.get("/bench/no-such.json").status_code == 404


def test_the_empty_page_asks_nothing_and_answers_nothing(web: TestClient) -> None:
    """Every fold shut; a form sent empty is not a mistake."""
    text = web.get("/bench").text
    assert 'class="answer"' not in text
    assert "<details" in text
    assert " open>" not in text
    assert web.get("/bench?tool=pull&thread=&apart=").status_code == 200
    assert web.get("/bench?tool=nonsense").status_code == 200


def test_stock_is_added_taken_ordered_and_put_right(empty: TestClient) -> None:
    """From an empty shelf to two of a size and back, the page's own forms throughout."""
    assert "names selective parts" in empty.get("/bench").text
    empty.post("/cars", data={"name": "grey saloon", "box": "A"})
    text = empty.get("/bench").text
    assert "Nothing is booked" in text
    kind, size = "A front-washer", "0.080 in"
    assert f'value="{kind}"' in text
    added = empty.post("/stock/add", data={"seen": "0-0", "kind": kind, "size": size, "count": "2"})
    assert added.url.path == "/bench"
    assert "Front thrust washer 0.080 in (green): 2 on the shelf" in added.text
    again = empty.post("/stock/add", data={"seen": "0-0", "kind": kind, "size": size, "count": "2"})
    assert again.status_code == 422
    assert "has changed since this page was shown" in again.text
    taken = empty.post("/stock/take", data={"seen": "2-0", "kind": kind, "size": size})
    assert ": 1 on the shelf" in taken.text
    ordered = empty.post(
        "/stock/add", data={"seen": "1-0", "kind": kind, "size": size, "count": "3", "ordered": "yes"}
    )
    assert "1 on the shelf, 3 on order" in ordered.text
    assert "All arrived" in ordered.text
    there = empty.post("/stock/arrived", data={"seen": "1-3", "kind": kind, "size": size, "count": "3"})
    assert ": 4 on the shelf" in there.text
    right = empty.post("/stock/count", data={"seen": "4-0", "kind": kind, "size": size, "shelf": "0"})
    assert "Nothing is booked" in right.text
    assert empty.get("/stock.json").json() == []


@pytest.mark.parametrize(
    ("form", "fields", "said"),
    [
        ("add", {"kind": "A front-washer", "size": "0.080 mm"}, "inches for millimetres"),
        ("add", {"kind": "A front-washer", "size": ""}, "o size was given"),
        ("add", {"kind": "A no-such", "size": "0.080 in"}, "has no part"),
        ("add", {"kind": "A front-washer", "size": "0.080 in", "count": "two"}, "no whole number"),
        ("take", {"kind": "A front-washer", "size": "0.080 in"}, "0 of them on the shelf"),
        ("take", {"kind": "A front-washer", "size": "0.080 in", "job": "77"}, "job"),
        ("count", {"kind": "A front-washer", "size": "0.080 in", "shelf": "0"}, "says so already"),
        ("add", {}, "box"),
    ],
)
def test_stock_that_cannot_be_is_refused(
    form: str, fields: dict[str, str], said: str, empty: TestClient
) -> None:
    """On the page and as JSON, in words; nothing is booked."""
    page = empty.post(f"/stock/{form}", data=fields)
    assert page.status_code == 422
    assert said in page.text
    told = empty.post(f"/stock/{form}", json=fields, headers={"accept": "application/json"})
    assert said in json.dumps(told.json()["error"])
    assert empty.get("/stock.json").json() == []


def test_the_first_page_and_the_bench_of_a_job_lead_to_it(web: TestClient) -> None:
    """A link each."""
    assert 'href="/bench"' in web.get("/").text
    assert 'href="/bench"' in web.get("/job/1").text
