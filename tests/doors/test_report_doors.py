"""The owner's report at the doors: page, PDF, JSON and command line say the same."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop


@pytest.fixture(scope="module")
def number(demo: Shop) -> int:
    """The job of the demonstration that has the most noted."""
    return max(opening.jobs(demo), key=lambda job: job.findings).number


def test_page_json_and_paper_of_one_job(web: TestClient, number: int) -> None:
    """The page holds the cause, the JSON the same, the paper is a PDF to be shown in the browser."""
    page = web.get(f"/job/{number}/report").text
    told = web.get(f"/job/{number}/report.json").json()
    assert told["causes"][0]["name"] in page
    assert told["causes"][0]["confidence"] in page
    paper = web.get(f"/job/{number}/report.pdf?kind=estimate&units=metric&rate=80")
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.headers["content-disposition"] == f'inline; filename="estimate-{number}.pdf"'
    assert paper.content.startswith(b"%PDF")


def test_page_of_the_estimate_has_its_prices(web: TestClient, number: int) -> None:
    """At a rate, in metric units."""
    page = web.get(f"/job/{number}/report", params={"kind": "estimate", "units": "metric", "rate": "£80"})
    assert "Estimate for the gearbox" in page.text
    assert "£" in page.text
    assert "103 km/h" in page.text


@pytest.mark.parametrize(
    ("path", "status"), [("/job/{}/report?units=cubits", 422), ("/job/999999/report.pdf", 404)]
)
def test_what_cannot_be_reported_is_said(web: TestClient, number: int, path: str, status: int) -> None:
    """Units nobody knows and jobs that are not there."""
    assert web.get(path.format(number)).status_code == status


def test_what_an_owner_typed_is_text_on_the_page(web: TestClient, new_job: Callable[[str], int]) -> None:
    """No markup in a complaint is ever taken for the page's own."""
    job = new_job("<script>alert(1)</script> & {{7*7}}")
    page = web.get(f"/job/{job}/report").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; {{7*7}}" in page


def test_command_writes_the_paper_and_tells_the_same(
    demo: Shop, number: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The shown report names the cause; -o writes a file and says its size."""
    shop = ["--shop", str(demo.folder)]
    assert cli.run(["report", str(number), *shop]) == 0
    assert "Modulator diaphragm torn" in capsys.readouterr().out
    out = tmp_path / "report.pdf"
    assert cli.run(["report", str(number), "-o", str(out), "--estimate", "--metric", *shop]) == 0
    assert "kB" in capsys.readouterr().out
    assert out.read_bytes().startswith(b"%PDF")
    assert cli.run(["report", str(number), "--json", *shop]) == 0
    assert json.loads(capsys.readouterr().out)["kind"] == "report"
