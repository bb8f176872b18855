"""One spelling and one unit for each term, over the readme, the pages, the templates and the command line."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from bellhousing.quantities.units import unit
from tests.docs.word_pairs import PAGE, pairs

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "bellhousing"
# Words that are American for one thing and good English for another.
ALSO_BRITISH = {"program"}
NOT_RULED = {"glossary.md": "names what is not written", "truth.md": "names quantities as their sources do"}
NAMES = re.compile(r"`[^`\n]+`")
WHOLE = r"(?<![\w/=\"'#.-])(?:{words})(?![\w/=-])"


def rows(heading: str) -> list[list[str]]:
    """The cells of the table below a heading of the glossary."""
    section = PAGE.read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    lines = [line for line in section.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def texts() -> Iterator[tuple[Path, str]]:
    """Everything somebody reads that the glossary rules; the glossary itself names what is not written."""
    for path in (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))):
        if path.name not in NOT_RULED:
            # What stands between backticks is a name in a file or a program.
            yield path, NAMES.sub("``", path.read_text(encoding="utf-8"))
    for folder, kind in ((SOURCE / "web/templates", "*.html"), (SOURCE / "cli", "*.py")):
        for path in sorted(folder.glob(kind)):
            yield path, path.read_text(encoding="utf-8")


def found_in_texts(words: list[str], *, any_case: bool) -> list[str]:
    """Where any of these words stands."""
    pattern = re.compile(
        WHOLE.format(words="|".join(map(re.escape, words))), re.IGNORECASE if any_case else 0
    )
    return [
        f"{path.name}, line {text.count(chr(10), 0, hit.start()) + 1}: {hit[0]}"
        for path, text in texts()
        for hit in pattern.finditer(text)
    ]


def listed(cell: str) -> list[str]:
    """The words of a cell."""
    return [word.strip() for word in cell.split(",") if word.strip()]


def test_no_term_is_spelt_otherwise() -> None:
    """What the glossary says is not written stands nowhere."""
    wrong = [word for row in rows("Terms") for word in listed(row[2])]
    assert len(wrong) > 50
    assert found_in_texts(wrong, any_case=False) == []


def test_every_term_is_one_that_is_used() -> None:
    """A glossary of words nobody reads helps nobody."""
    everything = " ".join(text for _, text in texts()).casefold()
    unused = [term for row in rows("Terms") for term in listed(row[0]) if term.casefold() not in everything]
    assert unused == []


def test_every_term_and_word_has_one_meaning() -> None:
    """No term stands twice, and none is what another must not be called."""
    terms = [term for row in rows("Terms") for term in listed(row[0])]
    assert len(set(terms)) == len(terms)
    assert not set(terms) & {word for row in rows("Terms") for word in listed(row[2])}


def test_one_unit_for_each_figure() -> None:
    """Each unit is one the program knows, under the symbol it shows, and is written in no other way."""
    table = rows("Units")
    for _, symbol, _ in table:
        assert unit(symbol).symbol == symbol
    used = {row[3] for row in rows("Terms")} - {""}
    assert used <= {symbol for _, symbol, _ in table} | {"s"}
    assert found_in_texts([word for row in table for word in listed(row[2])], any_case=False) == []


def test_the_texts_are_in_one_country_s_spelling() -> None:
    """British, as the program's own words are; a page turns them for those who ask for it."""
    american = {word for _, word in pairs()["spellings"]} - ALSO_BRITISH
    american |= {entry["american"] for entry in pairs()["words"] if entry.get("back", True)} - {
        "tail housing"
    }
    assert found_in_texts(sorted(american), any_case=True) == []


@pytest.mark.parametrize(("text", "seen"), [("the end-play is", True), ("front-end-play:", False)])
def test_a_wrong_spelling_would_be_noticed(text: str, seen: bool) -> None:
    """Names with hyphens are no sentences."""
    assert bool(re.search(WHOLE.format(words="end-play"), text)) is seen
