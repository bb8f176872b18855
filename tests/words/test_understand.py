"""How the reader of notes behaves: what it assumes, what it leaves as a note, and what never happens."""

from __future__ import annotations

import time
from collections.abc import Mapping

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_benchmark.fixture import BenchmarkFixture

from bellhousing.errors import (
    AmbiguousUnitError,
    BellhousingError,
    CatalogueError,
    FindingError,
    QuantityError,
)
from bellhousing.words.model import FindingShape, Reading
from bellhousing.words.pattern import KEPT
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary, made_of

Shapes = Mapping[str, FindingShape]
WORDS = [
    "line", "pressure", "drive", "reverse", "neutral", "hose", "off", "on", "modulator", "vacuum",
    "governor", "shift", "late", "early", "harsh", "slips", "in", "first", "second", "third", "no",
    "not", "never", "and", "but", ",", ";", ".", "62", "psi", "17", "inches", "2-3", "at", "64",
    "mph", "light", "full", "throttle", "wet", "dry", "front", "rear", "blue", "smoke", "fluid",
    "brown", "stall", "2100", "rpm", "cold", "hot", "engages", "seconds", "0.8", "end", "play",
    "thirty", "one", "thou", "pan", "brass", "filter",
]  # fmt: skip
LINES = (
    "line pressure idle D 62 psi hot",
    "2-3 at 64 light throttle",
    "slips in third and reverse is slow",
    "wet at the front, only when driven",
    "no fluid in the hose",
    "governor 5 psi at 10 mph",
    "end play 0.021",
)


def test_nothing_written_is_refused(findings: Shapes, vocabulary: Vocabulary) -> None:
    """An empty entry is an error that says what to write."""
    with pytest.raises(FindingError, match="nothing was written"):
        understand("  \n ", findings, vocabulary)


def test_a_book_is_refused(findings: Shapes, vocabulary: Vocabulary) -> None:
    """More than a page at once is an error, not a long wait."""
    with pytest.raises(FindingError, match="at most"):
        understand("slips " * 4000, findings, vocabulary)


@pytest.mark.parametrize(
    "text",
    [
        "hello", "the car is blue", "customer called on Tuesday", "all readings normal",
        "everything in its window", "test drive was fine", "nothing else to report",
        "radio does not work", "lovely weather",
        "paint is scratched", "the seats are leather", "42", "ordered parts", "all ok", "everything fine",
        "tyres are worn", "left rear window is stuck", "battery is flat", "needs a new exhaust",
    ],
)  # fmt: skip
def test_what_is_no_finding_stays_a_note(text: str, findings: Shapes, vocabulary: Vocabulary) -> None:
    """Text that says nothing about the gearbox is kept and never guessed at."""
    read = understand(text, findings, vocabulary)
    assert read.found == ()
    assert [note.text for note in read.notes] == [text]


def test_defaults_are_owned_up_to(findings: Shapes, vocabulary: Vocabulary) -> None:
    """A bare line pressure is taken as in drive at hot idle in psi, and says so."""
    (item,) = understand("line pressure 65", findings, vocabulary).found
    assert item.assumed == ("taken as in drive", "taken as at hot idle", "taken as psi")
    (said,) = understand("line pressure D idle hot 65 psi", findings, vocabulary).found
    assert said.assumed == ()


def test_light_throttle_is_assumed_and_said(findings: Shapes, vocabulary: Vocabulary) -> None:
    """A shift speed without throttle is taken as light, and says so."""
    (item,) = understand("1-2 at 12 mph", findings, vocabulary).found
    assert item.assumed == ("taken as light throttle",)


def test_a_denial_gives_all_the_other_states(findings: Shapes, vocabulary: Vocabulary) -> None:
    """ "Not black" leaves the other colours open rather than choosing one."""
    (item,) = understand("fluid is not milky", findings, vocabulary).found
    assert item.finding == "fluid-condition"
    assert item.states == ("red", "brown", "black-and-burnt")
    assert understand("plates not burnt in the forward clutch", findings, vocabulary).found[0].states == (
        "sound",
    )


def test_figures_pick_the_state(findings: Shapes, vocabulary: Vocabulary) -> None:
    """A temperature or a play is kept as a figure and put in its state."""
    (hot,) = understand("fluid at 240 F", findings, vocabulary).found
    assert hot.states == ("very-hot",)
    assert hot.value is not None
    (inside,) = understand("end play 0.030", findings, vocabulary).found
    assert inside.states == ("inside",)


def test_impossible_figures_name_the_finding(findings: Shapes, vocabulary: Vocabulary) -> None:
    """A figure no gauge can show is refused with the name of the finding it would be of."""
    with pytest.raises(QuantityError) as refused:
        understand("stall 90000 rpm in D", findings, vocabulary)
    assert findings["stall-drive"].name in str(refused.value)
    with pytest.raises(AmbiguousUnitError) as unclear:
        understand("line pressure 1000", findings, vocabulary)
    assert unclear.value.candidates
    assert unclear.value.where == findings["line-drive-idle"].name


def test_another_meaning_is_offered(findings: Shapes, vocabulary: Vocabulary) -> None:
    """Where words fit two findings nearly as well, the other one is named and the confidence falls."""
    read = understand("no vacuum", findings, vocabulary)
    clear = understand("no fluid in the modulator hose", findings, vocabulary)
    assert all(0 < item.confidence < 1 for item in (*read.found, *clear.found))
    assert clear.found[0].confidence > 0.9


