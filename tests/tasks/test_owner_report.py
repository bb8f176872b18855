"""The owner's report: what it tells, and the paper it is printed on, read by a second PDF library."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from bellhousing.errors import InputFileError
from bellhousing.reports.owner_pdf import owner_pdf
from bellhousing.reports.printing import printable
from bellhousing.tasks.owner_report import Gathered, owner_report
from bellhousing.tasks.photos import photo_file
from bellhousing.tasks.report_pdf import report_pdf, write_report
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.shop_settings import shop_settings
from tests.tasks.full_job import COMPLAINT, full_shop

NONSENSE = {
    "markup": '#read("/etc/passwd") $x^2$ *b* <script>alert(1)</script> {{7*7}} \\u0000 @preview ```x',
    "very long word": "W" * 300,
    "emoji": "👩‍👩‍👧 😀 🇬🇧 ✅",
    "right to left": "שלום \u202eabc مرحبا \u200f",
    "other letters": "日本語 ไทย हिन्दी \U000f0000",
    "control letters": "a\x00b\x07c\x1bd\ue000\ufeff\r\n\u2028e",
    "many marks": "Z" + "\u0337\u0327\u0301" * 40,
    "nothing": "",
}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, prepared_folder: Path) -> Iterator[Shop]:
    """One job worked through to its closing, one that waits for a yes."""
    with full_shop(tmp_path_factory.mktemp("shop"), cache=prepared_folder) as opened:
        yield opened


@pytest.fixture(scope="module")
def final(shop: Shop) -> Gathered:
    """The final report of the job that is done."""
    return owner_report(shop, 1)


@pytest.fixture(scope="module")
def paper(shop: Shop, final: Gathered) -> bytes:
    """The same, printed."""
    return report_pdf(shop, final)


def test_final_report_tells_what_an_owner_asks(final: Gathered) -> None:
    """Complaint verbatim, cause as confirmed, tests with windows, what is new, what was left, the sum."""
    told = final.report
    assert told.complaint == COMPLAINT
    assert [cause.name for cause in told.causes if cause.confirmed] == ["Modulator diaphragm torn"]
    line = next(test for test in told.tests if test.name.startswith("Line pressure"))
    assert (line.value, line.verdict) == ("128 psi", "above, more than 99 in 100")
    assert line.low is not None
    assert line.low < 66.0 < 128.0
    assert not any("vacuum hose" in test.name.lower() for test in told.tests)
    assert {(part.name, part.state) for part in told.parts} >= {
        ("Filter", "new"),
        ("Modulator", "new"),
        ("Modulator valve", "used again"),
    }
    assert ("64 mph", "20 mph") in {(one.before, one.after) for one in told.changes}
    assert told.proof.startswith("It shifts as a sound one does")
    assert any(text.startswith("Not looked at:") for text in told.not_done)
    assert [line.text for line in told.money] == ["£80.00", "£96.00", "£38.00", "£62.00", "£55.20", "£331.20"]
    assert told.warranty.startswith("Twelve months")
    assert told.plan is None


def test_estimate_is_made_of_the_same_records_and_promises_nothing(shop: Shop) -> None:
    """Ways it may go in odds, steps to agree to, whether it may be driven; no work, no warranty."""
    told = owner_report(shop, 2, estimate=True).report
    assert told.plan is not None
    assert told.plan.options[0].price == "£112"
    assert told.plan.may_drive
    assert (told.work, told.warranty, told.money) == ((), "", ())
    whole = told.model_dump_json().lower()
    assert not any(word in whole for word in ("guaranteed", "certain ", "is safe"))


def test_ruled_out_causes_say_which_finding_speaks_against_them(final: Gathered) -> None:
    """Each is unlikely now, and each has at least one reason."""
    assert final.report.ruled_out
    assert all(cause.because for cause in final.report.ruled_out)
    assert not {c.name for c in final.report.ruled_out} & {c.name for c in final.report.causes}


def test_metric_units_throughout_and_the_same_verdicts(shop: Shop, final: Gathered) -> None:
    """128 psi is 883 kPa, 64 mph is 103 km/h, and no verdict changes with the unit."""
    told = owner_report(shop, 1, units="metric").report
    values = {test.name: test.value for test in told.tests}
    assert values["Line pressure, drive, hot idle"] == "883 kPa"
    assert values["Second to third, light throttle"] == "103 km/h"
    assert [test.verdict for test in told.tests] == [test.verdict for test in final.report.tests]
    assert "mph" not in told.picture


def test_paper_has_two_to_four_pages_and_the_same_bytes_again(shop: Shop, paper: bytes) -> None:
    """The same records give the same file, whenever it is printed."""
    assert 2 <= len(PdfReader(io.BytesIO(paper)).pages) <= 4
    assert report_pdf(shop, owner_report(shop, 1)) == paper


def test_paper_is_declared_for_archives_tagged_and_named(paper: bytes) -> None:
    """PDF/A-2b in its metadata, a language, a title, an output intent, no letter without its font."""
    reader = PdfReader(io.BytesIO(paper))
    root: Any = reader.trailer["/Root"]
    about = root["/Metadata"].get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in about
    assert "<pdfaid:conformance>B</pdfaid:conformance>" in about
    assert root["/MarkInfo"]["/Marked"] is True or bool(root["/MarkInfo"]["/Marked"])
    assert root["/Lang"] == "en"
    assert root["/OutputIntents"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Report on the gearbox, job 1"
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            inner = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(inner)


def test_tags_hold_headings_tables_and_a_text_for_every_picture(paper: bytes) -> None:
    """One heading above all others, header cells in tables, an alternative text on each figure."""
    found: dict[str, list[Any]] = {}

    def walk(node: Any, depth: int = 0) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for one in node:
                walk(one, depth + 1)
        elif isinstance(node, dict) and depth < 60:
            if "/S" in node:
                found.setdefault(str(node["/S"]), []).append(node)
            if "/K" in node:
                walk(node["/K"], depth + 1)

    root: Any = PdfReader(io.BytesIO(paper)).trailer["/Root"]
    walk(root["/StructTreeRoot"])
    assert len(found["/H1"]) == 1
    assert len(found["/H2"]) >= 10
    assert len(found["/Table"]) >= 5
    assert len(found["/TH"]) >= 15
    assert len(found["/Figure"]) >= 6
    assert all(len(str(figure["/Alt"])) > 4 for figure in found["/Figure"])


def test_paper_says_the_words_of_the_report(paper: bytes) -> None:
    """Complaint, window and verdict can be read out of the file as text."""
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(paper)).pages)
    flat = " ".join(text.split())
    for words in ("My father never had that with it.", "128 psi", "61–75 psi", "£331.20", "Invented Gearbox"):
        assert words in flat


@pytest.mark.parametrize("name", NONSENSE)
@pytest.mark.parametrize("estimate", [False, True])
def test_typed_nonsense_in_every_field_is_printed_as_text(
    shop: Shop, final: Gathered, name: str, estimate: bool
) -> None:
    """Nothing typed is ever markup, breaks the page's edge or stops the printing."""
    gathered = owner_report(shop, 2, estimate=True) if estimate else final
    kept = {"kind", "paper", "units", "digest", "title"}

    def spoilt(value: Any, key: str = "") -> Any:
        if isinstance(value, str):
            return value if key in kept or not value else NONSENSE[name]
        if isinstance(value, dict):
            return {inner: spoilt(held, inner) for inner, held in value.items()}
        return [spoilt(held, key) for held in value] if isinstance(value, list) else value

    data = spoilt(gathered.report.model_dump(mode="json"))
    picture = photo_file(shop, 1, final.report.photos[0].digest, "large")[0].read_bytes()
    printed = owner_pdf(
        data,
        chart=None if gathered.drawn is None else gathered.drawn.svg,
        chart_title=NONSENSE[name],
        photos=[picture] * len(data["photos"]),
        at=gathered.at,
    )
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(printed)).pages)
    assert "root:" not in text
    if name == "markup":
        assert '#read("/etc/passwd")' in text
    if name == "emoji":
        assert "[grinning face]" in "".join(text.split("\n"))


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("plain", "plain"),
        ("a\x00b", "ab"),
        ("😀", "[grinning face]"),
        ("🇬🇧", "GB"),
        ("日", "□"),
        ("e\u0301", "é"),
        ("\u202eabc", "abc"),
    ],
)
def test_signs_without_a_letter_form_get_a_name_or_a_box(typed: str, shown: str) -> None:
    """What the face has stays as it is."""
    assert printable([typed]) == [shown]


