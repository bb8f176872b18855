"""The tag of a bag: its code is read by another program's reader, its words by anybody."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ElementTree

import pytest
import vl_convert
import zxingcpp
from PIL import Image

from bellhousing.reports.tag import HEIGHT, WIDTH, Tag, tag_pdf, tag_svg, tags_svg

TAG = Tag(
    head="Front pump to case",
    lines=("Grey saloon, job 12", "bag B1: 7 of 7 bolts 5/16-18", "6 × washer & <new>", "2026-05-04, bench"),
    address="http://127.0.0.1:8350/job/12/bag/B1",
)


def drawn(svg: str) -> Image.Image:
    """The tag as a printer at 150 dots to the inch would put it on paper."""
    return Image.open(io.BytesIO(vl_convert.svg_to_png(svg, scale=150 / 96))).convert("L")


def read(svg: str) -> list[str]:
    """Every code on a sheet, from the top."""
    found = zxingcpp.read_barcodes(drawn(svg))
    return [code.text for code in sorted(found, key=lambda code: code.position.top_left.y)]


@pytest.mark.parametrize(
    "address", [TAG.address, "https://shop.example:8350/job/12345/bag/front%20pump%20ring%20second%20bag"]
)
def test_the_code_opens_the_bag(address: str) -> None:
    """A short address and a long one."""
    assert read(tag_svg(Tag(TAG.head, TAG.lines, address))) == [address]


def test_a_dirty_thumb_on_a_corner_does_not_spoil_it() -> None:
    """A blot over the lower right of the code, which holds data only."""
    blot = '<rect x="86" y="26" width="6" height="6" fill="#000"/></svg>'
    assert read(tag_svg(TAG).removesuffix("</svg>") + blot) == [TAG.address]


def test_the_words_stand_on_it_and_on_the_paper() -> None:
    """Escaped, in order, nothing lost by folding."""
    root = ElementTree.fromstring(tag_svg(TAG))
    texts = [node.text or "" for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert " ".join(texts).split() == " ".join((TAG.head, *TAG.lines)).split()


@pytest.mark.parametrize(
    "lines",
    [
        TAG.lines,
        ("2 1/4 in: hole 1; 1 3/4 in: holes 2, 3, 4 and 6; 2 in: hole 5",) * 4,
        ("MWMWMWMWMWMWMWMWMWMWMWMWMWMWMWMWMWMWMW MMMMM WWWWW",) * 6,
        ("Grey saloon, job 12", "bag B1: 14 of 14 bolts 1/4-20", "all 1 1/2 in under the head"),
    ],
)
def test_no_word_touches_the_code_or_the_edge(lines: tuple[str, ...]) -> None:
    """Where the code and its quiet edge are, the paper is as without any words."""
    tag = Tag("Accumulator cover and everything behind it", lines, TAG.address)
    image, bare = drawn(tag_svg(tag)), drawn(tag_svg(Tag("", (), TAG.address)))
    scale = image.size[0] / WIDTH
    left, top, size = (round(edge * scale) for edge in (WIDTH - 38.0, 4.0, 34.0))
    for box in (
        (left, top, left + size, top + size),
        (image.size[0] - round(2 * scale), 0, *image.size),
        (0, image.size[1] - round(2 * scale), *image.size),
    ):
        assert image.crop(box).tobytes() == bare.crop(box).tobytes()
    assert read(tag_svg(tag)) == [TAG.address]


def test_a_sheet_holds_all_tags_in_order() -> None:
    """Two bags, one below the other, and as a PDF."""
    second = Tag("Pan", ("job 12",), "http://127.0.0.1:8350/job/12/bag/B2")
    sheet = tags_svg([TAG, second])
    assert read(sheet) == [TAG.address, second.address]
    assert f'height="{2 * HEIGHT:g}mm"' in sheet
    assert tag_pdf(sheet).startswith(b"%PDF")
