"""Pictures from cameras: turned upright, their moment read, their place left out of the copies."""

from __future__ import annotations

import io
import random
import sys

import pytest
from PIL import Image, ImageStat

from bellhousing.errors import InputFileError
from bellhousing.records.pictures import LARGE, LARGEST_PHOTO, SMALL, Picture, read_picture
from tests.camera import CORNERS, HEIC, bomb, jpeg, jpeg_bomb, png, upright


def corners(data: bytes) -> list[tuple[int, int, int]]:
    """The colours in the corners of a JPEG."""
    with Image.open(io.BytesIO(data)) as opened:
        image = opened.convert("RGB")
    right, low = image.width - 8, image.height - 8
    found = [image.getpixel(at) for at in ((8, 8), (right, 8), (8, low), (right, low))]
    return [colour for colour in found if isinstance(colour, tuple) and len(colour) == 3]


def near(found: list[tuple[int, int, int]], wanted: tuple[tuple[int, int, int], ...]) -> bool:
    """Whether colours are the same but for what a JPEG loses."""
    return len(found) == len(wanted) and all(
        abs(a - b) < 24
        for one, other in zip(found, wanted, strict=True)
        for a, b in zip(one, other, strict=True)
    )


@pytest.mark.parametrize("turned", range(1, 9))
def test_however_the_camera_was_held_the_copies_stand_upright(turned: int) -> None:
    """All eight ways a camera can note it."""
    read = read_picture(jpeg(turned=turned), "a.jpg")
    assert (read.width, read.height) == (120, 80)
    for copy in (read.small, read.large):
        assert near(corners(copy), CORNERS)


def test_the_moment_is_read_with_its_offset_where_there_is_one() -> None:
    """The camera's own clock; a spoilt moment is none."""
    assert read_picture(jpeg(), "a.jpg").taken == "2026-05-01T09:30:00"
    assert read_picture(jpeg(zone="+01:00"), "a.jpg").taken == "2026-05-01T09:30:00+01:00"
    assert read_picture(jpeg(zone="soon"), "a.jpg").taken == "2026-05-01T09:30:00"
    assert read_picture(jpeg(taken="0000:00:00 00:00:00"), "a.jpg").taken is None
    assert read_picture(png(), "a.png").taken is None


def test_copies_carry_no_place() -> None:
    """The original holds a place three times over, the copies not once, nor anything else of the camera."""
    original = jpeg((400, 300))
    assert b"GPSLatitude" in original
    read = read_picture(original, "a.jpg")
    for copy in (read.small, read.large):
        assert b"GPS" not in copy
        assert b"a place" not in copy
        with Image.open(io.BytesIO(copy)) as image:
            assert len(image.getexif()) == 0
            assert "xmp" not in image.info


def test_a_heic_picture_is_turned_once() -> None:
    """The container turns it, the camera's note beside it says so again and is not followed twice."""
    read = read_picture(HEIC.read_bytes(), "a.heic")
    assert (read.kind, read.width, read.height) == ("heic", 64, 96)
    assert read.taken == "2026-05-01T09:30:00+01:00"
    with Image.open(io.BytesIO(read.large)) as image:
        assert image.size == (64, 96)
    assert b"GPS" not in read.large


def test_large_pictures_are_made_smaller_and_small_ones_left() -> None:
    """The longer side says; the size told is the original's."""
    read = read_picture(jpeg((4000, 3000), turned=6), "a.jpg")
    assert (read.width, read.height) == (4000, 3000)
    assert [size_of(copy) for copy in (read.small, read.large)] == [(SMALL, 360), (LARGE, 1200)]
    assert size_of(read_picture(png((50, 40)), "a.png").large) == (50, 40)


def size_of(data: bytes) -> tuple[int, int]:
    """Width and height."""
    with Image.open(io.BytesIO(data)) as image:
        return image.size


def greys(data: bytes) -> list[float]:
    """How light the four quarters of a JPEG are, 0 to 255."""
    with Image.open(io.BytesIO(data)) as opened:
        image = opened.convert("L")
    wide, high = image.width // 2, image.height // 2
    quarters = [image.crop((x, y, x + wide, y + high)) for y in (0, high) for x in (0, wide)]
    return [ImageStat.Stat(quarter).mean[0] for quarter in quarters]


