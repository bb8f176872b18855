"""Every example of the pages is done as a reader would do it, and what it shows is what comes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.docs.pages import Block, blocks, commands, holds
from tests.docs.running import NOT_RUN, follow, settle, shown_only

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PAGES = sorted(page for page in DOCS.glob("*.md") if "```" in page.read_text(encoding="utf-8"))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_the_examples_do_what_the_page_shows(
    page: Path, tmp_path: Path, prepared_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each command and each piece of Python of a page, in its order, in an empty folder."""
    wrong = follow(page, settle(tmp_path, prepared_folder, monkeypatch))
    assert not wrong, "\n\n".join(wrong) + f"\n\nrun: python -m tests.docs.refresh docs/{page.name}"


def test_what_is_shown_and_not_run_is_in_some_page() -> None:
    """No exception outlives the command it was made for."""
    typed = {
        command.typed.split()[0]
        for page in PAGES
        for block in blocks(page)
        if block.kind == "console"
        for command in commands(block)
        if shown_only(command)
    }
    assert set(NOT_RUN) == typed


@pytest.mark.parametrize(
    ("shown", "came", "wanted"),
    [
        (["a", "…", "c"], ["a", "b", "b", "c"], True),
        (["a", "…", "c"], ["a", "b"], False),
        (["by … at most", ""], ["by 2026-05-04 at most"], True),
        (["a"], ["a", "b"], False),
        (["a (1.5)"], ["a (1x5)"], False),
        ([], ["a"], False),
        (["…"], [], True),
    ],
)
def test_only_what_is_left_out_may_differ(shown: list[str], came: list[str], wanted: bool) -> None:
    """“…” stands for lines, or for a part of one; all else is held word for word."""
    assert holds(tuple(shown), came) is wanted


def test_a_block_is_read_as_typed(tmp_path: Path) -> None:
    """Continued lines are one command, files have their name, an announced refusal its status."""
    page = tmp_path / "page.md"
    page.write_text(
        "```yaml\n# f.yaml (invented)\na: 1\n```\n\n"
        "<!-- ends with 1 -->\n```console\n$ one \\\n  two\nsaid\n```\n",
        encoding="utf-8",
    )
    file, console = blocks(page)
    assert isinstance(console, Block)
    assert (file.file, file.line, console.status) == ("f.yaml", 1, 1)
    assert [(command.typed, command.shown) for command in commands(console)] == [("one \\\n  two", ("said",))]
