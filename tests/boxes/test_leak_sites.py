"""Where a box can leak, as its file says it."""

from __future__ import annotations

import re

import pytest

from bellhousing.boxes.load import box_from_bytes, load_box
from bellhousing.errors import BoxFileError

HEAD = "schema: 1\nname: Trial\nslug: trial\n"
MARK = "landmarks:\n  - {id: bell-bottom, name: bottom of the bell, along: 110 mm, height: -45 mm}\n"
SITE = """leak_sites:
  - id: front-seal
    name: Front seal
    faults: [front-seal-hardened]
    along: 6 in
    height: 125 mm
    drips: [pressure, rotating]
    turns: engine
    circuit: converter
    outlet: bell-bottom
"""


def loaded(*parts: str) -> object:
    """A box file of these parts, with no family behind it."""
    return box_from_bytes("".join((HEAD, *parts)).encode())


@pytest.mark.parametrize("name", ["box-a", "three-speed-vacuum", "box-b", "four-speed-linkage"])
def test_shipped_boxes_say_where_they_leak(name: str) -> None:
    """Each shipped site has a position, and each outlet is a landmark with one."""
    box = load_box(name)
    marks = {mark.id: mark for mark in box.landmarks}
    assert len(box.leak_sites) > 15
    for site in box.leak_sites:
        assert site.along is not None
        assert site.height is not None
        assert site.source in ("invented", "typical, common practice")
        assert site.outlet is None or marks[site.outlet].height is not None


@pytest.mark.parametrize(
    ("box", "family"), [("box-a", "three-speed-vacuum"), ("box-b", "four-speed-linkage")]
)
def test_the_family_is_less_sure_of_where(box: str, family: str) -> None:
    """A place of the family scatters at least half as far again as one of its own box."""
    own = {site.id: site for site in load_box(box).leak_sites}
    for site in load_box(family).leak_sites:
        for coordinate in ("along", "across", "height"):
            typical, known = getattr(site, coordinate), getattr(own[site.id], coordinate)
            assert typical.scatter > 1.5 * known.scatter


def test_a_box_without_sites_leans_on_its_family() -> None:
    """The blank leaks where its family does, and says whose places they are."""
    blank = load_box("blank")
    assert {site.origin for site in blank.leak_sites} == {"family"}
    assert [site.id for site in blank.leak_sites] == [
        site.id for site in load_box("three-speed-vacuum").leak_sites
    ]


def test_an_unknown_position_is_the_familys() -> None:
    """A site typed without its height keeps its own length along and takes the family's height."""
    text = SITE.replace("    height: 125 mm\n", "    height: unknown\n")
    box = box_from_bytes((HEAD + "family: three-speed-vacuum\n" + MARK + text).encode())
    (site,) = box.leak_sites
    assert site.along is not None
    assert site.along.value == pytest.approx(0.1524)
    assert site.height is not None
    assert site.height.value == pytest.approx(0.125)
    assert site.height.scatter == pytest.approx(0.018)
    assert site.origin == "box"


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ((MARK, SITE.replace("drips:", "drip:")), r"line 12: .*unknown key: did you mean `drips`"),
        ((MARK, SITE.replace("[pressure, rotating]", "[presure, rotating]")), r"line 12: .*must be"),
        ((MARK, SITE.replace("125 mm", "125 psi")), r"line 11: leak_sites.1.height"),
        ((MARK, SITE.replace("125 mm", "9 m")), r"line 11: leak_sites.1.height"),
        ((MARK, SITE.replace("bell-bottom", "bell")), r"line 15: .*no landmark is called `bell`"),
        ((MARK, SITE.replace("    turns: engine\n", "")), r"`turns` \(engine or output\)"),
        ((MARK, SITE, SITE.replace("leak_sites:\n", "")), r"already the name of a place"),
        ((MARK, SITE.replace("    circuit: converter\n", "")), r"`circuit` is missing"),
        ((MARK, "leak_site:\n"), r"unknown key: did you mean `leak_sites`"),
    ],
)
def test_faults_are_refused_with_their_line(parts: tuple[str, ...], said: str) -> None:
    """Each fault names its line and what would be right."""
    with pytest.raises(BoxFileError) as refused:
        loaded(*parts)

    assert any(re.search(said, problem) for problem in refused.value.problems), refused.value.problems
