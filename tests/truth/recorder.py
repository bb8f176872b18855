"""With `--truth FILE`, what the tests compared and which code of the package they reached, as JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest

from tests.truth.figures import Compared, noted

PACKAGE = "bellhousing."


class Recorder:
    """A plugin of pytest that writes down every test of a run."""

    def __init__(self, target: Path) -> None:
        self.target = target
        self.tests: dict[str, dict[str, Any]] = {}

    @pytest.fixture(autouse=True)
    def written_down(self, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
        """Keep what this test compares and reaches."""
        compared: list[dict[str, Any]] = []
        seen: dict[CodeType, str] = {}

        def note(one: Compared) -> None:
            compared.append(one.as_json())

        def called(frame: FrameType, event: str, _: object) -> None:
            if event == "call" and frame.f_code not in seen:
                module = str(frame.f_globals.get("__name__", ""))
                name = frame.f_code.co_qualname if module.startswith(PACKAGE) else ""
                seen[frame.f_code] = f"{module.removeprefix(PACKAGE)}.{name}" if name else ""

        monkeypatch.setattr(pytest, "approx", noted(pytest.approx, note))
        sys.setprofile(called)
        yield
        sys.setprofile(None)
        reached = sorted({name for name in seen.values() if name and "<" not in name})
        self.tests[request.node.nodeid] = {"compared": compared, "reached": reached}

    def pytest_sessionfinish(self) -> None:
        """Write what was kept."""
        self.target.parent.mkdir(parents=True, exist_ok=True)
        self.target.write_text(json.dumps(self.tests, indent=1), encoding="utf-8")
