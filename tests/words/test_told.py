"""The instrument and the number of a try in plain words."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from bellhousing.words.model import FindingShape
from bellhousing.words.told import AGAIN, read_told
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary


@pytest.mark.parametrize(
    ("text", "left", "told"),
    [
        ("line D idle 62 psi with the 300 psi gauge", "line D idle 62 psi", {"instrument": "300 psi gauge"}),
        ("line D idle 64 psi, gauge 2", "line D idle 64 psi,", {"instrument": "gauge 2"}),
        ("line D idle 64 psi using my old gauge B", "line D idle 64 psi", {"instrument": "old gauge b"}),
        ("300 psi gauge: line D idle 62", ": line D idle 62", {"instrument": "300 psi gauge"}),
        ("into drive 1.2 s by stopwatch", "into drive 1.2 s", {"instrument": "stopwatch"}),
        ("2-3 at 64 mph by the speedo", "2-3 at 64 mph", {"instrument": "speedometer"}),
        ("again 64", "64", {"try": AGAIN}),
        ("64 psi again", "64 psi", {"try": AGAIN}),
        ("try 3: 66 psi", "66 psi", {"try": "3"}),
        ("on the second try 66 psi", "66 psi", {"try": "2"}),
        ("again: 64 psi with gauge 2", "64 psi", {"try": AGAIN, "instrument": "gauge 2"}),
    ],
)
def test_what_is_told_is_taken_out(text: str, left: str, told: Mapping[str, str]) -> None:
    """What is left is the reading, each letter in its place."""
    read = read_told(text)
    assert " ".join(read.text.split()) == left
    assert len(read.text) == len(text)
    assert {mark.kind: mark.value for mark in read.marks} == told


@pytest.mark.parametrize(
    "text",
    [
        "line pressure gauge 62 psi at idle",
        "vacuum gauge 9 at idle",
        "vacuum reading 9 at 600 rpm",
        "slips again in second",
        "gauge full, second and fourth slip",
        "first engagement into drive cold, first try 3 s",
        "the gauge does not follow the lever",
        "with the gauge on the port 12 inHg",
    ],
)
def test_nothing_is_taken_for_an_instrument_or_a_try(text: str) -> None:
    """A gauge beside the only figure, a fault that came again, an engagement that is a finding of its own."""
    assert read_told(text).marks == ()


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (
            "line pressure drive idle 62 psi hot with the 300 psi gauge",
            [(62.0, {"instrument": "300 psi gauge", "range": "D", "rpm": "idle", "temperature": "hot"})],
        ),
        (
            "line pressure drive idle 62 psi, second try 64 psi, third try 66 psi",
            [(62.0, {}), (64.0, {"try": "2"}), (66.0, {"try": "3"})],
        ),
        (
            "line pressure drive idle 62 psi first try, 64 psi second try",
            [(62.0, {"try": "1"}), (64.0, {"try": "2"})],
        ),
        (
            "line pressure drive idle 62 psi with gauge 1, line pressure reverse idle 95 psi with gauge 2",
            [(62.0, {"instrument": "gauge 1"}), (95.0, {"instrument": "gauge 2", "range": "R"})],
        ),
        (
            "line pressure drive hose off 128 psi at 1000 rpm on gauge 1 try 2",
            [(128.0, {"instrument": "gauge 1", "try": "2", "rpm": "1000 rpm", "vacuum": "hose off"})],
        ),
    ],
)
def test_readings_carry_what_is_told_of_them(
    text: str,
    wanted: list[tuple[float, dict[str, str]]],
    vocabulary: Vocabulary,
    findings: Mapping[str, FindingShape],
) -> None:
    """Each reading has its own number of the try; one instrument goes for all unless each names its own."""
    found = understand(text, findings, vocabulary).found
    assert [round(item.value.value / 6894.757, 1) for item in found if item.value] == [v for v, _ in wanted]
    for item, (_, conditions) in zip(found, wanted, strict=True):
        assert {name: item.conditions.get(name) for name in conditions} == conditions
        assert item.said in text
        if "try" not in conditions:
            assert "try" not in item.conditions


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("slips in second when hot", {"slip-second": "hot"}),
        ("no reverse when hot, fluid brown", {"dead-ranges": "hot", "fluid-condition": None}),
        ("no drive until it warms up", {"dead-ranges": "cold"}),
        ("whines when cold", {"whine-with-revs": "cold"}),
        ("late shift when hot", {"upshift-12-light": "hot", "upshift-23-light": "hot"}),
        ("slips in third, worse when hot", {"slip-third": None, "complaint-temperature": None}),
        ("no whine when cold", {}),
    ],
)
def test_hot_or_cold_is_the_condition_of_what_it_stands_with(
    text: str, wanted: dict[str, str | None], vocabulary: Vocabulary, findings: Mapping[str, FindingShape]
) -> None:
    """Nothing of it is left as a note, and what is fine at one temperature says nothing of the other."""
    read = understand(text, findings, vocabulary)
    assert {item.finding: item.conditions.get("temperature") for item in read.found} == wanted
    assert bool(read.notes) == (not wanted)
