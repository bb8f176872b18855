"""A disk that is full under the running app: pages are read all the same, what is sent is refused."""

from __future__ import annotations

import errno
import logging
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NoReturn

import polars as pl
import pytest
from starlette.testclient import TestClient

from bellhousing.errors import InputFileError
from bellhousing.records.refusals import NotWritten
from bellhousing.records.store import Store
from bellhousing.reports.printing import print_pdf
from bellhousing.road.logs.columns import Column
from bellhousing.road.logs.store import keep_log, kept_meanings
from bellhousing.road.logs.units import log_unit
from bellhousing.tasks import noting
from bellhousing.tasks.shop import Shop


def full(*given: object, **named: object) -> NoReturn:
    """As a disk without room answers."""
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_full_disk_keeps_nobody_from_reading(
    web: TestClient,
    demo: Shop,
    new_job: Callable[[], int],
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    """A verdict that cannot be kept is worked out again the next time; only what is sent is refused."""
    number = new_job()
    noting.note(demo, number, "fluid dark brown")

    def refuse(*given: object, **named: object) -> NoReturn:
        raise NotWritten("the disk is full", remedy="make room on the disk, then say it again")

    with monkeypatch.context() as now, caplog.at_level(logging.WARNING):
        now.setattr(Store, "add_verdict", refuse)
        now.setattr(Store, "add_finding", refuse)
        assert web.get(f"/job/{number}/causes.json").status_code == 200
        assert "a verdict was not kept: the disk is full" in caplog.text
        sent = web.post(
            f"/job/{number}/note", data={"text": "fluid level low"}, headers={"accept": "application/json"}
        )
        assert sent.status_code == 422
        assert "make room on the disk" in sent.json()["error"]["remedy"]
    assert demo.store.verdicts(number) == ()
    assert web.get(f"/job/{number}/causes.json").status_code == 200
    assert len(demo.store.verdicts(number)) == 1


def test_paper_and_settings_say_what_to_do_when_there_is_no_room(
    empty: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And the settings are as they were."""
    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(InputFileError, match="make room on the disk, then print it again"):
        print_pdf("letter.typ", {}, at=datetime(2026, 3, 2, tzinfo=UTC))
    monkeypatch.setattr(Path, "write_text", full)
    kept = empty.post("/settings", data={"name": "Corner Works"})
    assert kept.status_code == 422
    assert "ake room on the disk, or give" in kept.text
    assert "Corner Works" not in empty.get("/settings.json").text


def test_a_log_is_kept_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows broken off half way are not taken for the log the next time."""
    log = tmp_path / "drive.csv"
    log.write_text("time,speed\n" + "".join(f"{row / 10},{row / 3:.1f}\n" for row in range(200)))
    units = {"time": log_unit("s", "time"), "speed": log_unit("mph", "speed")}
    columns = tuple(
        Column(place, name, name, unit)
        for place, (name, unit) in enumerate(units.items())
        if unit is not None
    )

    whole = pl.LazyFrame.sink_parquet

    def half(frame: pl.LazyFrame, target: str | Path, **named: Any) -> None:
        if Path(target).suffix == ".new":
            Path(target).write_bytes(b"PAR1 half of it")
            full()
        whole(frame, target, **named)

    monkeypatch.setattr(pl.LazyFrame, "sink_parquet", half)
    with pytest.raises(InputFileError, match=r"No space left.*make room"):
        keep_log(log, columns, tmp_path)
    monkeypatch.undo()
    assert [path.suffix for path in (tmp_path / "logs").iterdir()] == [".csv"]
    kept = keep_log(log, columns, tmp_path)
    assert kept_meanings(kept) == ("time", "speed")
    assert {path.suffix for path in (tmp_path / "logs").iterdir()} == {".csv", ".parquet"}