@pytest.mark.parametrize("mode", ["L", "LA", "RGBA", "P", "1"])
def test_every_kind_of_png_is_read(mode: str) -> None:
    """Grey, clear, few colours, black and white in dots: as light where it was, and in its colours."""
    read = read_picture(png(mode=mode), "a.png")
    light = [0.299 * red + 0.587 * green + 0.114 * blue for red, green, blue in CORNERS]
    assert greys(read.large) == pytest.approx(light, abs=12.0)
    if mode in ("RGBA", "P"):
        assert near(corners(read.large), CORNERS)


def test_a_png_of_sixteen_bits_is_read() -> None:
    """One grey of 65,535 parts."""
    target = io.BytesIO()
    Image.new("I;16", (120, 80), 40_000).save(target, "PNG")
    assert near(corners(read_picture(target.getvalue(), "a.png").large), ((156, 156, 156),) * 4)


def test_what_is_clear_lies_on_white() -> None:
    """A clear picture does not turn black."""
    target = io.BytesIO()
    Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(target, "PNG")
    assert near(corners(read_picture(target.getvalue(), "a.png").large), ((255, 255, 255),) * 4)


def test_a_picture_in_printers_colours_is_read() -> None:
    """Four inks become three lights."""
    target = io.BytesIO()
    upright().convert("CMYK").save(target, "JPEG", quality=95)
    assert near(corners(read_picture(target.getvalue(), "a.jpg").large), CORNERS)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "holds nothing"),
        (b"from the camera", "not a photo Bellhousing reads"),
        (b"GIF89a" + b"\x00" * 100, "not a photo Bellhousing reads"),
        (b"\x00\x00\x00\x1cftypavif" + b"\x00" * 100, "not a photo Bellhousing reads"),
        (bomb(), "60000 × 60000 pixels"),
        (jpeg_bomb(), "65535 × 65535 pixels"),
        (bomb(0, 10), "no size"),
        (jpeg((400, 300))[:4000], "cut short or damaged"),
        (jpeg()[:20], "cut short or damaged"),
        (b"\xff\xd8\xff", "cut short or damaged"),
        (png()[:-40], "cut short or damaged"),
        (png()[:20], "cut short or damaged"),
        (HEIC.read_bytes()[:600], "cut short or damaged"),
        (HEIC.read_bytes()[:40], "cut short or damaged"),
        (b"\xff\xd8\xff" + b"\x00" * LARGEST_PHOTO, "MB"),
    ],
    ids=lambda value: "" if isinstance(value, bytes) else None,
)
def test_what_cannot_be_a_photo_is_refused_in_words(data: bytes, said: str) -> None:
    """Each with what is wrong, its name, and what would be right."""
    with pytest.raises(InputFileError, match=said) as refused:
        read_picture(data, "photo.jpg")
    assert refused.value.where == "photo.jpg"
    assert refused.value.remedy


def test_a_heic_picture_is_refused_where_nothing_reads_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The remedy names what to install."""
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    with pytest.raises(InputFileError, match=r"bellhousing\[heic\]"):
        read_picture(HEIC.read_bytes(), "a.heic")


def test_a_spoilt_file_is_read_or_refused_and_nothing_else() -> None:
    """Bytes changed, taken out and cut off, of every kind: never another error."""
    chance = random.Random(7)
    kinds = (jpeg((300, 200)), png((300, 200)), HEIC.read_bytes())
    refused = 0
    for turn in range(240):
        # What decodes the last kind is a program started for each, so fewer of those.
        data = bytearray(kinds[2 if turn % 12 == 0 else turn % 2])
        for _ in range(chance.randint(1, 8)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        if turn % 4 == 0:
            del data[chance.randrange(len(data)) :]
        try:
            assert isinstance(read_picture(bytes(data), "a"), Picture)
        except InputFileError:
            refused += 1
    assert 0 < refused < 240
