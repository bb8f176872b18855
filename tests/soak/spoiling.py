"""Files spoilt as files get spoilt, and as somebody would spoil them on purpose."""

from __future__ import annotations

import io
import random
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Sequence

NUMBER = re.compile(rb"-?\d+(\.\d+)?")
FIGURES = (
    b"0", b"-1", b"1e308", b"1e999", b"-1e999", b"nan", b"inf", b"9" * 30, b"9" * 5000, b"0x7f", b"1e-320",
    b"", b"1,5", b"\xc2\xbd", b"1_000", b"true", b"null", b"2026-02-30",
)  # fmt: skip
PIECES = (
    b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\r", b"\n\n", b"\t", b"{", b"}", b"[" * 3000, b"- " * 3000,
    b"&a *a", b"<<: *a", b"!!python/object/apply:os.system [ls]", b'"', b"'", b": ", b"? ", b"%YAML 9.9\n",
    b"---\n", b"...", b"\xed\xa0\x80", b"\xe2\x80\xae", b",,,,", b";", b"=1+1", b"|\n", b"x" * 20_000,
    b"../../x", b"\\u0000", b"\\ud800", b"psi", b" mm", b"#", b"\x1a", b"\x7f" * 50, b"PK\x03\x04",
    b"\x89PNG",
)  # fmt: skip
Spoiler = Callable[[random.Random, bytes], bytes]


def _flip(chance: random.Random, data: bytes) -> bytes:
    found = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 8, 64))):
        if found:
            found[chance.randrange(len(found))] = chance.randrange(256)
    return bytes(found)


def _cut(chance: random.Random, data: bytes) -> bytes:
    return data[: chance.randint(0, len(data))]


def _span(chance: random.Random, data: bytes) -> tuple[int, int]:
    start = chance.randint(0, len(data))
    return start, min(len(data), start + chance.choice((1, 4, 40, 400, 4000)))


def _without(chance: random.Random, data: bytes) -> bytes:
    start, end = _span(chance, data)
    return data[:start] + data[end:]


def _again(chance: random.Random, data: bytes) -> bytes:
    start, end = _span(chance, data)
    return data[:end] + data[start:end] * chance.choice((1, 2, 30)) + data[end:]


def _put_in(chance: random.Random, data: bytes) -> bytes:
    at = chance.randint(0, len(data))
    return data[:at] + chance.choice(PIECES) + data[at:]


def _figure(chance: random.Random, data: bytes) -> bytes:
    found = list(NUMBER.finditer(data[:200_000]))
    if not found:
        return _put_in(chance, data)
    one = chance.choice(found)
    return data[: one.start()] + chance.choice(FIGURES) + data[one.end() :]


def _lines(chance: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    first, second = chance.randrange(len(lines)), chance.randrange(len(lines))
    lines[first], lines[second] = lines[second], lines[first]
    if chance.random() < 0.5:
        del lines[chance.randrange(len(lines))]
    return b"\n".join(lines)


SPOILERS: tuple[Spoiler, ...] = (_flip, _cut, _without, _again, _put_in, _figure, _figure, _lines)


def spoilt(chance: random.Random, sound: Sequence[bytes]) -> bytes:
    """One of the sound files, spoilt in one way or several, or begun as one and ended as another."""
    data = chance.choice(sound)
    if len(sound) > 1 and chance.random() < 0.1:
        other = chance.choice(sound)
        data = data[: chance.randint(0, len(data))] + other[chance.randint(0, len(other)) :]
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        data = chance.choice(SPOILERS)(chance, data)
    return data


def spoilt_archive(chance: random.Random, sound: Sequence[bytes]) -> bytes:
    """An archive spoilt as a file, or whole with a member of it spoilt, renamed, lost, doubled or a bomb."""
    if chance.random() < 0.4:
        return spoilt(chance, sound)
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(chance.choice(sound))) as old:
        members = [(info.filename, old.read(info)) for info in old.infolist()]
    place = chance.randrange(len(members))
    name, data = members[place]
    deed = chance.randrange(6)
    if deed == 0:
        members[place] = (name, spoilt(chance, [data]))
    elif deed == 1:
        members[place] = (
            chance.choice(("../x", "/etc/x", "files/../../x", "C:\\x", " ", "a" * 300, name + "x")),
            data,
        )
    elif deed == 2:
        del members[place]
    elif deed == 3:
        members.append((chance.choice(("tables/x.jsonl", "files/photos/x", name + "2")), data))
    elif deed == 4:
        members[place] = (name, data + b"\x00" * 64 * 2**20)
    else:
        members[place] = (name, b"[" * 200_000)
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as new:
        for one, content in members:
            new.writestr(one, content)
    return held.getvalue()


def bomb_png(width: int, height: int, rows: int) -> bytes:
    """A PNG that says it is so large, with so many rows of nothing in it, well compressed."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    packer = zlib.compressobj(9)
    row = bytes(1 + 3 * width)
    packed = b"".join(packer.compress(row) for _ in range(rows)) + packer.flush()
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
