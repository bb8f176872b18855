"""Decodes one HEIC picture in a program of its own: from standard input to standard output.

The decoder is written in C, and a spoilt file can bring down the program it runs in; so it runs here, with
bounded memory and time, and imports nothing of Bellhousing.

Answers with one line of JSON (size, mode and size of the pixels, length of the camera's notes), then the
notes, then the pixels, scaled to the side asked for; with the size alone where that is too many pixels.
"""

from __future__ import annotations

import json
import sys

MOST_MEMORY = 3 * 2**30
MOST_SECONDS = 60


def decode(data: bytes, most_pixels: int, side: int) -> tuple[dict[str, object], bytes, bytes]:
    """The head, the camera's notes and the pixels of a picture."""
    import pi_heif
    from PIL import Image

    pi_heif.options.THUMBNAILS = pi_heif.options.DEPTH_IMAGES = pi_heif.options.AUX_IMAGES = False
    opened = pi_heif.open_heif(data)
    width, height = opened.size
    head: dict[str, object] = {"width": width, "height": height}
    if width * height > most_pixels:
        return head, b"", b""
    notes = opened.info.get("exif") or b""
    profile = opened.info.get("icc_profile") or b""
    image = opened.to_pillow()
    if image.mode not in ("RGB", "RGBA", "L"):
        image = image.convert("RGB")
    image.thumbnail((side, side), Image.Resampling.LANCZOS)
    head |= {"mode": image.mode, "size": image.size, "notes": len(notes), "profile": profile.hex()}
    return head, notes, image.tobytes()


def main() -> None:
    """Decode what comes in, under limits where the system knows them."""
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    except (ImportError, ValueError, OSError):
        pass  # the program that asks ends this one when it takes too long
    head, notes, pixels = decode(sys.stdin.buffer.read(), int(sys.argv[1]), int(sys.argv[2]))
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n" + notes + pixels)


if __name__ == "__main__":
    main()
