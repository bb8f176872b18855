"""Whatever is handed in, the loader answers with a box or with an error in words."""

from __future__ import annotations

import contextlib
import json
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bellhousing.boxes.load import box_from_bytes, load_box, shipped_text
from bellhousing.errors import BellhousingError, BoxFileError

A = shipped_text("box-a").split("\nstrip:\n", 1)[0].encode()
LINES = A.splitlines(keepends=True)
EXAMPLE = shipped_text("blank").split("\n# strip:\n", 1)[1].split("\n\n", 1)[0].splitlines()
STRIP = [b"schema: 1\nname: n\nslug: n\nstrip:\n", *(f"{line[2:]}\n".encode() for line in EXAMPLE)]
SCRAPS = (
    b"&x |*x|!!set |{|[|]|}|: |- |\t|'|\"|>\n|%YAML 9.9\n|\x00|\xff|---\n|...\n|? |<<: |#|1e999 psi|nan psi"
    b"|-0 psi|1/0 g|\xe2\x80\xa8|\xef\xbb\xbf|unknown|~|0x1F g|\r"
).split(b"|")


def answered(content: bytes) -> None:
    """Load, and let only a box-file error through."""
    try:
        box = box_from_bytes(content)
    except BoxFileError:
        return
    assert box.slug
    assert all(given.value is not None for given in box.figures.values())


@given(st.binary(max_size=300))
def test_any_bytes(content: bytes) -> None:
    """Bytes of any kind are answered."""
    answered(content)


@given(st.text(max_size=300))
def test_any_text(content: str) -> None:
    """Text of any kind is answered."""
    answered(content.encode("utf-8", "surrogatepass"))


def damaged(whole: list[bytes], chance: random.Random) -> list[bytes]:
    """Lines with some lost, doubled, moved, cut or sprinkled with scraps of syntax."""
    lines = list(whole)
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(lines))
        kind = chance.randrange(5)
        if kind == 0:
            del lines[at]
        elif kind == 1:
            lines.insert(chance.randrange(len(lines)), lines[at])
        elif kind == 2:
            cut = chance.randrange(len(lines[at]) + 1)
            lines[at] = lines[at][:cut] + chance.choice(SCRAPS) + lines[at][cut:]
        elif kind == 3:
            lines[at] = lines[at][: chance.randrange(len(lines[at]) + 1)]
        else:
            lines[at] = b" " * chance.randrange(6) + lines[at].lstrip()
    return lines


@settings(max_examples=60)
@given(st.randoms(use_true_random=False))
def test_damaged_box_a(chance: random.Random) -> None:
    """Box A with lines lost, doubled, moved, cut or sprinkled with scraps of syntax is answered."""
    answered(b"".join(damaged(LINES, chance)))


@settings(max_examples=60)
@given(st.randoms(use_true_random=False))
def test_damaged_strip(chance: random.Random) -> None:
    """A parts tree damaged in the same ways is answered."""
    assert box_from_bytes(b"".join(STRIP)).parts_tree is not None
    answered(b"".join(damaged(STRIP, chance)))


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)
TOP = (
    *("schema", "name", "slug", "family", "source", "note", "lacks", "windows"),
    *("pump", "governor", "shift_valves", "ratios", "gear_train", "forward_clutch", "strip"),
)


@given(st.dictionaries(st.sampled_from(TOP), ANY, max_size=6))
def test_right_keys_with_wrong_contents(data: dict[str, object]) -> None:
    """Known keys holding anything at all are answered."""
    answered(json.dumps({"schema": 1, "name": "n", "slug": "n", **data}).encode())


@given(st.text(max_size=80))
def test_any_name(name: str) -> None:
    """Any name at all is answered with a box or an error in words."""
    with contextlib.suppress(BellhousingError):
        load_box(name)


@pytest.mark.parametrize("line", ['name: "\\ud800"', '"\\ud800": 3', 'money: {kit: "\\ud80014.00"}'])
def test_a_box_file_that_escapes_it_is_refused_at_its_line(line: str) -> None:
    """The escape of a double-quoted text makes what no editor can type."""
    text = shipped_text("box-a")
    with pytest.raises(BoxFileError, match="sign that is no letter") as refused:
        box_from_bytes(f"{text}\n{line}\n".encode())
    assert refused.value.where == f"box file, line {text.count(chr(10)) + 2}"
