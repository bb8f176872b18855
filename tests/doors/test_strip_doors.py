"""`bellhousing strip`: text and JSON, for a box, a job and a findings file."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from bellhousing.cli import main as cli
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.strip_shapes import StripAnswer


def test_the_plan_as_text(capsys: pytest.CaptureFixture[str]) -> None:
    """Steps in order, each caution once, lines that fit."""
    assert cli.run(["strip", "A", "--to", "pump outer ring", "--to", "governor"]) == 0
    said = capsys.readouterr().out
    flat = " ".join(said.split())
    assert said.startswith("To Front pump, Governor: 16 steps, 3 h 56 min")
    assert flat.count("Fluid follows the part out") == 1
    assert "Measure first: front end play." in flat
    assert "hole 4: 1.5 in long" in flat
    assert "Parts tree: invented." in flat
    assert all(len(line) <= 96 for line in said.splitlines())


def test_the_plan_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """The whole answer, and it reads back as the same shape."""
    assert cli.run(["strip", "B", "--to", "rear band", "--json"]) == 0
    said = capsys.readouterr().out
    answer = StripAnswer.model_validate_json(said)
    assert [step.part for step in answer.steps][-1] == "rear-band"
    assert set(json.loads(said)["steps"][0]) >= {"part", "name", "minutes", "tools", "cautions", "flange"}
    assert "Centre support" in next(step for step in answer.steps if step.part == "reverse-unit").instead


def test_a_job_by_its_number(
    demo: Shop, new_job: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    """The box of the job's car, with no step taken yet."""
    assert cli.run(["strip", str(new_job()), "--to", "pan", "--shop", str(demo.folder)]) == 0
    assert capsys.readouterr().out.startswith("To Pan: 1 step, 28 min")


def test_a_findings_file_names_its_box(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No model is worked out where the part is named."""
    path = tmp_path / "car.yaml"
    path.write_text("box: B\nfindings:\n  - slips in third\n", encoding="utf-8")
    assert cli.run(["strip", str(path), "--to", "screen"]) == 0
    assert capsys.readouterr().out.startswith("To Pickup screen: 2 steps, 36 min")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["strip", "A", "--to", "pump outter ring"], "did you mean pump outer ring"),
        (["strip", "A"], "no part is aimed at"),
        (["strip", "three-speed-vacuum", "--to", "pan"], "has no parts tree"),
        (["strip", "box-q", "--to", "pan"], "no box and no file is called 'box-q'"),
    ],
)
def test_refusals_say_what_would_be_right(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line on the error channel, exit status 1."""
    assert cli.run(arguments) == 1
    assert said in capsys.readouterr().err
