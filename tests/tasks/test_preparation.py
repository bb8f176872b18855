"""The cache of prepared models: used when it fits, rebuilt when it is damaged, never needed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.prepare import CarFacts, Prepared
from bellhousing.tasks import preparation
from bellhousing.tasks.preparation import Preparation, cache_folder, preparation_key
from tests.shipped import catalogue_as_shipped

FEW = 20


def prepared(folder: Path) -> Prepared:
    """A small model of box A, by way of a folder."""
    return Preparation(catalogue_as_shipped(), folder).prepared(load_box("A"), CarFacts(), cars=FEW)


def same(one: Prepared, other: Prepared) -> bool:
    """Whether two models hold the same readings to the last bit."""
    return all(
        np.array_equal(one.shown.readings[name], other.shown.readings[name], equal_nan=True)
        for name in one.shown.readings
    )


def test_memory_hands_out_the_same_model(tmp_path: Path) -> None:
    """Asking twice works it out once."""
    kept = Preparation(catalogue_as_shipped(), tmp_path)
    box = load_box("A")
    assert kept.prepared(box, CarFacts(), cars=FEW) is kept.prepared(box, CarFacts(), cars=FEW)


def test_disk_hands_out_an_equal_model(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second process reads what the first one wrote."""
    first = prepared(tmp_path)
    (path,) = tmp_path.glob("*.prepared")
    written = path.stat().st_mtime_ns
    assert same(first, prepared(tmp_path))
    assert path.stat().st_mtime_ns == written


@pytest.mark.parametrize("damage", [b"", b"nonsense", b"\x80\x05."])
def test_a_damaged_file_is_rebuilt(tmp_path: Path, damage: bytes) -> None:
    """The answer is the same as without a cache."""
    first = prepared(tmp_path)
    (path,) = tmp_path.glob("*.prepared")
    path.write_bytes(damage)
    assert same(first, prepared(tmp_path))
    assert path.stat().st_size > 1000


def test_a_folder_that_cannot_be_used_costs_only_time(tmp_path: Path) -> None:
    """A file where the folder should be."""
    (tmp_path / "cache").write_text("in the way")
    assert prepared(tmp_path / "cache").shown.readings


def test_nothing_half_written_is_left(tmp_path: Path) -> None:
    """Only the finished file stays."""
    prepared(tmp_path)
    assert [path.suffix for path in tmp_path.iterdir()] == [".prepared"]


def test_old_files_are_thinned_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The cache does not grow without end."""
    monkeypatch.setattr(preparation, "MOST_FILES", 2)
    for number in range(4):
        (tmp_path / f"{number}.prepared").write_bytes(b"old")
    prepared(tmp_path)
    assert len(list(tmp_path.glob("*.prepared"))) == 2


def test_the_key_follows_box_car_and_seed() -> None:
    """Whatever changes the model changes its key."""
    catalogue, box = catalogue_as_shipped(), load_box("A")
    keys = {
        preparation_key(box, CarFacts(), catalogue),
        preparation_key(box, CarFacts(axle_ratio=3.23), catalogue),
        preparation_key(box, CarFacts(tyre_radius=0.33), catalogue),
        preparation_key(box, CarFacts(altitude=300.0), catalogue),
        preparation_key(box, CarFacts(), catalogue, seed=2),
        preparation_key(load_box("three-speed-vacuum"), CarFacts(), catalogue),
    }
    assert len(keys) == 6


def test_the_folder_can_be_chosen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """By one variable."""
    monkeypatch.setenv("BELLHOUSING_CACHE", str(tmp_path))
    assert cache_folder() == tmp_path
