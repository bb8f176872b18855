"""Phrases from the tables beside this file, each read as the finding it is listed under."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import unit
from bellhousing.words.model import FindingShape, Understood
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary

Shapes = Mapping[str, FindingShape]


def _table(name: str) -> Any:
    return YAML(typ="safe", pure=True).load((Path(__file__).parent / name).read_text(encoding="utf-8"))


PHRASES: dict[str, dict[str, list[str]]] = _table("phrases.yaml") | _table("looks.yaml")
MORE: dict[str, dict[str, list[str]]] = _table("phrases_more.yaml")
READINGS: list[list[Any]] = _table("readings.yaml")
SEVERAL: list[list[Any]] = _table("several.yaml")
# Findings whose shapes a hand-made vocabulary table need not name a normal answer for.
ANSWERS_NOT_ASKED = {"normal", "absent", "early", "never", "high", "low", "late", "very-slow"}


def _said(found: Understood) -> str:
    if found.value is not None and not found.states:
        return f"{found.finding} {_figure(found)}"
    return f"{found.finding} {'|'.join(found.states) or found.word}"


def _figure(found: Understood) -> str:
    assert found.value is not None
    return f"{unit(found.value.unit).from_si(found.value.value):.4g}"


@pytest.mark.parametrize("finding", PHRASES)
def test_every_phrase_of_a_finding_is_read_as_it(
    finding: str, findings: Shapes, vocabulary: Vocabulary
) -> None:
    """Each phrase gives its finding with exactly the state or answer word it is listed under."""
    wrong: list[str] = []
    for answer, phrases in (*PHRASES[finding].items(), *MORE.get(finding, {}).items()):
        for phrase in phrases:
            read = understand(phrase, findings, vocabulary)
            wanted = set(str(answer).split("|"))
            right = [
                item
                for item in read.found
                if item.finding == finding
                and (set(item.states) == wanted or item.word == answer or _zero(item, findings))
            ]
            if not right:
                wrong.append(f"{phrase!r} ({answer}) -> {[_said(item) for item in read.found]}")
    assert not wrong


def _zero(item: Understood, findings: Shapes) -> bool:
    """Whether "no pressure" was read as the figure nought, which is low for any window."""
    return item.value is not None and item.value.value == 0 and findings[item.finding].kind == "reading"


def test_the_table_holds_every_state_of_every_finding(findings: Shapes) -> None:
    """No state of the catalogue, and no answer word but the rare ones, goes without a phrase."""
    assert set(PHRASES) == set(findings)
    for name, shape in findings.items():
        wanted = set(shape.states) or set(shape.words) - ANSWERS_NOT_ASKED
        assert wanted <= {part for answer in PHRASES[name] for part in str(answer).split("|")}, name


@pytest.mark.parametrize("row", READINGS, ids=lambda row: str(row[0]))
def test_figures_choose_the_finding(row: list[Any], findings: Shapes, vocabulary: Vocabulary) -> None:
    """The figure is of the finding named, in the unit named, with the conditions said."""
    text, finding, figure = str(row[0]), row[1], row[2]
    read = understand(text, findings, vocabulary)
    assert [item.finding for item in read.found] == [finding]
    assert read.notes == ()
    value = read.found[0].value
    assert value is not None
    wanted = parse_measured(figure, usual_unit=value.unit).value
    assert value.value == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    assert value.unit == figure.split()[-1]
    for name, said in (row[3] if len(row) > 3 else {}).items():
        assert read.found[0].conditions[name] == said


@pytest.mark.parametrize("row", SEVERAL, ids=lambda row: str(row[0]))
def test_a_line_gives_all_its_findings(row: list[Any], findings: Shapes, vocabulary: Vocabulary) -> None:
    """Every finding of the line is read, and nothing that is not in it."""
    read = understand(row[0], findings, vocabulary)
    assert sorted(_said(item) for item in read.found) == sorted(row[1])
    assert read.notes == ()
