"""A kept log looked at closer, and a simulated drive of a job's car, as pages and as JSON."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks.road_drive import drive_car
from bellhousing.tasks.road_kept import readings_of_job
from bellhousing.tasks.road_logs import add_road_log
from bellhousing.tasks.road_window import PIXELS, log_window
from bellhousing.tasks.shop import Shop


@pytest.fixture(scope="module")
def fine_log(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, float]:
    """A pull as a fast logger writes it, the engine 150 rpm up in one row; when that is."""
    path = tmp_path_factory.mktemp("log") / "pull.csv"
    drive_car(box="box-a", name="light-pull", rate="100 Hz", log=path)
    lines = path.read_text("utf-8").splitlines()
    place = len(lines) // 2
    cells = lines[place].split(",")
    cells[2] = f"{float(cells[2]) + 150.0:.1f}"
    lines[place] = ",".join(cells)
    path.write_text("\n".join(lines), "utf-8")
    return path, float(cells[0])


def test_every_extreme_of_a_stretch_is_drawn(
    web: TestClient, demo: Shop, new_job: Callable[[str], int], fine_log: tuple[Path, float]
) -> None:
    """However many rows a stretch has, its greatest and least are drawn; a short one has all rows."""
    path, moment = fine_log
    number = new_job("Shifts late")
    add_road_log(demo, number, path)
    log = readings_of_job(demo, number)[0].log
    whole = log_window(demo, number, log)
    assert whole.fine
    assert whole.rows > 4 * PIXELS >= len(whole.picture.time) - 4 * PIXELS
    near = log_window(demo, number, log, begin=moment - 1.0, end=moment + 1.0)
    assert len(near.picture.time) == near.rows == pytest.approx(200, abs=3)
    around = [value for time, value in zip(near.picture.time, near.picture.engine, strict=True)
              if 0.02 < abs(time - moment) < 0.2]  # fmt: skip
    assert max(near.picture.engine) > max(around) + 100
    assert max(near.picture.engine) in whole.picture.engine
    page = web.get(f"/job/{number}/road/{log}", params={"from": moment - 1, "to": moment + 1})
    assert "drawn with the least and the greatest" in page.text
    assert 'data-key="ArrowLeft"' in page.text
    told = web.get(f"/job/{number}/road/{log}.json", params={"from": "nonsense", "to": "1e400"}).json()
    assert told["every_row"] is True
    assert told["rows"] == whole.rows
    assert web.get(f"/job/{number}/road/{'0' * 64}").status_code == 404


def test_a_simulated_drive_has_its_picture_and_its_table(web: TestClient) -> None:
    """Sound or with a fault, said to be simulated; nothing is driven unasked; a wrong fault is told."""
    form = web.get("/job/3/drive").text
    assert "<figure>" not in form
    asked = {"manoeuvre": "light-pull", "fault": "modulator-diaphragm-torn", "severity": "severe"}
    page = web.get("/job/3/drive", params=asked).text
    assert "nothing here was measured" in page
    assert page.count("<svg xmlns") == 2
    sound = web.get("/job/3/drive.json", params={"manoeuvre": "light-pull"}).json()
    torn = web.get("/job/3/drive.json", params=asked).json()
    assert len(sound["shifts"]) == 2
    assert len(torn["shifts"]) < 2
    wrong = web.get("/job/3/drive", params={"manoeuvre": "light-pull", "fault": "no-such-fault"})
    assert wrong.status_code == 422
    assert "There is no fault" in wrong.text
