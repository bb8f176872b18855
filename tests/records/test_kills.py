"""A small sample of the kills that `scripts/soak kills` runs in full, with the same code."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.records.conftest import BOTH


@pytest.mark.parametrize("kind", BOTH)
def test_writers_killed_at_any_moment_lose_nothing_acknowledged(repository: Path, kind: str) -> None:
    """Nor is anything they leave unsound; in a program of its own, which may fork."""
    ran = subprocess.run(
        [sys.executable, "-m", "tests.soak", "kills", "--count", "10", "--on", kind],
        cwd=repository,
        env={**os.environ, "PYTHONPATH": str(repository / "src")},
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
    )
    assert (ran.returncode, ran.stderr) == (0, "")
    outcome = json.loads(ran.stdout)
    assert (outcome["kills"], outcome["lost"], outcome["problems"]) == (10, [], [])
    assert outcome["acknowledged"] > 0
