"""What is said of a four-speed box: phrases from the table beside this file, figures, and what it shares."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from bellhousing.quantities.units import unit
from bellhousing.words.model import FindingShape, Understood
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary

Shapes = Mapping[str, FindingShape]


def _table(name: str) -> Any:
    return YAML(typ="safe", pure=True).load((Path(__file__).parent / name).read_text(encoding="utf-8"))


PHRASES: dict[str, dict[str, list[str]]] = _table("four_speed.yaml")
SHARED: dict[str, dict[str, list[str]]] = _table("phrases.yaml")
OF_GEARS = frozenset({"complaint-gear", "upshift-23-light", "shift-feel-23", "slip-third"})
# Findings of the shared table that look at what only a three-speed with a modulator has.
ONLY_THREE_SPEED = frozenset(
    {
        "accumulator-12-state", "accumulator-23-state", "air-direct", "air-forward",
        "air-intermediate", "blue-smoke", "boost-valve", "converter-hub", "converter-runout",
        "cut-back", "deep-throttle-45", "detent-valve-free", "direct-plates",
        "engine-braking-second", "engine-braking-top", "fluid-in-modulator-hose", "forward-plates",
        "governor-10", "governor-20", "governor-30", "governor-50", "governor-out", "hub-rings",
        "intermediate-one-way-clutch", "intermediate-plates", "joint-connector",
        "joint-governor-cover", "joint-modulator", "kickdown-feed", "kickdown-solenoid",
        "line-drive-hose-off", "line-reverse-hose-off", "line-second-range", "low-one-way-clutch",
        "manual-valve", "modulator-against-good-one", "modulator-holds-vacuum",
        "modulator-vacuum-idle", "modulator-vacuum-response", "modulator-valve-free", "pump-gears",
        "rear-servo-and-band", "regulator-valve-free", "shift-valve-12-free", "shift-valve-23-free",
        "vacuum-hose", "vacuum-pipe", "vacuum-port",
    }
)  # fmt: skip
FIGURES = [
    ("front band a sixteenth tighter moved the shift", ["front-band-half-a-turn yes"]),
    ("TV rod a sixteenth too long", ["rod-turned-a-little yes"]),
    ("3-4 at 38 half throttle", ["upshift-34-medium 38"]),
    ("3-4 at 22 light", ["upshift-34-light 22"]),
    ("third to fourth at 67 WOT", ["upshift-34-full 67"]),
    ("1-2 at 8, 2-3 at 15, 3-4 at 22, light throttle", ["12 8", "23 15", "34 22"]),
    ("third to top at 22", ["upshift-34-light 22"]),
    ("goes into fourth at 24", ["upshift-34-light 24"]),
    ("goes into third at 15", ["upshift-23-light 15"]),
    ("changes up to fourth at 24 on a light foot", ["upshift-34-light 24"]),
    ("drops into third at 16 coasting", ["coast-down-43 16"]),
    ("4-3 at 16 coasting", ["coast-down-43 16"]),
    ("forced 4-3 up to 58 mph", ["forced-down-43 58"]),
    ("TV 30 psi at half", ["tv-half 30"]),
    ("tv pressure 3 closed, 32 half, 68 full", ["tv-closed 3", "tv-half 32", "tv-full 68"]),
    ("G1 22 psi at 20 mph", ["g1-20 22"]),
    ("G2 12 at 30 mph", ["g2-30 12"]),
    ("g2 35 psi at 50", ["g2-50 35"]),
    ("line 86 psi in fourth at 40 mph", ["line-cruise 86"]),
    ("line 71 at idle, 90 at speed", ["line-drive-idle 71", "line-cruise 90"]),
    ("line 69 idle 88 on the road", ["line-drive-idle 69", "line-cruise 88"]),
    ("line in R 130 at 1000 rpm", ["line-reverse-1000 130"]),
    ("line 68 psi in D at idle", ["line-drive-idle 68"]),
]
LINES = [
    ("slips in first and third", ["slip-first slips", "slip-third slips"]),
    ("slips in second and fourth", ["slip-second slips", "slip-fourth slips"]),
    (
        "slips in first and third, second and fourth hold",
        ["slip-first slips", "slip-third slips", "slip-second none", "slip-fourth none"],
    ),
    (
        "slips in third and fourth but first and second hold",
        ["slip-third slips", "slip-fourth slips", "slip-first none", "slip-second none"],
    ),
    ("all shifts late", ["upshift-12-light late", "upshift-23-light late", "upshift-34-light late"]),
    ("hangs in third", ["upshift-34-light late"]),
    ("it hunts between third and fourth", ["hunting hunts"]),
    ("won't stay in third range", ["braking-third-range missing"]),
    ("clunk when it drops to third", ["coast-43-clunk clunk"]),
    ("ties up changing to third", ["shift-binds-23 binds"]),
    ("slips in top when pulling", ["slip-fourth slips"]),
    ("bangs into top", ["shift-feel-34 harsh"]),
    ("goes into top too early", ["upshift-34-light early"]),
    ("happens in top only", ["complaint-gear fourth"]),
    ("slips in second and top, third holds", ["slip-second slips", "slip-fourth slips", "slip-third none"]),
    ("slips in third, first and second hold", ["slip-third slips", "slip-first none", "slip-second none"]),
    ("no fourth", ["upshift-34-light never", "shift-feel-34 never"]),
    ("no fourth when hot", ["upshift-34-light never", "shift-feel-34 never"]),
    ("3-4 times a day", []),
    ("at 3/4 throttle", []),
]


def _said(item: Understood) -> str:
    if item.value is not None and not item.states:
        figure = f"{unit(item.value.unit).from_si(item.value.value):.4g}"
        return f"{item.finding.removeprefix('upshift-').removesuffix('-light')} {figure}"
    return f"{item.finding} {'|'.join(item.states) or item.word}"


def _misread(
    table: Mapping[str, list[str]], finding: str, shapes: Shapes, vocabulary: Vocabulary
) -> list[str]:
    wrong = []
    for answer, phrases in table.items():
        for phrase in phrases:
            found = understand(phrase, shapes, vocabulary).found
            wanted = set(str(answer).split("|"))
            if not any(
                item.finding == finding
                and (set(item.states) == wanted or item.word == answer or _nought(item, shapes))
                for item in found
            ):
                wrong.append(f"{phrase!r} ({answer}) -> {[_said(item) for item in found]}")
    return wrong


def _nought(item: Understood, shapes: Shapes) -> bool:
    return item.value is not None and item.value.value == 0 and shapes[item.finding].kind == "reading"


@pytest.mark.parametrize("finding", PHRASES)
def test_every_phrase_is_read_as_its_finding(
    finding: str, four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """Each phrase gives its finding with exactly the state or answer word it is listed under."""
    assert not _misread(PHRASES[finding], finding, four_speed, vocabulary)


def test_the_table_holds_every_state_of_every_finding(findings: Shapes, four_speed: Shapes) -> None:
    """No state of a finding that only the four-speed has goes without a phrase."""
    own = {name: shape for name, shape in four_speed.items() if name not in findings}
    assert set(PHRASES) == set(own)
    for name, shape in own.items():
        wanted = set(shape.states) or set(shape.words) & {"low", "late"}
        assert wanted <= {str(answer) for answer in PHRASES[name]}, name


@pytest.mark.parametrize("finding", SHARED)
def test_what_both_families_share_is_read_alike(
    finding: str, four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """On a four-speed box the phrases of a shared finding mean the same as on a three-speed.

    What only a three-speed has is named above, so that no finding goes missing here unseen.
    """
    assert (finding in four_speed) == (finding not in ONLY_THREE_SPEED)
    if finding in four_speed:
        table = SHARED[finding]
        if finding in OF_GEARS:  # top is another gear here
            table = {
                answer: [phrase for phrase in phrases if "top" not in phrase.split()]
                for answer, phrases in table.items()
            }
        assert not _misread(table, finding, four_speed, vocabulary)


@pytest.mark.parametrize(("text", "wanted"), FIGURES, ids=lambda value: str(value)[:40])
def test_figures_choose_the_finding(
    text: str, wanted: list[str], four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """The figure is of the finding named, and nothing of the line is left over."""
    read = understand(text, four_speed, vocabulary)
    assert [_said(item) for item in read.found] == [
        name.removeprefix("upshift-").replace("-light ", " ") for name in wanted
    ]
    assert read.notes == ()


@pytest.mark.parametrize(("text", "wanted"), LINES, ids=lambda value: str(value)[:40])
def test_a_line_gives_all_its_findings(
    text: str, wanted: list[str], four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """Every finding of the line is read, and nothing that is not in it."""
    read = understand(text, four_speed, vocabulary)
    assert sorted(_said(item) for item in read.found) == sorted(wanted)


def test_a_three_speed_box_has_no_fourth(findings: Shapes, vocabulary: Vocabulary) -> None:
    """On a three-speed box nothing is read into a fourth gear or a throttle valve."""
    for text in ("3-4 at 38 half throttle", "slips in fourth", "G2 12 psi at 30 mph"):
        assert understand(text, findings, vocabulary).found == (), text
