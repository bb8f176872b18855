"""Shipped files are parsed once, and what is kept of them says the same as the files."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

import pytest

from bellhousing.diagnosis.catalogue import load_catalogue, parsed
from bellhousing.tasks import shipped
from bellhousing.tasks.shipped import parsed_once

SHIPPED = [
    entry.read_text(encoding="utf-8")
    for folder in ("diagnosis/catalogue", "words/data")
    for entry in (resources.files("bellhousing") / folder).iterdir()
    if entry.name.endswith(".yaml")
]


def refuse(text: str) -> None:
    """Stands in for a parser that must not be needed."""
    raise AssertionError(f"parsed again: {text[:40]}")


def test_every_shipped_file_comes_back_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second reading needs no parser and differs in no value or type."""
    first = [parsed_once(text, tmp_path) for text in SHIPPED]
    monkeypatch.setattr(shipped, "_parsed", refuse)
    second = [parsed_once(text, tmp_path) for text in SHIPPED]
    assert len(SHIPPED) > 20
    assert repr(first) == repr(second)


def test_no_and_yes_stay_words(tmp_path: Path) -> None:
    """States are named "no" and "yes"; YAML 1.2 has no other words for true and false than those."""
    text = "{no: [yes, on, off, No], never: true}"
    for _ in range(2):
        assert parsed_once(text, tmp_path) == {"no": ["yes", "on", "off", "No"], "never": True}


def test_what_json_cannot_hold_is_parsed_each_time(tmp_path: Path) -> None:
    """A number as a key would come back as text, so it is not kept."""
    assert parsed_once("{1: one}", tmp_path) == {1: "one"}
    assert parsed_once("[2001-01-01]", tmp_path) == parsed("[2001-01-01]")
    assert list(tmp_path.iterdir()) == []


def test_a_changed_text_is_another_file(tmp_path: Path) -> None:
    """Nothing outlives the text it came from."""
    assert parsed_once("a: 1", tmp_path) == {"a": 1}
    assert parsed_once("a: 2", tmp_path) == {"a": 2}


def test_a_spoilt_file_is_written_anew(tmp_path: Path) -> None:
    """Half a file costs time, never the answer."""
    parsed_once("a: 1", tmp_path)
    (kept,) = tmp_path.iterdir()
    kept.write_text('{"a"', encoding="utf-8")
    assert parsed_once("a: 1", tmp_path) == {"a": 1}
    assert json.loads(kept.read_text(encoding="utf-8")) == {"a": 1}


def test_a_folder_that_cannot_be_made_costs_only_time(tmp_path: Path) -> None:
    """The answer does not depend on the cache."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert parsed_once("a: 1", tmp_path / "file") == {"a": 1}


def test_old_files_are_cleared(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder does not grow with every version."""
    monkeypatch.setattr(shipped, "MOST_FILES", 3)
    for number in range(6):
        parsed_once(f"a: {number}", tmp_path)
    assert len(list(tmp_path.iterdir())) == 3


def test_the_catalogue_is_the_same_from_either_parser() -> None:
    """Same faults, findings and digest."""
    assert load_catalogue(parsed_once) == load_catalogue()
