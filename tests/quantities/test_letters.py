"""Signs that are half of a letter: found wherever they lie, and no message about them breaks."""

from __future__ import annotations

import pytest

from bellhousing.errors import BoxFileError, InputFileError
from bellhousing.quantities.letters import can_be_written

HALF = "\ud800"


@pytest.mark.parametrize("content", [HALF, {"a": [HALF]}, {HALF: 1}, [("a", {"b": f"x{HALF}"})]])
def test_half_a_letter_is_found(content: object) -> None:
    """In a text, a list, a value or a name."""
    assert not can_be_written(content)


def test_whole_letters_can_be_written() -> None:
    """Of any script; figures and nothing are no texts."""
    assert can_be_written({"ö": ["漢", 1, None, 2.5], 3: "😀"})


def test_what_is_repeated_by_reference_is_looked_at_once() -> None:
    """Forty lists of two, each twice the one before, and one that holds itself, are done at once."""
    content: list[object] = ["x"]
    for _ in range(40):
        content = [content, content]
    content.append(content)
    assert can_be_written(content)


def test_a_message_that_quotes_it_can_be_written() -> None:
    """What, where, remedy and the list of a box file's faults."""
    error = InputFileError(f"'{HALF}' is none", where=f"{HALF}.yaml", remedy=f"no {HALF}")
    assert can_be_written([str(error), error.what, error.where, error.remedy])
    assert can_be_written(str(BoxFileError("no box", problems=[f"line 3: {HALF}"])))
