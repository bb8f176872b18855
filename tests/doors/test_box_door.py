"""`bellhousing box`: what is known of a box, its windows, a blank to fill in, and keeping one's own."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bellhousing.boxes.load import load_box
from bellhousing.cli import main as cli
from bellhousing.diagnosis.prepare import CarFacts
from bellhousing.diagnosis.windows import sound_windows, window
from bellhousing.tasks.preparation import Preparation
from bellhousing.tasks.shop import Shop

OWN = "schema: 1\nname: Ours\nslug: ours\nfamily: three-speed-vacuum\nwindows: {line-drive-idle: 60-75 psi}\n"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A box file of five lines."""
    path = tmp_path / "ours.yaml"
    path.write_text(OWN, encoding="utf-8")
    return path


def test_windows_are_those_of_the_diagnosis(demo: Shop) -> None:
    """Reckoned without the faults, every window is the one that stands beside a reading of a job."""
    box, car = load_box("A"), CarFacts(3.08, 0.345, 0.0)
    prepared = Preparation(demo.catalogue, demo.cache).prepared(box, car)
    quick = sound_windows(box, car, demo.catalogue)
    assert len(quick) > 25
    for name, band in quick.items():
        full = window(prepared, name)
        assert full is not None
        assert full.source == band.source
        assert (band.low, band.high) == pytest.approx((full.low, full.high), rel=1e-5, abs=1e-6)


def test_the_less_is_known_the_wider(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A box known by its kind has wider windows than box A; a typed limit stands before a predicted one."""
    spans: dict[str, dict[str, float]] = {}
    for name in (str(file), "A"):
        assert cli.run(["box", "windows", name, "--json"]) == 0
        answer = json.loads(capsys.readouterr().out)["windows"]
        spans[name] = {entry["finding"]: entry["high"] - entry["low"] for entry in answer}
        sources = {entry["finding"]: entry["source"] for entry in answer}
        assert (sources["line-drive-idle"] == "this box's manual") == (name == str(file))
    wider = [key for key in spans["A"] if spans[str(file)][key] > spans["A"][key]]
    assert len(wider) > 0.9 * len(spans["A"])


@pytest.mark.parametrize(
    ("fluid", "index"),
    [
        ("viscosity_40: 22.83 cSt, viscosity_100: 5.05 cSt", 156),
        ("viscosity_40: 5.5 cSt, viscosity_100: 1.9 cSt", None),
        ("viscosity_40: 36 cSt", None),
    ],
)
def test_the_index_of_the_fluid_follows_from_both_viscosities(
    fluid: str, index: int | None, file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The example of ASTM D2270, 6.1.4; none below 2 cSt at 100 °C, and none where the kind's stands in."""
    file.write_text(f"{OWN}fluid: {{{fluid}}}\n", encoding="utf-8")
    assert cli.run(["box", "show", str(file), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["fluid_index"] == index
    assert cli.run(["box", "show", str(file)]) == 0
    assert ("Viscosity index of the fluid: 156" in capsys.readouterr().out) == (index is not None)


def test_what_is_known_and_what_is_lost(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every part with its count, the limits, and each loss; a file with faults is refused with its lines."""
    assert cli.run(["box", "show", str(file)]) == 0
    said = capsys.readouterr().out
    assert "governor                     0 of 6" in said
    assert "60-75 psi" in said
    assert "No figures for governor" in said
    file.write_text(OWN + "governor: {primary_mas: 78 g}\n", encoding="utf-8")
    assert cli.run(["box", "show", str(file)]) == 1
    assert "line 6" in capsys.readouterr().err


def test_the_chart_by_gear(capsys: pytest.CaptureFixture[str]) -> None:
    """What is applied in each gear, in words, as the box file's own chart has it."""
    assert cli.run(["box", "show", "B"]) == 0
    said = capsys.readouterr().out.split("Applied in each gear\n")[1].split("\n\n")[0]
    lines = dict(line.split(maxsplit=1) for line in said.splitlines())
    train = load_box("B").gear_train
    assert train is not None
    for gear, names in (*train["ranges"]["D"].items(), *train["ranges"]["R"].items()):
        assert set(lines[gear].replace(" ", "-").split(",-")) == set(names)


def test_a_blank_and_a_box_of_ones_own(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A blank is written once, reads as a box, and a file kept with the shop can be named by a car."""
    blank = tmp_path / "blank.yaml"
    assert cli.run(["box", "blank", str(blank)]) == 0
    assert load_box(blank).unknown
    assert cli.run(["box", "blank", str(blank)]) == 1
    shop = ["--shop", str(tmp_path / "shop")]
    assert cli.run(["box", "keep", str(file), *shop]) == 0
    assert cli.run(["box", "keep", str(file), *shop]) == 1
    assert cli.run(["box", "keep", str(file), "--replace", *shop]) == 0
    assert cli.run(["car", "add", "saloon", "--box", "ours", *shop]) == 0
    capsys.readouterr()
    assert cli.run(["box", "list", "--json", *shop]) == 0
    assert json.loads(capsys.readouterr().out)[0]["slug"] == "ours"
