"""Pictures from a camera: what kind, how large, when taken, and copies turned upright.

The kind and the size are read from the head of the file by this module itself, before any decoder sees it,
so that a small file cannot ask for more memory than a picture of `MOST_PIXELS`.
"""

from __future__ import annotations

import io
import struct
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from PIL import Image

from bellhousing.errors import InputFileError
from bellhousing.records.heic import decode_heic

LARGEST_PHOTO = 40 * 2**20
"""The most bytes a photo may hold."""
MOST_PIXELS = 64_000_000
SMALL, LARGE = 480, 1600
"""The longer side of the two copies [px]."""
QUALITY = 85
SUFFIXES: Mapping[str, str] = {"jpeg": ".jpg", "png": ".png", "heic": ".heic"}
MEDIA_TYPES: Mapping[str, str] = {"jpeg": "image/jpeg", "png": "image/png", "heic": "image/heic"}

_PNG = b"\x89PNG\r\n\x1a\n"
_HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
# Markers of a JPEG that hold the size of the picture; 0xC4, 0xC8 and 0xCC are of another kind.
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_ALONE = frozenset({0x01, *range(0xD0, 0xD9)})
_DIRECTORY, _TAKEN, _ZONE, _CHANGED, _TURNED = 0x8769, 0x9003, 0x9011, 0x0132, 0x0112
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_SIDEWAYS = frozenset({5, 6, 7, 8})
# A profile of colours longer than this is not carried into a copy [bytes].
_LONGEST_PROFILE = 64 * 1024
# However many tablets send at once, memory holds no more than two pictures at their full size.
_AT_ONCE = threading.BoundedSemaphore(2)


@dataclass(frozen=True)
class Picture:
    """A photo that was read: its kind, upright size [px], when it was taken, and its two copies as JPEG.

    `taken` is the camera's own clock, with its offset from UTC where the camera wrote one.
    """

    kind: str
    width: int
    height: int
    taken: str | None
    small: bytes
    large: bytes


def read_picture(data: bytes, name: str) -> Picture:
    """Read a photo whole and make its copies, upright and without anything but the picture in them.

    Raises
    ------
    InputFileError : not a picture of a kind that is read, cut short, damaged, or too large.
    """
    if not data:
        raise InputFileError("the file holds nothing", where=name, remedy="take or choose the photo again")
    if len(data) > LARGEST_PHOTO:
        raise InputFileError(
            f"the file holds {len(data) / 2**20:.0f} MB",
            where=name,
            remedy=f"a photo may hold {LARGEST_PHOTO // 2**20} MB; set the camera to a smaller size",
        )
    kind = kind_of(data, name)
    try:
        with _AT_ONCE:
            opened = _OPENERS[kind](data, name)
            large = _copy(opened.image, opened.turned, LARGE)
        small = _scaled(large, SMALL)
    except InputFileError:
        raise
    except MemoryError:
        raise InputFileError(
            "there is not enough memory to read this picture", where=name, remedy="close other programs"
        ) from None
    except Exception as error:
        # A decoder given a damaged file raises whatever it stumbles over.
        raise InputFileError(
            f"the picture is cut short or damaged: {_first_line(error)}",
            where=name,
            remedy="send it again, or take it again; what was sent is not kept",
        ) from None
    width, height = opened.width, opened.height
    if opened.turned in _SIDEWAYS:
        width, height = height, width
    return Picture(kind, width, height, _taken(opened.exif), _as_jpeg(small), _as_jpeg(large))


def kind_of(data: bytes, name: str) -> str:
    """The kind of a picture by its first bytes: "jpeg", "png" or "heic".

    Raises
    ------
    InputFileError : another kind, or no picture at all.
    """
    if data.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    if data.startswith(_PNG):
        return "png"
    if data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS:
        return "heic"
    raise InputFileError(
        "that is not a photo Bellhousing reads", where=name, remedy="send a JPEG, PNG or HEIC picture"
    )


def _need_bearable(width: int, height: int, name: str) -> None:
    if width < 1 or height < 1:
        raise InputFileError("the picture says it has no size", where=name, remedy="take it again")
    if width * height > MOST_PIXELS:
        raise InputFileError(
            f"the picture has {width} × {height} pixels",
            where=name,
            remedy=f"{MOST_PIXELS // 1_000_000} million are read; set the camera to a smaller size",
        )


def _jpeg_size(data: bytes, name: str) -> tuple[int, int]:
    place = 2
    while place + 9 <= len(data) and data[place] == 0xFF:
        marker = data[place + 1]
        if marker == 0xFF:
            place += 1
        elif marker in _ALONE:
            place += 2
        elif marker in _FRAMES:
            height, width = struct.unpack(">HH", data[place + 5 : place + 9])
            return int(width), int(height)
        else:
            place += 2 + int.from_bytes(data[place + 2 : place + 4], "big")
    raise InputFileError(
        "the picture is cut short or damaged: it does not say its size",
        where=name,
        remedy="send it again, or take it again; what was sent is not kept",
    )