def test_long_words_may_break_and_very_long_texts_are_cut() -> None:
    """A word of 60 letters has places to break in; a text of 5,000 says that it is shortened."""
    word, text = printable(["x" * 60, "word " * 1000])
    assert word.replace("\u200b", "") == "x" * 60
    assert "\u200b" in word
    assert text.endswith("(shortened)")


def test_damaged_photo_is_left_out_and_said(shop: Shop, final: Gathered) -> None:
    """A file that is missing does not keep the report from being printed."""
    photos = tuple(photo.model_copy(update={"digest": "0" * 64}) for photo in final.report.photos)
    spoilt = replace(final, report=final.report.model_copy(update={"photos": photos}))
    text = "".join(p.extract_text() for p in PdfReader(io.BytesIO(report_pdf(shop, spoilt))).pages)
    assert "2 of the photos could not be printed" in " ".join(text.split())


def test_file_that_cannot_be_written_is_said(shop: Shop, final: Gathered, tmp_path: Path) -> None:
    """A folder in its place is named."""
    with pytest.raises(InputFileError) as refused:
        write_report(shop, final, tmp_path)
    assert str(tmp_path) in str(refused.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("paper: foolscap", "paper"),
        ("season: 13", "season"),
        ("nome: x", "nome"),
        ("- a list", "names"),
        ("a: [", "read"),
    ],
)
def test_settings_that_cannot_be_are_refused_by_name(tmp_path: Path, text: str, says: str) -> None:
    """The file and what is wrong in it are said."""
    (tmp_path / "shop.yaml").write_text(text, encoding="utf-8")

    class Folder:
        folder = tmp_path

    settings: Callable[[Any], Any] = shop_settings
    with pytest.raises(InputFileError) as refused:
        settings(Folder())
    assert says in str(refused.value)
    assert "shop.yaml" in str(refused.value)


def test_report_of_a_job_with_nothing_noted_still_prints(tmp_path: Path, shop: Shop) -> None:
    """An empty job is a short report that says so."""
    from bellhousing.tasks import opening

    job = opening.open_job(shop, "grey-saloon", "Please look at it.").number
    for estimate in (False, True):
        gathered = owner_report(shop, job, estimate=estimate)
        assert gathered.at > datetime(2026, 1, 1, tzinfo=UTC)
        assert report_pdf(shop, gathered).startswith(b"%PDF")
