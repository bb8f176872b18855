"""Adjusting advice at the command line and over the web."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli.main import run
from bellhousing.tasks import noting
from bellhousing.tasks.shop import Shop

HIGH = (
    "line pressure D hose off 166 psi",
    "2-3 half throttle 54 mph",
    "vacuum at modulator idle 18 inHg",
)


def written(folder: Path, *said: str, box: str = "box-a") -> str:
    """A findings file."""
    path = folder / "found.yaml"
    lines = [f"box: {box}", "findings:", *(f"  - {text}" for text in said)]
    path.write_text("\n".join(lines), encoding="utf-8")
    return str(path)


def test_a_file_is_told_how_far(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Turns, what results, and the cautions stand in the text; the same in the JSON."""
    path = written(tmp_path, *HIGH)
    assert run(["adjust", path]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Turn the modulator's screw out ")
    assert "never lowered to soften" in text
    assert run(["adjust", path, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["state"] == "adjust"
    assert answer["amount"] < 0.0
    assert answer["needed"]["low"] <= answer["amount"] <= answer["needed"]["high"]
    line = next(entry for entry in answer["outcomes"] if entry["finding"] == "line-drive-hose-off")
    assert line["window"][0] < line["then"]["middle"] < line["window"][1] < line["now"]["middle"]


def test_a_turn_made_is_counted_and_not_complained_of(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A turn in the file is no sentence that was not understood, and the advice is what is left to turn."""
    assert run(["adjust", written(tmp_path, *HIGH), "--json"]) == 0
    before = json.loads(capsys.readouterr().out)["needed"]["middle"]
    path = written(tmp_path, *HIGH, "screw out 4 turns", "line pressure D hose off 158 psi")
    assert run(["adjust", path, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert [(step["amount"], step["counts"]) for step in answer["steps"]] == [(-4.0, True)]
    assert answer["notes"] == []
    assert answer["needed"]["middle"] == pytest.approx(before + 4.0, abs=1.5)
    assert run(["causes", path]) == 0


def test_the_rod_of_the_four_speed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A rod too long is told in millimetres shorter."""
    path = written(
        tmp_path, "throttle valve pressure closed 10 psi", "3-4 light throttle 30 mph", box="box-b"
    )
    assert run(["adjust", path, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["thing"], answer["unit"], answer["state"]) == ("rod", "mm", "adjust")
    assert -6.0 < answer["amount"] < -0.5


def test_what_is_left_alone_stays_as_it_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Once the rod is right, nothing is foretold of a change that is not advised."""
    found = ("3-4 at 29 mph light throttle", "2-3 harsh", "tv pressure 42 psi half way")
    path = written(tmp_path, *found, "rod 3.5 mm shorter", "tv pressure 31 psi half way", box="box-b")
    assert run(["adjust", path, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["state"] in ("not-to-soften", "on-map")
    assert answer["amount"] == 0.0
    assert answer["outcomes"]
    assert all(entry["then"] == entry["now"] for entry in answer["outcomes"])


def test_what_was_not_understood_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sentence nobody understands leaves with status 1 and is named."""
    assert run(["adjust", written(tmp_path, *HIGH, "the frobs are quite woozy")]) == 1
    assert "woozy" in capsys.readouterr().err


def test_the_job_page_tells_it(web: TestClient, demo: Shop, new_job: Callable[[], int]) -> None:
    """The job's page has the part, and its JSON is that of the command line."""
    job = new_job()
    for text in HIGH:
        noting.note(demo, job, text)
    answer = web.get(f"/job/{job}/adjust.json").json()
    page = web.get(f"/job/{job}").text
    assert answer["say"].split("screw ")[1] in page
    assert 'id="adjust"' in page
    assert web.get(f"/job/{job}/adjust", follow_redirects=False).headers["location"] == f"/job/{job}#adjust"
    for text in ("line pressure D hose off 141 psi", "2-3 half throttle 70 mph", "fluid in the vacuum hose"):
        noting.note(demo, job, text)
    again = web.get(f"/job/{job}/adjust.json").json()
    assert again["state"] == "other-cause"
    assert "fluid in the vacuum hose" in [entry["said"] for entry in again["against"]]


@pytest.mark.parametrize(
    ("box", "said", "part"),
    [
        (
            "four-speed-linkage",
            (
                "throttle valve pressure closed 18 psi",
                "3-4 light throttle 38 mph",
                "2-3 light throttle 28 mph",
            ),
            "throttle-rod",
        ),
        (
            "three-speed-vacuum",
            (
                "line pressure D hose off 182 psi",
                "2-3 half throttle 66 mph",
                "2-3 light throttle 40 mph",
                "vacuum at modulator idle 18 inHg",
            ),
            "modulator-screw",
        ),
    ],
)
def test_an_unknown_rate_asks_for_one_step(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], box: str, said: tuple[str, ...], part: str
) -> None:
    """Where only the kind is known, one step is asked for, and what the car shows once on its map is told."""
    path = written(tmp_path, *said, box=box)
    assert run(["adjust", path]) == 0
    assert part in capsys.readouterr().out
    assert run(["adjust", path, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["state"], answer["amount"], answer["rate"]) == ("one-step", -1.0, None)
    for outcome in answer["outcomes"]:
        if outcome["finding"].startswith("upshift-23"):
            assert outcome["window"][0] < outcome["then"]["middle"] < outcome["window"][1]
            assert outcome["then"]["middle"] < outcome["now"]["middle"]
