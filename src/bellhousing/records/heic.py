"""HEIC pictures, decoded by a program of their own so that a spoilt one cannot bring down this one."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from bellhousing.errors import InputFileError

CHILD = Path(__file__).with_name("heic_child.py")
SECONDS = 60.0


@dataclass(frozen=True)
class Decoded:
    """The size the picture has [px], its pixels upright and scaled, and the camera's notes (EXIF).

    `image` is None where there are more pixels than were asked for.
    """

    width: int
    height: int
    image: Image.Image | None
    notes: bytes


def decode_heic(data: bytes, name: str, *, most_pixels: int, side: int) -> Decoded:
    """Decode a HEIC picture to at most `side` pixels along its longer side.

    Raises
    ------
    InputFileError : nothing here reads such pictures.
    ValueError : it is cut short or damaged.
    """
    if importlib.util.find_spec("pi_heif") is None:
        raise InputFileError(
            "this is a HEIC picture, and what reads those is not installed here",
            where=name,
            remedy="install bellhousing[heic], or set the camera to JPEG",
        )
    command = [sys.executable, "-I", str(CHILD), str(most_pixels), str(side)]
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=SECONDS, check=False)
    except subprocess.TimeoutExpired:
        raise ValueError("it takes too long to read") from None
    if done.returncode != 0:
        raise ValueError("it cannot be decoded")
    line, _, rest = done.stdout.partition(b"\n")
    head = json.loads(line)
    width, height = int(head["width"]), int(head["height"])
    if "mode" not in head:
        return Decoded(width, height, None, b"")
    notes, pixels = rest[: head["notes"]], rest[head["notes"] :]
    image = Image.frombytes(head["mode"], tuple(head["size"]), pixels)
    if head["profile"]:
        image.info["icc_profile"] = bytes.fromhex(head["profile"])
    return Decoded(width, height, image, notes)
