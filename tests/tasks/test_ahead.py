"""Models worked out before anybody asks."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from bellhousing.tasks.ahead import prepare_ahead
from bellhousing.tasks.demo import open_demo
from bellhousing.tasks.on_job import on_job
from bellhousing.tasks.preparation import Preparation


def test_the_models_of_open_jobs_are_at_hand_and_a_reckoning_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each car once; what was reckoned for a job is the same thing until something is noted."""
    # What is asked is which models are worked out and when, not what they say.
    defaults = Preparation.prepared.__kwdefaults__
    assert defaults is not None
    monkeypatch.setitem(defaults, "cars", 12)
    with open_demo(tmp_path / "shop", cache=tmp_path / "cache") as shop:
        stop = threading.Event()
        stop.set()
        assert prepare_ahead(shop, stop) == 0
        assert prepare_ahead(shop) == 3
        assert len(list((tmp_path / "cache").glob("*.prepared"))) == 3
        first = on_job(shop, 3).reckoning
        assert on_job(shop, 3).reckoning is first
        assert first.diagnosis is first.diagnosis
        assert on_job(shop, 2).reckoning is not first
