"""Small samples of what `scripts/soak fuzz` and `scripts/soak files` run in full, with the same code."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.soak.files import MOST_MEMORY as MOST_FOR_FILES
from tests.soak.fuzz import MOST_MEMORY as MOST_FOR_REQUESTS


def _soaked(repository: Path, *arguments: str) -> list[dict[str, Any]]:
    """The outcomes, from a program of its own whose memory is its own."""
    ran = subprocess.run(
        [sys.executable, "-m", "tests.soak", *arguments],
        cwd=repository,
        env={**os.environ, "PYTHONPATH": str(repository / "src")},
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
    )
    assert ran.returncode == 0, ran.stdout[-4000:] + ran.stderr[-4000:]
    return [json.loads(line) for line in ran.stdout.splitlines()]


def test_whatever_is_asked_is_answered(repository: Path) -> None:
    """On this machine and in the workshop; several shapes of answers are held to the description."""
    (outcome,) = _soaked(repository, "fuzz", "--count", "40")
    assert outcome["problems"] == []
    assert outcome["requests"] == 40
    # How many of so few answer in JSON is chance; the full run holds thousands to their shape.
    assert outcome["shapes_checked"] > 0
    assert not [code for code in outcome["statuses"] if code.startswith("5")]
    assert outcome["megabytes"] < MOST_FOR_REQUESTS


def test_whatever_is_read_is_taken_or_refused_in_words(repository: Path) -> None:
    """Files of every sort, sound, spoilt, and made to fill the memory."""
    outcomes = _soaked(repository, "files", "--count", "6")
    assert {outcome["sort"] for outcome in outcomes} >= {
        "box",
        "findings",
        "log",
        "archive",
        "photo",
        "tally",
    }
    for outcome in outcomes:
        assert outcome["problems"] == [], outcome["sort"]
        assert outcome["files"] == outcome["read"] + outcome["refused"] == 6
        assert outcome["read"] > 0
        assert outcome["megabytes"] < MOST_FOR_FILES
