"""The shipped box files keep their promises."""

from __future__ import annotations

import re

import pytest

from bellhousing.boxes.box import part_of
from bellhousing.boxes.load import load_box, shipped_text
from bellhousing.boxes.schema import specs

RATIOS = {key for key in specs() if key.startswith("ratios.")}
KINDS = [
    ("box-a", "three-speed-vacuum", "blank"),
    ("box-b", "four-speed-linkage", "blank-four-speed"),
]


@pytest.mark.parametrize(("name", "kind", "_blank"), KINDS)
def test_invented_box_is_complete(name: str, kind: str, _blank: str) -> None:
    """It knows every figure of its kind itself, each marked as invented, and says that it is no real unit."""
    box = load_box(name, families=False)
    assert box.kind == kind
    held = {key for key in specs(kind) if part_of(key) not in box.missing_parts}
    assert set(box.figures) == held - RATIOS
    assert box.missing_parts <= {"second-band"}
    assert all("invented" in given.source for given in box.figures.values())
    assert "describes no real unit" in box.note


@pytest.mark.parametrize("kind", ["three-speed-vacuum", "four-speed-linkage"])
def test_family_is_complete_and_says_where_it_is_from(kind: str) -> None:
    """The family knows every figure its invented box knows, all from common practice."""
    family = load_box(kind)
    assert set(family.figures) == set(specs(kind)) - RATIOS
    assert {given.source for given in family.figures.values()} == {"common practice, no document behind it"}
    assert {given.origin for given in family.figures.values()} == {"family"}


@pytest.mark.parametrize(("name", "kind", "_blank"), KINDS)
def test_family_scatters_wider_than_its_box(name: str, kind: str, _blank: str) -> None:
    """Between kinds of box every figure scatters more than between two of one kind, mostly three times."""
    a, family = load_box(name), load_box(kind)
    wider = []
    for key, given in a.figures.items():
        if given.scatter:
            other = family.number(key)
            assert given.value
            assert other.value
            wider.append(other.scatter / other.value / (given.scatter / given.value))
    wider.sort()
    assert wider[0] > 1.4
    assert 2.5 < wider[len(wider) // 2] < 4.5


@pytest.mark.parametrize(("_name", "kind", "blank"), KINDS)
def test_blank_lists_every_figure_as_unknown(_name: str, kind: str, blank: str) -> None:
    """The blank holds every key of its kind once, knows nothing, and leans on the family."""
    box = load_box(blank)
    assert box.unknown == tuple(key for key in specs(kind) if part_of(key) not in box.missing_parts)
    text = shipped_text(blank)
    assert len(re.findall(r"^ +[a-z_0-9]+: unknown$", text, re.MULTILINE)) == len(specs(kind))


@pytest.mark.parametrize(("_name", "kind", "blank"), KINDS)
def test_blank_explains_every_figure(_name: str, kind: str, blank: str) -> None:
    """Above every figure of the blank one line says what it is, its unit and what is lost without it."""
    lines = shipped_text(blank).splitlines()
    explained = [
        lines[at - 1] for at, line in enumerate(lines) if line.startswith(" ") and line.endswith(": unknown")
    ]
    for line, spec in zip(explained, specs(kind).values(), strict=True):
        assert spec.says in line
        assert "without it" in line
        assert not spec.unit or f"[{spec.unit}]" in line


@pytest.mark.parametrize("name", ["box-a", "three-speed-vacuum", "box-b", "four-speed-linkage"])
def test_known_figures_are_positive(name: str) -> None:
    """No shipped figure is nought or negative, and none scatters as widely as it is large."""
    for key, given in load_box(name).figures.items():
        assert given.value is not None, key
        assert given.value > 0, key
        assert given.scatter < 0.65 * given.value, key


@pytest.mark.parametrize(("name", "_kind", "blank"), KINDS)
def test_the_blanks_example_train_is_its_boxs(name: str, _kind: str, blank: str) -> None:
    """The commented gear train of the blank, with its marks taken away, loads and drives."""
    from bellhousing.boxes.load import box_from_bytes

    text = shipped_text(blank)
    head, train = text.split("# gear_train:", 1)
    typed = head + "gear_train:" + re.sub(r"^#", "", train, flags=re.MULTILINE)
    box = box_from_bytes(typed.encode())
    assert box.gear_train_origin == "box"
    assert box.gear_train is not None
    a = load_box(name).gear_train
    assert a is not None
    assert box.gear_train["ranges"] == a["ranges"]
