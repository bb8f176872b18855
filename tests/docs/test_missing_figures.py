"""What each missing number costs stands in the page as it is."""

from __future__ import annotations

from tests.docs.missing_figures import PAGE, TABLE, table


def test_the_page_says_what_each_missing_part_costs() -> None:
    """`python -m tests.docs.missing_figures` writes it anew."""
    found = TABLE.search(PAGE.read_text(encoding="utf-8"))
    assert found is not None
    assert found[0] == table()
