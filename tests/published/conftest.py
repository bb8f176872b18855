"""Published checks say by a mark what they are, and write down what they compared when asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.truth.checks import checks_of, kind_of

HERE = Path(__file__).resolve().parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Refuse a test of this folder that does not say what it is."""
    for item in items:
        if item.path.is_relative_to(HERE):
            kind_of(item)
            checks_of(item)
