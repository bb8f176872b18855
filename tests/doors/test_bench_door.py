"""`bellhousing bench`: the keys of its JSON, its text, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bellhousing.cli import main as cli

BENCH = """\
box: A
findings:
  - line pressure idle D 40 psi hot
measured:
  - pump face clearance 0.0042 in
"""


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A findings file with one number of the bench, and a cache of its own."""
    monkeypatch.setenv("BELLHOUSING_SHOP", str(tmp_path / "never-made"))
    file = tmp_path / "bench.yaml"
    file.write_text(BENCH, encoding="utf-8")
    return file


def test_the_answer_as_json(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Foretold beside read, the rule with it, and no shop is made."""
    assert cli.run(["bench", str(path), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert set(answer) >= {"box", "numbers", "readings", "foretold", "counted", "text", "rule"}
    (reading,) = answer["readings"]
    assert set(reading) >= {"finding", "outcome", "low", "middle", "high", "sound_low", "sound_high", "unit"}
    assert reading["finding"] == "line-drive-idle"
    assert answer["numbers"][0]["value"] == pytest.approx(0.0042)
    assert not (path.parent / "never-made").exists()


def test_the_answer_as_text(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sentence in front, the rule at the end."""
    assert cli.run(["bench", str(path)]) == 0
    said = capsys.readouterr().out
    assert "Read, beside what these parts foretell" in said
    assert "Rule: " in said.splitlines()[-3]


def test_the_same_file_gives_the_same_bytes(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every draw is seeded."""
    said = []
    for _ in range(2):
        cli.run(["bench", str(path), "--json"])
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]


def test_nothing_measured_is_one_clear_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """And exit status 1."""
    file = tmp_path / "none.yaml"
    file.write_text("box: A\nfindings:\n  - slips in first\n", encoding="utf-8")
    assert cli.run(["bench", str(file)]) == 1
    assert "nothing was measured on the bench" in capsys.readouterr().err
