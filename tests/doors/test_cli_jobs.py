"""A job from the first word to the cause, at the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from bellhousing.cli import main as cli


@pytest.fixture(autouse=True)
def _own_folders(tmp_path: Path, prepared_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BELLHOUSING_SHOP", str(tmp_path / "shop"))
    monkeypatch.setenv("BELLHOUSING_CACHE", str(prepared_folder))


def run(capsys: pytest.CaptureFixture[str], *arguments: str, status: int = 0) -> str:
    """What a command prints."""
    assert cli.run(arguments) == status
    return capsys.readouterr().out


def run_json(capsys: pytest.CaptureFixture[str], *arguments: str, status: int = 0) -> Any:
    """What a command prints with --json."""
    return json.loads(run(capsys, *arguments, "--json", status=status))


def opened(capsys: pytest.CaptureFixture[str]) -> None:
    """One car and one job."""
    run(capsys, "car", "add", "grey saloon", "--box", "A", "--axle-ratio", "3.08", "--tyre-radius", "0.345 m")
    run(capsys, "job", "open", "--car", "grey-saloon", "--complaint", "not what it was")


def test_the_main_job_as_a_session(capsys: pytest.CaptureFixture[str]) -> None:
    """Open, note, ask for the causes and the next test."""
    opened(capsys)
    run(capsys, "note", "1", "blue smoke when pulling away after idling")
    run(capsys, "note", "1", "loses fluid but never a spot on the floor")
    run(capsys, "note", "1", "2-3 at 64 mph light throttle")
    said = run(capsys, "causes", "1")
    assert "in 100  Modulator diaphragm torn" in said
    assert "× " in said
    assert "bits" not in said
    assert "min" in run(capsys, "next", "1")
    answer = run_json(capsys, "causes", "1")
    assert answer["causes"][0]["cause"] == "modulator-diaphragm-torn"
    assert answer["findings"][0]["said"] == "blue smoke when pulling away after idling"
    assert "2-3" in run(capsys, "shift-map", "1")
    assert "Grey" in run(capsys, "job", "show", "1") or "grey" in run(capsys, "job", "show", "1")


def test_a_note_not_understood_is_kept_and_exits_non_zero(capsys: pytest.CaptureFixture[str]) -> None:
    """It is among the findings of the job afterwards."""
    opened(capsys)
    noted = run_json(capsys, "note", "1", "the left door speaker crackles", status=1)
    assert noted["findings"][0]["understood"] is None
    assert noted["problems"]
    kept = run_json(capsys, "job", "show", "1")["answer"]
    assert kept["notes"] == ["the left door speaker crackles"]


def test_an_impossible_value_is_kept_as_a_note_and_exits_non_zero(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The reason is said on the error channel."""
    opened(capsys)
    assert cli.run(["note", "1", "manifold vacuum 40 inHg"]) == 1
    said = capsys.readouterr()
    assert "40" in said.err
    assert run_json(capsys, "causes", "1")["notes"] == ["manifold vacuum 40 inHg"]


def test_an_empty_note_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """And nothing is kept."""
    opened(capsys)
    assert cli.run(["note", "1", "  "]) == 1
    assert "empty note" in capsys.readouterr().err
    assert run_json(capsys, "causes", "1")["findings"] == []


def test_a_finding_is_corrected_and_withdrawn(capsys: pytest.CaptureFixture[str]) -> None:
    """By its number."""
    opened(capsys)
    number = run_json(capsys, "note", "1", "line pressure idle D 62 psi")["findings"][0]["number"]
    newer = run_json(capsys, "note", "1", "line pressure idle D 128 psi", "--correct", str(number))
    assert newer["findings"][0]["value"] == 128.0
    taken = str(newer["findings"][0]["number"])
    assert cli.run(["note", "1", "--withdraw", taken]) == 1
    assert "say why" in capsys.readouterr().err
    said = run(capsys, "note", "1", "--withdraw", taken, "misread")
    assert "Entry 2 is taken back, “line pressure idle D 128 psi”" in said
    assert "Nothing noted yet" not in said
    assert run_json(capsys, "causes", "1")["findings"] == []


def test_a_closed_job_is_opened_again_before_it_is_written_on(capsys: pytest.CaptureFixture[str]) -> None:
    """The refusal names the command that opens it."""
    opened(capsys)
    run(capsys, "job", "close", "1", "--why", "hose replaced")
    assert cli.run(["note", "1", "no smoke"]) == 1
    assert "bellhousing job reopen 1" in capsys.readouterr().err
    run(capsys, "job", "reopen", "1")
    run(capsys, "note", "1", "no smoke")


@pytest.mark.parametrize("as_json", [False, True])
@pytest.mark.parametrize("command", ["causes", "next", "shift-map"])
def test_words_of_a_file_not_understood_exit_non_zero_as_those_of_a_note_do(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, command: str, as_json: bool
) -> None:
    """The rest is answered; what was not understood is said once."""
    path = tmp_path / "findings.yaml"
    path.write_text("box: A\nfindings: [no smoke, the left door speaker crackles]\n", encoding="utf-8")
    assert cli.run([command, str(path), *(["--json"] if as_json else [])]) == 1
    said = capsys.readouterr()
    if as_json:
        assert json.loads(said.out)["notes"] == ["the left door speaker crackles"]
        assert said.err == ""
    else:
        assert said.out
        assert said.err.count("the left door speaker crackles") == 1
    path.write_text("box: A\nfindings: [no smoke]\n", encoding="utf-8")
    assert cli.run([command, str(path)]) == 0


def test_the_interview_at_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    """Questions with their choices; an answer is a finding."""
    opened(capsys)
    assert "complaint-gear" in run(capsys, "job", "ask", "1")
    run(capsys, "job", "answer", "1", "complaint-gear", "third")
    asked = {entry["finding"]: entry["given"] for entry in run_json(capsys, "job", "ask", "1")}
    assert asked["complaint-gear"] == "third"
    assert cli.run(["job", "answer", "1", "complaint-gear", "ninth"]) == 1


def test_lists_say_what_to_do_while_they_are_empty(capsys: pytest.CaptureFixture[str]) -> None:
    """Cars and jobs, as text and as JSON."""
    assert "add one" in run(capsys, "car", "list")
    assert "open one" in run(capsys, "job", "list")
    assert run_json(capsys, "car", "list") == []
    opened(capsys)
    assert run_json(capsys, "car", "list")[0]["slug"] == "grey-saloon"
    assert "Box A (invented)" in run(capsys, "car", "list")
    assert run_json(capsys, "job", "list")[0]["number"] == 1
    assert run_json(capsys, "job", "close", "1")["status"] == "closed"
    assert run_json(capsys, "job", "reopen", "1")["status"] == "open"
