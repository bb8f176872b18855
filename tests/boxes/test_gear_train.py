"""The gear train of a box file: checks on typing, and the way to the room that solves it."""

from __future__ import annotations

import pytest

from bellhousing.boxes.gears import applied_elements, gear_train_of
from bellhousing.boxes.load import box_from_bytes, load_box, shipped_text
from bellhousing.boxes.train import mesh_problems
from bellhousing.errors import BoxFileError
from bellhousing.geartrain.solve import solve

A = shipped_text("box-a")


def fault(old: str, new: str) -> str:
    """Return the one fault of box A with a slip put into its text."""
    assert old in A
    with pytest.raises(BoxFileError) as caught:
        box_from_bytes(A.replace(old, new, 1).encode())
    (said,) = caught.value.problems
    return said


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("ring_teeth: 66", "ring_teeth: 65", "ring 65 less sun 30 is odd"),
        ("ring_teeth: 66", "ring_teeth: 28", "cannot go round a sun"),
        ("ring_teeth: 66", "ring_teeth: six", "must be a whole number"),
        ("ring_teeth: 66", "ring_teeth: 2", "must be at least 8"),
        ("pinion_teeth: 18", "pinion_teeth: 17", "has 18 teeth, not 17"),
        ("pinion_count: 4", "pinion_count: 5", "5 equally spaced pinions cannot be put in"),
        ("carrier: output, sun_teeth", "carrier: outpt, sun_teeth", "`outpt` is not among the members"),
        ("carrier: output, sun_teeth", "carrier: sun, sun_teeth", "three different members"),
        ("name: rear, sun", "name: front, sun", "`front` is listed twice"),
        ("holds: sun", "holds: son", "`son` is not among the members"),
        ("kind: brake, holds: sun", "kind: clutch, holds: sun", "a clutch joins two members"),
        ("kind: brake, holds: sun", "kind: brake, joins: [sun, output]", "a brake holds one member"),
        ("kind: brake, holds: sun", "kind: brake", "either `joins: [a, b]` or `holds: a`"),
        ("kind: brake, holds: sun", "kind: brake, holds: sun, blocks: forward", "only a one-way clutch"),
        (
            "kind: brake, holds: sun",
            "kind: break, holds: sun",
            "must be 'clutch', 'brake', 'one-way' or 'coupling'",
        ),
        (
            "  ranges:\n",
            "".join(f"    - {{name: o{i}, kind: one-way, holds: sun}}\n" for i in range(5)) + "  ranges:\n",
            "more than 6 one-way clutches",
        ),
        ("joins: [turbine, sun]", "joins: [sun, sun]", "join a member to itself"),
        ("input: turbine", "input: engine", "`engine` is not among the members"),
        ("[turbine, front-ring, sun,", "[case, turbine, front-ring, sun,", "`case` stands still"),
        ('"1": [forward-clutch]', '"1": [forward-cluch]', "`forward-cluch` is not among the elements"),
        ('"1": [forward-clutch]', '"1": [direct-clutch]', "this gear does not drive"),
        ('"1": [forward-clutch]', '"1": [forward-clutch, low-reverse-band, overrun-band]', "does not drive"),
        ("    second:", "    sec/ond:", "named by a few letters or digits"),
        ("engine:\n", "ratios: {first: 2.45}\nengine:\n", "ratios follow from the tooth counts"),
    ],
)
def test_slip_in_the_gear_train(old: str, new: str, said: str) -> None:
    """Teeth that cannot mesh, wrong names and gears that do not drive are refused with their line."""
    found = fault(old, new)
    assert said in found
    assert found.startswith("line ")


def test_pinions_that_fit() -> None:
    """Sun 30 and ring 66 take four pinions of 18; double pinions 30 and 70 take four as well."""
    assert mesh_problems(30, 66, False, 18, 4) == []
    assert mesh_problems(30, 70, True, None, 4) == []
    assert mesh_problems(30, 71, True, None, 4) != []


@pytest.mark.parametrize(
    ("lever", "gear", "ratio"),
    [
        ("D", "1", 162 / 66),
        ("D", "2", 96 / 66),
        ("D", "3", 1.0),
        ("R", "R", -66 / 30),
        ("low", "1", 162 / 66),
    ],
)
def test_box_a_ratios(lever: str, gear: str, ratio: float) -> None:
    """Box A's chart gives 2 + s/r, 1 + s/r, 1 and -r/s with sun 30 and ring 66."""
    box = load_box("A")
    state = solve(gear_train_of(box), applied_elements(box, lever, gear))
    assert state.ratio == pytest.approx(ratio)


def test_low_one_way_clutch_and_band() -> None:
    """First is held by the one-way clutch in drive and by the band in low."""
    box = load_box("A")
    train = gear_train_of(box)
    assert solve(train, applied_elements(box, "D", "1")).holding == ("low-one-way-clutch",)
    assert solve(train, applied_elements(box, "low", "1")).holding == ()


def test_one_way_clutches_are_left_out_of_the_chart() -> None:
    """A chart typed with its one-way clutches names only what the hydraulics apply."""
    typed = A.replace('"1": [forward-clutch]', '"1": [forward-clutch, low-one-way-clutch]', 1)
    assert applied_elements(box_from_bytes(typed.encode()), "D", "1") == ("forward-clutch",)


def test_unknown_teeth_are_refused_only_when_asked_for() -> None:
    """A train without tooth counts loads, keeps its chart, says what it cannot do, and cannot be solved."""
    typed = A.replace("sun_teeth: 30", "sun_teeth: unknown", 1)
    box = box_from_bytes(typed.encode())
    assert applied_elements(box, "R", "R") == ("direct-clutch", "low-reverse-band")
    assert box.what_it_cannot_do()[0] == "No tooth counts: no ratios and no member speeds."
    with pytest.raises(BoxFileError, match="tooth counts"):
        gear_train_of(box)


def test_no_gear_train_at_all() -> None:
    """Without file and family train the box says so and refuses to be solved."""
    box = box_from_bytes(b"schema: 1\nname: n\nslug: n\n")
    assert (box.gear_train, box.gear_train_origin) == (None, None)
    assert box.what_it_cannot_do()[0].startswith("No gear train")
    with pytest.raises(BoxFileError, match="tooth counts"):
        gear_train_of(box)
    with pytest.raises(BoxFileError, match="no range 'D'"):
        applied_elements(box, "D", "1")


def test_unknown_range_or_gear() -> None:
    """A range or gear the chart lacks is refused with those it has."""
    box = load_box("A")
    with pytest.raises(BoxFileError, match="known: P, R, N, D, second, low"):
        applied_elements(box, "third", "1")
    with pytest.raises(BoxFileError, match="known: 1, 2, 3"):
        applied_elements(box, "D", "4")


def test_the_family_lends_its_train() -> None:
    """A file without a train takes its family's and says whose it is."""
    blank = load_box("blank")
    assert blank.gear_train_origin == "family"
    assert solve(gear_train_of(blank), applied_elements(blank, "D", "2")).ratio == pytest.approx(96 / 66)
