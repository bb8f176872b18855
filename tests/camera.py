"""Invented photos: a picture of four colours, as different cameras would send it."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

from PIL import Image

HEIC = Path(__file__).parent / "records" / "data" / "sideways.heic"
# Corner colours of an upright picture: top left, top right, bottom left, bottom right.
CORNERS = ((200, 40, 40), (40, 160, 60), (40, 60, 190), (240, 220, 60))
# How the stored pixels must be turned to stand upright, undone: EXIF orientation to what a camera stores.
_STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def upright(size: tuple[int, int] = (120, 80)) -> Image.Image:
    """The picture as it should be seen."""
    image = Image.new("RGB", size)
    half = (size[0] // 2, size[1] // 2)
    for place, colour in enumerate(CORNERS):
        image.paste(colour, (place % 2 * half[0], place // 2 * half[1], *_end(place, size, half)))
    return image


def _end(place: int, size: tuple[int, int], half: tuple[int, int]) -> tuple[int, int]:
    return (size[0] if place % 2 else half[0], size[1] if place // 2 else half[1])


def jpeg(
    size: tuple[int, int] = (120, 80), *, turned: int = 1, taken: str = "2026:05:01 09:30:00", zone: str = ""
) -> bytes:
    """A JPEG with the notes of a camera, an invented place among them."""
    image = upright(size)
    how = _STORED[turned]
    stored = image if how is None else image.transpose(how)
    exif = Image.Exif()
    exif[0x0112] = turned
    inner = exif.get_ifd(0x8769)
    inner[0x9003] = taken
    if zone:
        inner[0x9011] = zone
    place = exif.get_ifd(0x8825)
    place[1], place[2], place[3], place[4] = "N", (10.0, 20.0, 30.0), "E", (1.0, 2.0, 3.0)
    target = io.BytesIO()
    stored.save(target, "JPEG", quality=95, exif=exif, xmp=b"<x>GPSLatitude 10,20</x>", comment=b"a place")
    return target.getvalue()


def png(size: tuple[int, int] = (120, 80), mode: str = "RGB") -> bytes:
    """A PNG in any mode."""
    target = io.BytesIO()
    upright(size).convert(mode).save(target, "PNG")
    return target.getvalue()


def bomb(width: int = 60_000, height: int = 60_000) -> bytes:
    """A PNG of a few bytes that says it has this many pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = zlib.compress(b"\x00" * 10_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def jpeg_bomb() -> bytes:
    """A JPEG whose head says it is the largest there can be."""
    plain = bytearray(jpeg())
    place = plain.index(b"\xff\xc0")
    plain[place + 5 : place + 9] = b"\xff\xff\xff\xff"
    return bytes(plain)
