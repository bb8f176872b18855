"""Prepared models kept for the session, so that each box and car of the pages is worked out once."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def docs_cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache shared by all pages."""
    return tmp_path_factory.mktemp("prepared")
