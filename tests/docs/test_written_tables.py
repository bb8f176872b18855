"""Tables that a program writes into the pages stand there as it would write them now."""

from __future__ import annotations

from types import ModuleType

import pytest

from tests.docs import box_keys, cautions_page, http_page, missing_figures, word_pairs


@pytest.mark.parametrize(
    "written",
    [box_keys, cautions_page, http_page, missing_figures, word_pairs],
    ids=lambda made: made.__name__,
)
def test_the_page_holds_the_table_as_it_is_now(written: ModuleType) -> None:
    """`python -m` with the name of the module writes it anew."""
    found = written.TABLES.search(written.PAGE.read_text(encoding="utf-8"))
    assert found is not None
    assert found[0] == written.table(), f"run: python -m {written.__name__}"
