"""The shipped box files keep their promises."""

from __future__ import annotations

import re

import pytest

from bellhousing.boxes.load import load_box, shipped_text
from bellhousing.boxes.schema import specs

RATIOS = {key for key in specs() if key.startswith("ratios.")}


def test_box_a_is_complete_and_invented() -> None:
    """Box A knows every figure itself, each one marked as invented, and says that it is no real unit."""
    box = load_box("A", families=False)
    assert set(box.figures) == set(specs()) - RATIOS
    assert all("invented" in given.source for given in box.figures.values())
    assert "describes no real unit" in box.note


def test_family_is_complete_and_says_where_it_is_from() -> None:
    """The family knows every figure box A knows, all from common practice."""
    family = load_box("three-speed-vacuum")
    assert set(family.figures) == set(specs()) - RATIOS
    assert {given.source for given in family.figures.values()} == {"common practice, no document behind it"}
    assert {given.origin for given in family.figures.values()} == {"family"}


def test_family_scatters_wider_than_box_a() -> None:
    """Between kinds of box every figure scatters more than between two boxes A, mostly three times."""
    a, family = load_box("A"), load_box("three-speed-vacuum")
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


def test_blank_lists_every_figure_as_unknown() -> None:
    """The blank holds every key once, knows nothing, and leans on the family."""
    box = load_box("blank")
    assert box.unknown == tuple(specs())
    text = shipped_text("blank")
    assert len(re.findall(r"^ +[a-z_0-9]+: unknown$", text, re.MULTILINE)) == len(specs())


def test_blank_explains_every_figure() -> None:
    """Above every figure of the blank one line says what it is, its unit and what is lost without it."""
    lines = shipped_text("blank").splitlines()
    explained = [
        lines[at - 1] for at, line in enumerate(lines) if line.startswith(" ") and line.endswith(": unknown")
    ]
    for line, spec in zip(explained, specs().values(), strict=True):
        assert spec.says in line
        assert "without it" in line
        assert not spec.unit or f"[{spec.unit}]" in line


@pytest.mark.parametrize("name", ["box-a", "three-speed-vacuum"])
def test_known_figures_are_positive(name: str) -> None:
    """No shipped figure is nought or negative, and none scatters as widely as it is large."""
    for key, given in load_box(name).figures.items():
        assert given.value is not None, key
        assert given.value > 0, key
        assert given.scatter < 0.65 * given.value, key


def test_the_blanks_example_train_is_box_as() -> None:
    """The commented gear train of the blank, with its marks taken away, loads and drives."""
    from bellhousing.boxes.load import box_from_bytes

    text = shipped_text("blank")
    head, train = text.split("# gear_train:", 1)
    typed = head + "gear_train:" + re.sub(r"^#", "", train, flags=re.MULTILINE)
    box = box_from_bytes(typed.encode())
    assert box.gear_train_origin == "box"
    assert box.gear_train is not None
    a = load_box("A").gear_train
    assert a is not None
    assert box.gear_train["ranges"] == a["ranges"]
