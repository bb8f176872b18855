"""Logs at the command line: the JSON others build on, corrections kept, a job that takes what a log tells."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest

from bellhousing.cli import main as cli
from bellhousing.road.logs.store import kept_rows
from bellhousing.tasks import opening
from bellhousing.tasks.shop import open_shop
from tests.road.invented_drives import Logger, loop, sampled, seen, written
from tests.road.reading_logs import columns_of

CAR = ("--box", "A", "--axle", "3.08", "--tyre-radius", "0.345 m")


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The standard loop as a logger wrote it."""
    monkeypatch.setenv("BELLHOUSING_SHOP", str(tmp_path / "shop"))
    path = tmp_path / "drive.csv"
    path.write_text(written(columns_of(sampled(loop(), Logger(seed=8)), "vacuum")), encoding="utf-8")
    return path


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, Any]:
    """Status and JSON of a command."""
    status = cli.run([*arguments, "--json"])
    return status, json.loads(capsys.readouterr().out)


def test_the_keys_of_the_answer(log: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Exactly these, figures in the units their names say; no shop is made for it."""
    status, read = answer(capsys, "road", "read", str(log), *CAR)
    assert status == 0
    assert list(read) == ["shifts", "slip", "columns", "warnings"]
    driven = [min(loop().shifts, key=lambda true: abs(true.t - shift["t_s"])) for shift in read["shifts"]]
    assert set(seen(loop())) <= set(driven)
    for shift, true in zip(read["shifts"], driven, strict=True):
        assert list(shift) == ["t_s", "from", "to", "road_speed_mph", "throttle", "duration_s", "flare_rpm"]
        assert list(shift["throttle"]) == ["value", "unit"]
        assert (shift["from"], shift["to"], shift["throttle"]["unit"]) == (true.before, true.after, "inHg")
        assert shift["t_s"] == pytest.approx(true.t, abs=0.3 if true in seen(loop()) else 0.8)
        assert shift["road_speed_mph"] == pytest.approx(true.mph, abs=1.0)
        assert 0.2 < shift["duration_s"] < 1.0
        assert shift["flare_rpm"] == 0.0
    assert read["slip"] == []
    assert {column["meaning"] for column in read["columns"]} == {"time", "speed", "engine-speed", "vacuum"}
    assert not (tmp_path / "shop").exists()


@pytest.mark.parametrize(
    ("head", "scale", "offset", "unit"),
    [("Throttle [%]", 1.0, 0.0, "%"), ("TPS (V)", 0.04, 0.6, "V"), ("throttle", 0.01, 0.0, "%")],
)
def test_the_throttle_comes_back_as_logged(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], head: str, scale: float, offset: float, unit: str
) -> None:
    """In per cent, or in the volts of its sender."""
    rows = sampled(loop(), Logger(seed=9))
    columns = columns_of(rows) | {head: rows["throttle"] * scale + offset}
    path = tmp_path / "throttle.csv"
    path.write_text(written(columns), encoding="utf-8")
    status, read = answer(capsys, "road", "read", str(path), *CAR)
    assert status == 0
    full = next(shift for shift in read["shifts"] if shift["from"] == 1 and shift["road_speed_mph"] > 40)
    right = 100.0 if unit == "%" else 100.0 * scale + offset
    assert full["throttle"] == {"value": pytest.approx(right, rel=0.02), "unit": unit}


def test_the_same_log_gives_the_same_bytes(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing in the reading is left to chance."""
    said = []
    for _ in range(2):
        assert cli.run(["road", "read", str(log), *CAR, "--json"]) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]


def test_for_people_it_shows_what_was_guessed(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Columns first, then shifts, then what they tell."""
    assert cli.run(["road", "read", str(log), *CAR]) == 0
    said = capsys.readouterr().out
    assert "'Speed [mph]' in mph (guessed)" in said
    assert said.index("Columns") < said.index("shifts in") < said.index("What this tells")


def test_a_column_is_put_right_once(log: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Said with --column, remembered for the next log with the same header."""
    odd = tmp_path / "odd.csv"
    odd.write_text(log.read_text().replace("Time [s],Speed [mph],Engine [rpm],Vacuum [inHg]", "a,b,c,d"))
    status, refused = answer(capsys, "road", "read", str(odd), *CAR)
    assert status == 1
    assert "--column" in refused["error"]["remedy"]
    said = [
        text for one in ("time=a", "speed=b in mph", "engine-speed=c in rpm") for text in ("--column", one)
    ]
    status, first = answer(capsys, "road", "read", str(odd), *CAR, *said)
    assert status == 0
    status, again = answer(capsys, "road", "read", str(odd), *CAR)
    assert status == 0
    assert again["shifts"] == first["shifts"] != []
    assert {column["how"] for column in again["columns"]} == {"remembered"}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--axle", "0.2"), "axle_ratio"),
        (("--tyre-radius", "3 m"), "tyre_radius"),
        (("--box", "nothing-like-it"), ""),
        (("--rate", "often"), "no rate"),
        (("--column", "colour=b"), "does not say"),
    ],
)
def test_what_cannot_be_is_refused(
    log: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, str], said: str
) -> None:
    """Status 1 and one error that says what would be right."""
    status, refused = answer(capsys, "road", "read", str(log), *CAR, *arguments)
    assert status == 1
    assert said in refused["error"]["what"]
    assert refused["error"]["remedy"]


def test_a_job_takes_what_a_log_tells(log: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Findings on the job, each once; rows beside the records as Parquet, with the file as it came."""
    folder = tmp_path / "shop"
    with open_shop(folder) as shop:
        opening.open_car(shop, "grey saloon", box="A", axle_ratio="3.08", tyre_radius="0.345 m")
        job = opening.open_job(shop, "grey saloon", "Not what it was").number
    for _ in range(2):
        status, added = answer(capsys, "road", "add", str(job), str(log))
        assert status == 0
    told = {found["finding"] for found in added["findings"]}
    assert {"upshift-12-full", "upshift-23-medium", "shift-feel-12", "slip-third"} <= told
    with open_shop(folder) as shop:
        kept = [entry.finding or "" for entry in shop.store.current_findings(job)]
    assert sorted(kept) == sorted(told)
    (parquet,) = (folder / "logs").glob("*.parquet")
    assert (parquet.with_suffix(".csv")).read_bytes() == log.read_bytes()
    parts = list(kept_rows(parquet, ["time", "speed", "engine-speed"], rows=500))
    assert sum(len(part["time"]) for part in parts) == pl.scan_parquet(parquet).collect().height > 2000
    assert max(len(part["time"]) for part in parts) == 500
    fastest = max(float(np.nanmax(part["speed"])) for part in parts)
    assert fastest == pytest.approx(loop().mph.max() * 0.44704, abs=1.0)
