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
    """Escaped, in order, none wider than the tag."""
    root = ElementTree.fromstring(tag_svg(TAG))
    texts = [node.text for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == [TAG.head, *TAG.lines]
    long = tag_svg(Tag("Accumulator cover and everything that is behind it " * 4, TAG.lines, TAG.address))
    ink = drawn(long).point(lambda level: 255 if level < 128 else 0).getbbox()
    assert ink is not None
    dots = drawn(long).size
    # The dashed edge is one millimetre in; nothing is printed outside it.
    assert ink[0] >= dots[0] / WIDTH * 0.5
    assert ink[2] <= dots[0] - dots[0] / WIDTH * 0.5


def test_a_sheet_holds_all_tags_in_order() -> None:
    """Two bags, one below the other, and as a PDF."""
    second = Tag("Pan", ("job 12",), "http://127.0.0.1:8350/job/12/bag/B2")
    sheet = tags_svg([TAG, second])
    assert read(sheet) == [TAG.address, second.address]
    assert f'height="{2 * HEIGHT:g}mm"' in sheet
    assert tag_pdf(sheet).startswith(b"%PDF")
