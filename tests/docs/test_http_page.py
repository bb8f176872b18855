"""The addresses of the app stand in the page as the app describes them."""

from __future__ import annotations

from tests.docs.http_page import PAGE, TABLES, table


def test_the_page_lists_the_addresses_of_the_app() -> None:
    """`python -m tests.docs.http_page` writes them anew."""
    found = TABLES.search(PAGE.read_text(encoding="utf-8"))
    assert found is not None
    assert found[0] == table()
