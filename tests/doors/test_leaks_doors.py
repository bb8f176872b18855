"""Leaks through both doors: the command and the part of the job's page."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli

FINDINGS = """\
box: A
findings:
  - highest wet point 5 mm above the selector shaft, only parked
  - dry at the bell
  - 4 drops an hour parked
  - driven 100 miles a month
"""


@pytest.fixture
def told(tmp_path: Path, prepared_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A findings file with a leak in it."""
    monkeypatch.setenv("BELLHOUSING_CACHE", str(prepared_folder))
    path = tmp_path / "leak.yaml"
    path.write_text(FINDINGS, encoding="utf-8")
    return path


def test_the_command_answers_as_json(told: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The keys others build on, the site that fits first, and a day for the level."""
    assert cli.run(["leaks", str(told), "--json"]) == 0
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert set(answer) >= {"first", "sites", "together", "factors", "loss", "notes", "levels", "unexplained"}
    assert answer["sites"][0]["site"] == "selector-shaft"
    assert answer["sites"][0]["probability"] > 0.6
    best = max(answer["factors"], key=lambda factor: factor["ln_factor"])
    assert best["fault"] == "selector-seal-hard"
    loss = answer["loss"]
    assert loss["month_low"] < loss["month"] < loss["month_high"]


def test_the_command_answers_in_words(told: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What to look at first stands before the list."""
    assert cli.run(["leaks", str(told)]) == 0
    out = capsys.readouterr().out
    assert "First look at the selector-shaft seal" in out
    assert "only when parked" in " ".join(out.split())
    assert max(len(line) for line in out.splitlines()) <= 96


def test_a_file_that_tells_of_no_leak_is_answered_with_one_line(
    told: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is invented where nothing was told, and the line says what to write."""
    told.write_text("box: A\nfindings: [2-3 at 26 mph light throttle]\n", encoding="utf-8")
    assert cli.run(["leaks", str(told)]) == 1
    error = capsys.readouterr().err
    assert "wet place" in error
    assert len(error.strip().splitlines()) == 1


def test_a_wet_place_written_on_the_page_is_weighed(web: TestClient, new_job: Callable[[], int]) -> None:
    """It comes back understood, with the place it points to, and counts for no finding."""
    job = new_job()
    kept = web.post(f"/job/{job}/leak", data={"text": "wet 20 mm behind the connector, only parked"})
    assert kept.status_code == 200
    assert "First look at the electrical connector ring" in kept.text
    answer = web.get(f"/job/{job}/leaks.json").json()
    assert answer["sites"][0]["site"] == "connector"
    assert answer["notes"][0]["number"] is not None
    assert "Kept as notes, not counted" not in kept.text
    assert f'id="entry-{answer["notes"][0]["number"]}"' in kept.text
    assert all(entry["finding"] is None for entry in web.get(f"/job/{job}.json").json()["answer"]["findings"])


def test_a_line_that_tells_of_no_leak_comes_back_as_typed(
    web: TestClient, new_job: Callable[[], int]
) -> None:
    """With what is wrong beside it, and nothing kept."""
    job = new_job()
    refused = web.post(f"/job/{job}/leak", data={"text": "the left door speaker crackles"})
    assert refused.status_code == 422
    assert "the left door speaker crackles" in refused.text
    assert "no wet place" in refused.text
    assert web.get(f"/job/{job}.json").json()["answer"]["findings"] == []


def test_a_length_from_a_place_nobody_named_is_refused(web: TestClient, new_job: Callable[[], int]) -> None:
    """The answer lists what one may measure from."""
    job = new_job()
    answer = web.post(
        f"/job/{job}/leak",
        data={"text": "wet 20 mm behind the ashtray"},
        headers={"accept": "application/json"},
    )
    assert answer.status_code == 422
    assert "measure from" in json.dumps(answer.json())