@dataclass(frozen=True)
class _Opened:
    """Pixels, perhaps fewer than the picture has; its size as stored, how to turn it, the camera's notes."""

    image: Image.Image
    width: int
    height: int
    turned: int
    exif: Image.Exif


def _open_jpeg(data: bytes, name: str) -> _Opened:
    width, height = _jpeg_size(data, name)
    _need_bearable(width, height, name)
    image = Image.open(io.BytesIO(data), formats=("JPEG",))
    exif = _exif_of(image)
    image.draft("RGB", (LARGE, LARGE))
    image.load()
    return _Opened(image, width, height, _orientation(exif), exif)


def _open_png(data: bytes, name: str) -> _Opened:
    if len(data) < 33 or data[12:16] != b"IHDR":
        raise InputFileError("the picture is cut short or damaged", where=name, remedy="send it again")
    width, height = struct.unpack(">II", data[16:24])
    _need_bearable(width, height, name)
    image = Image.open(io.BytesIO(data), formats=("PNG",))
    image.load()
    exif = _exif_of(image)
    return _Opened(image, width, height, _orientation(exif), exif)


def _open_heic(data: bytes, name: str) -> _Opened:
    decoded = decode_heic(data, name, most_pixels=MOST_PIXELS, side=LARGE)
    _need_bearable(decoded.width, decoded.height, name)
    assert decoded.image is not None
    exif = Image.Exif()
    if decoded.notes:
        _quietly(lambda: exif.load(decoded.notes))
    # The container says how it is turned and the decoder has turned it; what the camera wrote beside it
    # would turn it twice.
    return _Opened(decoded.image, decoded.width, decoded.height, 1, exif)


_OPENERS: Mapping[str, Callable[[bytes, str], _Opened]] = {
    "jpeg": _open_jpeg,
    "png": _open_png,
    "heic": _open_heic,
}


def _quietly(read: Callable[[], Any]) -> Any:
    """What was read of a camera's notes, None where they are spoilt: the picture itself may be sound."""
    try:
        return read()
    except Exception:
        return None


def _exif_of(image: Image.Image) -> Image.Exif:
    found = _quietly(image.getexif)
    return found if isinstance(found, Image.Exif) else Image.Exif()


def _orientation(exif: Image.Exif) -> int:
    turned = _quietly(lambda: exif.get(_TURNED, 1))
    return turned if isinstance(turned, int) and turned in _TURNS else 1


def _taken(exif: Image.Exif) -> str | None:
    """When the camera says it took the picture, as ISO 8601 text."""
    inner = _quietly(lambda: dict(exif.get_ifd(_DIRECTORY))) or {}
    said = inner.get(_TAKEN) or _quietly(lambda: exif.get(_CHANGED))
    zone = inner.get(_ZONE)
    try:
        moment = datetime.strptime(str(said).strip("\x00 "), "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
    text = moment.isoformat()
    try:
        return datetime.fromisoformat(text + str(zone).strip("\x00 ")).isoformat() if zone else text
    except ValueError:
        return text


def _copy(image: Image.Image, turned: int, side: int) -> Image.Image:
    """A copy on white, no longer than `side`, upright, with its colours and nothing else beside it."""
    profile = image.info.get("icc_profile")
    plain = _plain(image, side)
    if turned in _TURNS:
        plain = plain.transpose(_TURNS[turned])
    keep = image.mode in ("RGB", "RGBA") and isinstance(profile, bytes) and len(profile) <= _LONGEST_PROFILE
    plain.info = {"icc_profile": profile} if keep else {}
    return plain


def _plain(image: Image.Image, side: int) -> Image.Image:
    if image.mode.startswith("I"):  # sixteen bits of grey
        image = image.point(lambda value: value * (1 / 256)).convert("L")
    if image.mode == "P" or "transparency" in image.info:
        image = image.convert("RGBA")
    image = _scaled(image, side)
    if image.mode in ("RGBA", "LA", "PA"):
        over = image.convert("RGBA")
        image = Image.new("RGB", over.size, "white")
        image.paste(over, mask=over.getchannel("A"))
    return image if image.mode == "RGB" else image.convert("RGB")


def _scaled(image: Image.Image, side: int) -> Image.Image:
    scaled = image.copy()
    scaled.thumbnail((side, side), Image.Resampling.LANCZOS)
    scaled.info = dict(image.info)
    return scaled


def _as_jpeg(image: Image.Image) -> bytes:
    target = io.BytesIO()
    image.save(target, "JPEG", quality=QUALITY, optimize=True, icc_profile=image.info.get("icc_profile"))
    return target.getvalue()


def _first_line(error: Exception) -> str:
    lines = str(error).strip().splitlines()
    return lines[0][:120] if lines else type(error).__name__
