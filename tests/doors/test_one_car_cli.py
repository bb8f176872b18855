"""The command line of driving, fitting and proving one car."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bellhousing.cli.main import run

HEAD = "box: A\ncar: {axle_ratio: 3.08, tyre_radius: 0.345 m}\nfindings:\n"


@pytest.fixture
def files(tmp_path: Path) -> tuple[str, str]:
    """Findings before and after."""
    before, after = tmp_path / "before.yaml", tmp_path / "after.yaml"
    before.write_text(HEAD + '  - "1-2 light 30 mph"\n  - "1-2 medium 38 mph"\n')
    after.write_text(HEAD + '  - "1-2 light 12.5 mph"\n  - "1-2 medium 19 mph"\n  - "2-3 light 18 mph"\n')
    return str(before), str(after)


def test_road_drive_writes_a_log_and_tells_its_shifts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As JSON and as text; the list of manoeuvres too."""
    log = tmp_path / "pull.csv"
    assert run(["road", "drive", "--box", "A", "--manoeuvre", "medium-pull", "-o", str(log), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert [(one["from_"], one["to"]) for one in answer["shifts"]] == [(1, 2), (2, 3)]
    assert log.read_text().splitlines()[0].startswith("time_s,speed_mph,engine_rpm")
    assert run(["road", "drive", "--list"]) == 0
    assert "road-loop" in capsys.readouterr().out


def test_road_drive_refuses_an_unknown_fault(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit status 1, and the nearest name."""
    assert run(["road", "drive", "--box", "A", "--fault", "vacuum-hose-of"]) == 1
    assert "vacuum-hose-off" in capsys.readouterr().err


def test_prove_says_what_is_proved_and_what_is_not_tested(
    files: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In words, as JSON, and with a picture."""
    picture = tmp_path / "proof.svg"
    assert run(["prove", *files, "--picture", str(picture)]) == 0
    said = capsys.readouterr().out
    assert "It shifts as a sound one does" in said
    assert "Not tested: 1–2 at full throttle" in said
    assert picture.read_text().startswith("<svg")
    assert run(["prove", "-", files[1], "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["before"] is None
    assert answer["after"]["as_sound"] > 0.8


def test_fit_says_what_the_readings_cannot_tell(
    files: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Three shifts tell little, and it is said which."""
    assert run(["fit", files[1], "--date", "2026-05-01"]) == 0
    said = capsys.readouterr().out
    assert "These readings cannot tell" in said
    assert "Regulator's spring" in said
    assert run(["fit", files[1], "--date", "2026-05-01", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["date"] == "2026-05-01"


def test_fit_refuses_what_holds_no_reading(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing to fit."""
    path = tmp_path / "none.yaml"
    path.write_text(HEAD + '  - "fluid smells burnt"\n')
    assert run(["fit", str(path)]) == 1
    assert "nothing to fit" in capsys.readouterr().err


FOUR = """\
box: B
car: {axle_ratio: 3.08, tyre_radius: 0.345 m}
findings:
  - "1-2 light 8 mph"
  - "2-3 medium 26 mph"
  - "3-4 light 23 mph"
  - "3-4 full throttle 66 mph"
  - "forced 4-3 at 58 mph"
  - "coast 4-3 at 16 mph"
  - "tv pressure at full throttle 70 psi"
  - "g1 pressure at 20 mph 22 psi"
  - "line pressure in drive at 1000 rpm 84 psi"
"""


def test_a_four_speed_is_fitted_and_proved(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its rod and governor are told, a longer rod is foretold, and the same rows prove it sound."""
    path = tmp_path / "four.yaml"
    path.write_text(FOUR)
    assert run(["fit", str(path), "--date", "2026-05-01", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    told = {one["id"] for one in answer["parameters"] if one["told"]}
    assert {"governor-level", "rod", "regulator-base"} <= told
    assert "3–4 valve's downshift gain" in answer["cannot_tell"]
    assert {row["unit"] for row in answer["rows"]} == {"mph", "psi"}
    assert answer["hose_off"] == []
    assert [one["shift"] for one in answer["rod_longer"]] == ["1-2", "2-3", "3-4"]
    assert all(one["low"] < one["middle"] < one["high"] for one in answer["rod_longer"])
    assert all(one["middle"] > one["now"] for one in answer["rod_longer"])
    assert run(["fit", str(path)]) == 0
    assert "With the throttle rod 1/16 in longer" in capsys.readouterr().out
    assert run(["prove", "-", str(path)]) == 0
    said = capsys.readouterr().out
    assert "It shifts as a sound one does" in said
    assert "2–1 on the coast" in said
    assert "4–3 with the pedal on its stop" not in said


def test_a_car_said_twice_is_refused(files: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    """A findings file and a job have a car of their own; an axle beside them would go unheard."""
    assert run(["fit", files[1], "--axle", "3.55"]) == 1
    assert "names its own car" in capsys.readouterr().err
    assert run(["fit", "1", "--axle", "3.55"]) == 2
    assert "go with a file" in capsys.readouterr().err
