"""Collects the marks of the published and the practice tests without running them."""

from __future__ import annotations

import contextlib
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.truth.checks import KINDS, NAMING, Check, checks_of, held_by


@dataclass(frozen=True)
class Said:
    """What a test that does not count says of itself."""

    kind: str
    text: str
    test: str
    sentence: str
    codes: tuple[str, ...] = ()


@dataclass
class Collected:
    """The published checks, what is held another way, and the tests beside them that do not count."""

    checks: list[Check] = field(default_factory=list)
    held: list[Check] = field(default_factory=list)
    beside: list[Said] = field(default_factory=list)

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Read the marks."""
        for item in items:
            self.checks += checks_of(item)
            sentence = (getattr(getattr(item, "function", None), "__doc__", None) or "").split("\n\n")[0]
            for kind in (*KINDS[1:], "practice"):
                mark = item.get_closest_marker(kind)
                if mark is not None:
                    text = str(mark.args[0]) if mark.args else ""
                    held = held_by(item, kind) if kind in NAMING else []
                    self.held += held
                    codes = tuple(check.code.partition(":")[0] for check in held)
                    self.beside.append(Said(kind, text, item.nodeid, " ".join(sentence.split()), codes))

    @property
    def distinct(self) -> int:
        """Number of distinct checks."""
        return len({check.key for check in self.checks})

    @property
    def sources(self) -> int:
        """Number of distinct printed sources."""
        return len({check.source for check in self.checks})


def collected(root: Path, names: Sequence[str] = ("published",)) -> Collected:
    """The marks of the tests in these folders. Raises RuntimeError when they cannot be collected."""
    plugin, said = Collected(), io.StringIO()
    folders = [str(root / "tests" / name) for name in names]
    with contextlib.redirect_stdout(said):
        arguments = ["--collect-only", "-q", "-n", "0", "-p", "no:cacheprovider", f"--rootdir={root}"]
        code = pytest.main([*arguments, *folders], plugins=[plugin])
    if code != pytest.ExitCode.OK:
        raise RuntimeError(said.getvalue()[-3000:])
    return plugin
