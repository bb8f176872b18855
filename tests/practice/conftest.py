"""Every test here is common practice of the trade and says so by its mark."""

from __future__ import annotations

from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests of this folder."""
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.practice)
