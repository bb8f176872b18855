"""What to do, from the command line and on the page of a job."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.tasks import noting
from bellhousing.tasks.plan_answers import PlanAnswer
from bellhousing.tasks.shop import Shop

FRONT = ("oil thrown in a ring on the converter", "the front drip is ATF", "front leaks only when driven")


@pytest.fixture(autouse=True)
def no_rate(monkeypatch: pytest.MonkeyPatch, demo: Shop) -> None:
    """The machine's own rate is out of the way, and models are shared with the demo's."""
    monkeypatch.delenv("BELLHOUSING_RATE", raising=False)
    monkeypatch.setenv("BELLHOUSING_CACHE", str(demo.cache))


@pytest.fixture
def findings(tmp_path: Path) -> str:
    """A findings file of a car that leaks at the front."""
    path = tmp_path / "findings.yaml"
    path.write_text("box: A\nfindings:\n" + "".join(f"  - {line}\n" for line in FRONT), encoding="utf-8")
    return str(path)


@pytest.fixture
def leaking(demo: Shop, new_job: Callable[[], int]) -> int:
    """A job on such a car."""
    number = new_job()
    for line in FRONT:
        noting.note(demo, number, line)
    return number


def test_the_command_says_what_to_do(findings: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each caution once, each part under its heading, prices at the rate."""
    assert cli.run(["plan", findings, "--rate", "£80/h"]) == 0
    said = capsys.readouterr().out
    for heading in (
        "What the owner may choose",
        "If it waits",
        "To ask the owner for",
        "While the way is open",
    ):
        assert heading in said
    assert "Prices at £80 an hour" in said
    assert "£960" in said
    assert re.search(r"\(£[\d,.]+ to £[\d,.]+\)", said), "both ends of a range bear the sign"
    flat = " ".join(said.split())
    assert flat.count("use a gearbox jack with a chain") == 1
    assert all(len(line) <= 96 for line in said.splitlines())


def test_the_rate_may_be_a_setting(
    findings: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """And one given with the command goes before it."""
    monkeypatch.setenv("BELLHOUSING_RATE", "50")
    assert cli.run(["plan", findings, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["rate"] == "50"
    assert cli.run(["plan", findings, "--json", "--rate", "60"]) == 0
    assert json.loads(capsys.readouterr().out)["rate"] == "60"


def test_json_is_the_answer_and_errors_have_their_shape(
    findings: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the page's JSON gives, too."""
    assert cli.run(["plan", findings, "--json"]) == 0
    assert PlanAnswer.model_validate_json(capsys.readouterr().out).removal > 0.9
    assert cli.run(["plan", findings, "--json", "--rate", "much"]) == 1
    assert "rate" in json.loads(capsys.readouterr().out)["error"]["what"]
    assert cli.run(["plan", "no-such-file.yaml"]) == 1
    assert "no such file" in capsys.readouterr().err


def test_the_page_shows_the_plan(web: TestClient, leaking: int) -> None:
    """With cautions where the box comes out, and every chance as odds."""
    text = web.get(f"/job/{leaking}?rate=80+EUR/h").text
    part = text[text.index('<section id="what-to-do"') :]
    part = part[: part.index("</section>")]
    assert "Whole front resealed" in part
    assert "gearbox jack" in part
    assert "960 EUR" in part
    assert "in 100" in part
    assert "To ask the owner for" in part
    assert part.count("<details") == part.count("</details>")


def test_the_page_of_a_new_job_says_what_comes_first(web: TestClient, new_job: Callable[[], int]) -> None:
    """No work is proposed on a complaint alone."""
    text = web.get(f"/job/{new_job()}").text
    part = text[text.index('<section id="what-to-do"') :]
    part = part[: part.index("</section>")]
    assert "Nothing to decide yet" in part
    assert "To ask the owner for" not in part


def test_the_page_as_json_is_the_command_s_answer(web: TestClient, leaking: int) -> None:
    """Under its own address, priced by the query."""
    plan = PlanAnswer.model_validate_json(web.get(f"/job/{leaking}/plan.json?rate=80").text)
    assert plan.options[0].price is not None
    assert plan.proposed[0].work == "front-reseal"
    assert web.get("/job/999/plan.json").status_code == 404
    assert web.get(f"/job/{leaking}/plan", follow_redirects=False).headers["location"].endswith("#what-to-do")


def test_a_rate_that_is_none_is_told_beside_the_field(web: TestClient, leaking: int) -> None:
    """And the plan is there all the same, in hours."""
    answer = web.get(f"/job/{leaking}?rate=%3Cb%3Emuch")
    assert answer.status_code == 200
    assert 'id="plan-problem"' in answer.text
    assert "<b>much" not in answer.text
    assert "10.5 h" in answer.text
    assert web.get(f"/job/{leaking}/plan.json?rate=much").status_code == 422
