"""Units of the reader and words of the country on every page and in the report; what was written stays."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks import noting
from bellhousing.tasks.changing_settings import change_settings
from bellhousing.tasks.owner_report import owner_report
from bellhousing.tasks.shop import Shop
from bellhousing.web.app import create_app
from bellhousing.web.units_shown import page_in_units
from tests.doors.conftest import ADDRESS
from tests.tasks.full_job import full_shop

PATHS = (
    "/", "/car/grey-saloon", "/due", "/bench", "/job/1?prove=1", "/job/1/report",
    "/job/1/flange/pump-ring", "/job/1/part/modulator", "/job/1/build", "/job/1/parts", "/job/1/book",
    "/job/2?choose=1", "/job/2/strip?choose=1", "/job/2/flanges", "/job/2/report?kind=estimate",
)  # fmt: skip
STRANGE = {
    "inch": r"\bpsi\b|inHg|\bmph\b|\bthou\b|\d (?:miles|lb ft|lb in|lb|in|inches)\b(?! \d)|US (?:qt|pint)|°F",
    "metric": r"\bkPa\b|\bbar\b|km/h|\d km\b|\d (?:mm|µm|N m|N|kg|l)\b|°C",
    "british": r"(?i)\b(?:gearbox|rear extension|propshaft|tyre|bonnet|petrol|spanner|sump|colour|centre)\b",
}
# What the shop and its owner wrote, and the names of tools.
WRITTEN = (
    "grey saloon (invented)",
    "Invented Gearbox Workshop",
    "4.2 litres",
    "10,000 miles",
    "540 in all",
    "0 in all",
    "2 in all",
)
TOOLS = re.compile(r"[\d/]+ in(?: and [\d/]+ in)? (?:\w+ )?(?:sockets?|spanners?|wrench)")


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory, demo: Shop) -> Iterator[Shop]:
    """A shop with a job worked through to the end and one with a reading in metric units."""
    with full_shop(tmp_path_factory.mktemp("worked"), cache=demo.cache) as shop:
        noting.note(shop, 2, "line pressure idle D 440 kPa hot")
        yield shop


def said(page: str) -> str:
    """What a page says of its own: text and what is read out, without what somebody wrote."""
    page = re.sub(r"(?s)<head>.*?</head>|<(script|textarea|option|code)\b.*?</\1>", "", page)
    read_out = " | ".join(re.findall(r'(?:aria-label|alt|placeholder)="([^"]*)"', page))
    text = html.unescape(re.sub(r"<[^>]*>", "|", page) + read_out)
    text = TOOLS.sub("", re.sub(r"“[^”]*”", "", text))
    for words in WRITTEN:
        text = re.sub(re.escape(words), "", text, flags=re.IGNORECASE)
    return re.sub(r"\s+", " ", text)


def strangers(page: str, kind: str) -> list[str]:
    """Words or units that have no place on a page, each with what stands around it."""
    text = said(page)
    return [text[max(0, it.start() - 40) : it.end() + 20] for it in re.finditer(STRANGE[kind], text)]


def test_a_page_in_metric_and_american_words_holds_nothing_else(worked: Shop) -> None:
    """Findings, limits, pictures, steps of the work, service plan and report alike."""
    change_settings(worked, {"units": "metric", "words": "american"})
    with TestClient(create_app(worked), base_url=ADDRESS) as web:
        pages = {path: web.get(path).text for path in PATHS}
        paper = web.get("/job/1/report").text
    found = {
        (path, kind): strangers(page, kind) for path, page in pages.items() for kind in ("inch", "british")
    }
    assert {where: what for where, what in found.items() if what} == {}
    for told in ("883 kPa", "transmission", "103 km/h"):
        assert told in paper
    assert "1-2 at 40 mph light throttle" in pages["/job/1?prove=1"]
    assert re.search(r'class="end"[^>]*>0\.15<', pages["/job/1?prove=1"])  # of the bench's window, in mm
    assert "grey saloon (invented)" in pages["/"]


def test_a_page_in_inch_holds_nothing_metric(worked: Shop) -> None:
    """What was read in kPa stands there in psi; a browser's own choice holds against the shop's."""
    change_settings(worked, {"units": "metric", "words": ""})
    with TestClient(create_app(worked), base_url=ADDRESS, cookies={"speed": "mph"}) as web:
        pages = {path: web.get(path).text for path in ("/job/2", "/job/2/report", "/job/1/report")}
    assert {
        path: strangers(page, "metric") for path, page in pages.items() if strangers(page, "metric")
    } == {}
    assert "63.8 psi" in pages["/job/2"]
    assert "gearbox" in pages["/job/1/report"]


def test_the_report_on_paper_is_told_as_its_page_is(worked: Shop) -> None:
    """One report for page, paper and JSON: words and units of the program turned, what was written not."""
    change_settings(worked, {"units": "metric", "words": "american"})
    report = owner_report(worked, 1).report
    assert report.title == "Report on the transmission"
    assert report.complaint.startswith("Shifts late")
    assert report.fluid == "Fluid of the manual’s grade, 4.2 litres"
    told = report.model_dump_json(exclude={"warranty", "complaint", "shop", "fluid", "work", "money"})
    assert re.findall(r"\bpsi\b|\bmph\b|inHg", told) == []


def test_a_bare_figure_is_meant_in_the_unit_the_field_asked_for(worked: Shop) -> None:
    """The field asks in kPa; the gate keeps what that is in psi, and a unit that was typed holds."""
    change_settings(worked, {"units": "metric", "words": ""})
    with TestClient(create_app(worked), base_url=ADDRESS) as web:
        asked = web.get("/job/2/strip?choose=1").text
        assert 'name="figure_unit" value="kPa"' in asked
        assert "[kPa]" in asked
        sent = {
            "deed": "baseline", "part": "vacuum-pipe", "measure": "modulator-vacuum-idle", "value": "60",
            "figure_unit": "kPa", "back": "/job/2/strip",
        }  # fmt: skip
        kept = web.post("/job/2/work", data=sent)
        assert kept.status_code == 200
    assert any("17.7 inHg" in entry.said for entry in worked.store.current_findings(2))


def test_fields_and_quotes_of_a_page_stay_as_typed() -> None:
    """A value, a text area, an element marked as written, and what stands between quotes."""
    page = (
        '<p aria-label="62 psi">62 psi “62 psi”</p><input value="62 psi"><textarea>62 psi</textarea>'
        "<td data-written>62 psi</td><b>5 &lt; 62 psi</b>"
    )
    assert page_in_units(page, "metric") == (
        '<p aria-label="427 kPa">427 kPa “62 psi”</p><input value="62 psi"><textarea>62 psi</textarea>'
        "<td data-written>62 psi</td><b>5 &lt; 427 kPa</b>"
    )
