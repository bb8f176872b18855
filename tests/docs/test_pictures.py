"""Every picture of a page is there, small, described in words, and one that the pages' own browser takes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PIL import Image

from tests.docs.pictures import FOLDER, PICTURES

DOCS = FOLDER.parent
PAGES = (DOCS.parent / "README.md", *sorted(DOCS.glob("*.md")))
SHOWN = re.compile(r"!\[(?P<words>[^\]]*)\]\((?P<file>(?:docs/)?pictures/[^)\s]+)\)")
MOST_BYTES, LEAST_WORDS = 120_000, 12
NAMED = [
    pytest.param(
        page.name, found["words"], page.parent / found["file"], id=f"{page.stem}-{Path(found['file']).stem}"
    )
    for page in PAGES
    for found in SHOWN.finditer(page.read_text(encoding="utf-8"))
]


@pytest.mark.parametrize(("page", "words", "file"), NAMED)
def test_a_picture_is_there_small_and_told_in_words(page: str, words: str, file: Path) -> None:
    """Whoever does not see it is told what it shows; nobody waits for it."""
    with Image.open(file) as picture:
        picture.verify()
    assert file.stat().st_size < MOST_BYTES
    assert len(words.split()) >= LEAST_WORDS, f"{page}: {file.name} wants more words"


def test_every_picture_is_taken_and_shown() -> None:
    """No file lies about that no page shows or nobody can take anew."""
    kept = {file.stem for file in FOLDER.iterdir()}
    shown = {
        Path(found["file"]).stem
        for page in PAGES
        for found in SHOWN.finditer(page.read_text(encoding="utf-8"))
    }
    assert kept == set(PICTURES) == shown
