"""Whoever may only read is shown no form the shop would refuse, and nothing that such a form left empty."""

from __future__ import annotations

from bellhousing.web.for_readers import as_closed, without_forms

PAGE = (
    '<h1>Job 1</h1><form method="get" action="/job/1">Find</form>'
    '<details id="add"><summary>Add</summary>\n<form method="post" action="/cars">Name</form>\n</details>'
    '<section aria-labelledby="put"><h2 id="put">Put down</h2>'
    '<div class="taps"><form class="deed" method="post" action="/job/1/work?x=1">Tap</form></div></section>'
    '<section><h2>Kept</h2><p>A line</p><form method="post" action="/job/1/note">Note</form></section>'
    '<form method="post" action="/unit">Units</form>'
)


def test_a_reader_sees_what_is_kept_and_no_way_to_write() -> None:
    """Folds and sections that held only a form go with it; the units of the own browser stay."""
    told = without_forms(PAGE, "reader", "/job/1")
    assert told == (
        '<h1>Job 1</h1><form method="get" action="/job/1">Find</form>'
        "<section><h2>Kept</h2><p>A line</p></section>"
        '<form method="post" action="/unit">Units</form>'
    )


def test_who_may_write_sees_the_page_as_it_is() -> None:
    """A mechanic the forms of jobs, a proprietor those of the settings as well."""
    assert without_forms(PAGE, "mechanic", "/job/1") == PAGE
    settings = '<form method="post" action="/settings">Keep</form>'
    assert without_forms(settings, "mechanic", "/settings") == ""
    assert without_forms(settings, "proprietor", "/settings") == settings
    assert without_forms('<form method="post">Here</form>', "reader", "/settings") == ""


def test_a_closed_job_asks_for_nothing_it_would_refuse() -> None:
    """Findings and answers are not asked for any more; opening it again and photos are."""
    again = '<form method="post" action="/job/1/reopen">Again</form>'
    sheet = '<form id="write" method="post" action="/job/1/note">Note</form><p>Kept</p>' + again
    assert as_closed(sheet, "/job/1") == "<p>Kept</p>" + again