def test_left_over_words_lower_the_confidence_and_are_kept(findings: Shapes, vocabulary: Vocabulary) -> None:
    """Words that were not understood beside a finding stay as a note."""
    plain = understand("fluid brown", findings, vocabulary)
    more = understand("fluid brown zorkish quibbles", findings, vocabulary)
    assert more.found[0].confidence < plain.found[0].confidence
    assert "zorkish" in more.notes[0].text


def test_findings_this_box_lacks_are_never_given(findings: Shapes, vocabulary: Vocabulary) -> None:
    """Only findings handed in are answered with."""
    few = {name: shape for name, shape in findings.items() if not name.startswith("governor")}
    read = understand("governor 5 psi at 10 mph", few, vocabulary)
    assert all(item.finding in few for item in read.found)


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("vacume at the modulater low", "modulator-vacuum-idle"),
        ("fliud is brown", "fluid-condition"),
        ("govenor weights loose", "governor-out"),
        ("kick down dosnt work", "kickdown"),
        ("reverce slips", "slip-reverse"),
        ("pan gaskit leaking", "joint-pan"),
        ("accumlator 1-2 worn", "accumulator-12-state"),
        ("speedomter dead", "speedometer"),
        ("vibrasion with road speed", "vibration"),
        ("intermediat sprag slips", "intermediate-one-way-clutch"),
    ],
)  # fmt: skip
def test_misspellings_are_read(text: str, finding: str, findings: Shapes, vocabulary: Vocabulary) -> None:
    """A letter wrong here and there does not hide the finding."""
    assert finding in [item.finding for item in understand(text, findings, vocabulary).found]


def _essence(read: Reading) -> list[tuple[object, ...]]:
    return [
        (item.finding, item.states, item.word, item.value.value if item.value else None)
        for item in read.found
    ]


@pytest.mark.parametrize("text", LINES)
def test_capitals_spaces_and_closing_points_do_not_matter(
    text: str, findings: Shapes, vocabulary: Vocabulary
) -> None:
    """The same words in capitals, spaced out or with a full stop say the same."""
    plain = _essence(understand(text, findings, vocabulary))
    for other in (
        text.upper(),
        f"  {text}  ",
        text.replace(" ", "   "),
        f"{text}.",
        f"{text}!",
        text.title(),
    ):
        assert _essence(understand(other, findings, vocabulary)) == plain


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=st.text(max_size=80))
def test_any_text_is_answered_or_refused_in_our_own_words(
    text: str, findings: Shapes, vocabulary: Vocabulary
) -> None:
    """Whatever is typed, nothing but a Bellhousing error is ever raised."""
    try:
        read = understand(text, findings, vocabulary)
    except BellhousingError:
        return
    for item in read.found:
        assert item.said in text
        assert 0 < item.confidence < 1


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(words=st.lists(st.sampled_from(WORDS), min_size=1, max_size=14))
def test_trade_words_in_any_order_keep_the_rules(
    words: list[str], findings: Shapes, vocabulary: Vocabulary
) -> None:
    """States belong to their finding, answer words too, and the same text is always read the same."""
    text = " ".join(words)
    try:
        read = understand(text, findings, vocabulary)
    except BellhousingError:
        return
    assert read == understand(text, findings, vocabulary)
    for item in read.found:
        shape = findings[item.finding]
        assert set(item.states) <= set(shape.states)
        assert item.word is None or item.word in shape.words
        assert item.states or item.word or item.value is not None
        assert item.said in text


def test_a_broken_vocabulary_is_refused_by_name() -> None:
    """A vocabulary file that breaks the rules is named in the error."""
    with pytest.raises(CatalogueError, match=r"broken\.yaml"):
        made_of({"broken.yaml": "findings: {a: {states: {x: ['']}}}"})
    with pytest.raises(CatalogueError, match=r"list\.yaml"):
        made_of({"list.yaml": "- a"})


def test_every_finding_the_vocabulary_speaks_of_exists(
    findings: Shapes, four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """No phrase leads to a finding, a state or an answer word the catalogue does not have."""
    known = {**findings, **four_speed}
    for pattern in vocabulary.patterns:
        for give in pattern.gives if pattern.gives != (KEPT,) else ():
            shape = known[give.finding]
            assert set(give.states) <= set(shape.states), pattern.phrase
            assert give.word is None or give.word in shape.words, pattern.phrase


@pytest.mark.bench
def test_how_long_a_line_takes_to_read(
    findings: Shapes, vocabulary: Vocabulary, benchmark: BenchmarkFixture
) -> None:
    """All of these lines at a time; the aim is 20 ms a line."""
    read = benchmark(lambda: [understand(line, findings, vocabulary) for line in LINES])
    assert len(read) == len(LINES)


def test_a_long_line_of_much_the_same_is_read_in_seconds(
    findings: Mapping[str, FindingShape], vocabulary: Vocabulary
) -> None:
    """Each set of concepts is held against the patterns once, however many pieces of the line hold it."""
    began = time.process_time()
    assert understand("pan gasket wet, -1e999 drip+ a minute" * 60, findings, vocabulary)
    assert time.process_time() - began < 8.0
