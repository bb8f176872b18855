"""How readings were taken and their tries, on the command line and the page."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli

LINES = """\
box: A
findings:
  - line pressure drive idle 52 psi hot with the 300 psi gauge
  - again 54
  - line pressure reverse idle 95 psi
"""


def test_the_page_shows_what_was_assumed_and_what_counts_together(
    web: TestClient, new_job: Callable[[], int]
) -> None:
    """Just noted and in the list: said, taken from the last reading, usual, and the mean of the tries."""
    number = new_job()
    web.post(
        f"/job/{number}/note", data={"text": "line pressure drive idle 62 psi hot with the 300 psi gauge"}
    )
    answer = web.post(f"/job/{number}/note", data={"text": "again 64"}).text
    assert "ne of 2 tries taken together: 63 psi ±" in answer
    text = " ".join(answer.split())
    assert "Said: engine speed idle, range D, temperature hot, instrument 300 psi gauge" in text
    assert re.search(r"Taken from the last reading: engine speed idle, [^.]*instrument 300 psi gauge", text)
    assert "Usual for this finding: vacuum hose on" in text
    assert "taken as another try of: Line pressure, drive, hot idle" in text
    plain = web.post(f"/job/{number}/note", data={"text": "line pressure drive idle 70 psi"}).text
    assert "ounts in place of 64 psi noted before" in plain
    assert "Not counted:" in plain


def test_the_command_line_shows_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A findings file takes tries and what the last reading leaves to the next."""
    path = tmp_path / "findings.yaml"
    path.write_text(LINES, encoding="utf-8")
    assert cli.run(["causes", str(path)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert text.count("one of 2 tries taken together: 53 psi ±") == 2
    assert len(re.findall(r"taken from the last reading: [^“]*instrument 300 psi gauge", text)) == 2
    assert "mean of 2 tries" in text
