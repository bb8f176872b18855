"""Tables in a box file: what a row says, and what is refused with its line."""

from __future__ import annotations

import pytest

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import box_from_bytes, load_box
from bellhousing.errors import BoxFileError

HEAD = "schema: 1\nname: n\nslug: n\nfamily: three-speed-vacuum\nreadings:\n"
CAR = "  car: {axle_ratio: 3.08, tyre_radius: 345 mm}\n"
PSI, MPH, INHG = 6894.757293168, 0.44704, 3386.389


def box_of(*rows: str, car: str = CAR) -> Box:
    """A box with these rows, the first of them on line 8."""
    listed = "".join(f"    - {{{row}}}\n" for row in rows)
    return box_from_bytes(f"{HEAD}{car}  rows:\n{listed}".encode())


def faults(*rows: str, car: str = CAR) -> tuple[str, ...]:
    """The faults found in these rows."""
    with pytest.raises(BoxFileError) as caught:
        box_of(*rows, car=car)
    return caught.value.problems


LINE = "what: line, range: D, vacuum: 16 inHg, engine_speed: 1000 rpm, reads: 65 psi"
UP = "what: upshift, shift: 2-3, vacuum: 16 inHg, reads: 18 mph"


def test_rounded_figure_and_range() -> None:
    """A single figure is widened by half the table's step, a range is taken as it stands."""
    table = box_of(LINE, LINE.replace("65 psi", "60-75 psi").replace("16 inHg", "15 inHg"), UP).table
    assert table is not None
    one, two, three = table.rows
    assert (one.low / PSI, one.high / PSI) == pytest.approx((62.5, 67.5))
    assert (two.low / PSI, two.high / PSI) == pytest.approx((60.0, 75.0))
    assert (three.low / MPH, three.high / MPH) == pytest.approx((17.5, 18.5))
    assert [row.line for row in table.rows] == [8, 9, 10]


def test_steps_of_the_table() -> None:
    """The step named in the file replaces the usual one."""
    table = box_of(LINE, car=CAR + "  rounded_to: {pressure: 1 psi}\n").table
    assert table is not None
    assert (table.rows[0].high - table.rows[0].low) / PSI == pytest.approx(1.0)


def test_hose_off_is_no_vacuum() -> None:
    """`hose off` may stand for a vacuum of nought."""
    table = box_of(LINE.replace("16 inHg", "hose off")).table
    assert table is not None
    assert table.rows[0].vacuum == 0.0


def test_library_box_says_that_it_is_invented() -> None:
    """The shipped table is invented, says so, and leaves every figure to the family until it is fitted."""
    box = load_box("box-by-readings")
    assert "describes no real unit" in box.note
    assert box.source == "invented"
    assert box.table is not None
    assert len(box.table.rows) >= 15
    assert {given.origin for given in box.figures.values()} == {"family"}


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (LINE.replace("range", "rnge"), "line 8: readings.rows.1.rnge: unknown key: did you mean `range`?"),
        (LINE.replace("65 psi", "65 mph"), "line 8: readings.rows.1.reads: 'mph' is a unit of speed"),
        (LINE.replace("65 psi", "65"), "'65' has no unit: write it as '65 psi'"),
        (LINE.replace("65 psi", "650 psi"), "'650 psi' is impossible here"),
        (LINE.replace("65 psi", "-5 psi"), "is impossible here"),
        (LINE.replace("65 psi", "75-60 psi"), "does not run from low to high"),
        (LINE.replace("65 psi", "over 60 psi"), "open at one end: type both ends"),
        (LINE.replace("65 psi", "high"), "no figure at the beginning"),
        (LINE.replace("16 inHg", "16 mph"), "readings.rows.1.vacuum: 'mph' is a unit of speed"),
        (LINE.replace("16 inHg", "36 inHg"), "impossible here"),
        (LINE.replace("range: D, ", ""), "a row for line must name `range`"),
        (LINE.replace("range: D", "range: drive"), "readings.rows.1.range: must be"),
        (LINE.replace("line", "lines", 1), "readings.rows.1.what: must be"),
        (LINE + ", shift: 1-2", "`shift` says nothing about line: leave it out"),
        (LINE.replace("range: D", "range: R, gear: 2"), "only D and third have several gears"),
        (UP.replace("18 mph", "18 psi"), "'psi' is a unit of pressure"),
        (UP.replace("2-3", "3-2"), "3-2 is a downshift"),
        (UP.replace("vacuum: 16 inHg, ", ""), "names either `vacuum` or `throttle`"),
        ("what: coast-down, shift: 2-3, reads: 13 mph", "2-3 is an upshift"),
        ("what: governor, reads: 20 psi", "must name `road_speed`"),
    ],
)
def test_bad_row(row: str, said: str) -> None:
    """One fault in a row is one sentence that names line, row and what would be right."""
    found = faults(row)
    assert len(found) == 1
    assert said in found[0]
    assert found[0].startswith("line 8: readings.rows.1")


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        (UP, "what: coast-down, shift: 3-2, reads: 25 mph", "a downshift lies below its upshift"),
        (
            UP.replace("16 inHg", "4 inHg"),
            "what: part-throttle-downshift, shift: 3-2, vacuum: 4 inHg, reads: 40 mph",
            "a downshift lies below its upshift",
        ),
        (
            "what: upshift, shift: 2-3, throttle: full, reads: 70 mph",
            "what: forced-downshift, shift: 3-2, reads: 80 mph",
            "a downshift lies below its upshift",
        ),
        (UP, UP.replace("18 mph", "22 mph"), "the same reading is printed twice, and differs"),
        (UP, UP.replace("16 inHg", "8 inHg").replace("18 mph", "12 mph"), "no earlier with more throttle"),
        (UP, UP.replace("2-3", "1-2").replace("18 mph", "28 mph"), "1-2 comes before 2-3"),
        (LINE, LINE.replace("16 inHg", "0 inHg").replace("65", "45"), "pressure rises as vacuum falls"),
        (LINE, LINE.replace("1000", "2000").replace("65", "45"), "line pressure does not fall as revs rise"),
        (
            "what: governor, road_speed: 20 mph, reads: 30 psi",
            "what: governor, road_speed: 40 mph, reads: 20 psi",
            "governor pressure rises with road speed",
        ),
    ],
)
def test_rows_that_contradict_each_other(first: str, second: str, said: str) -> None:
    """Two rows that no box can show together are named, the later one with its line."""
    for rows in ((first, second), (second, first)):
        found = faults(*rows)
        assert len(found) == 1
        assert said in found[0]
        assert found[0].startswith("line 9: readings.rows.2: row ")
        assert "row 1" in found[0]
        assert "row 2" in found[0]


def test_rows_that_may_differ() -> None:
    """Neighbouring rows may overlap within their rounding, and other axles shift at other speeds."""
    box_of(UP, UP.replace("16 inHg", "15 inHg"), UP.replace("18 mph", "17 mph, axle_ratio: 3.3"))


def test_road_speeds_need_axle_and_tyre() -> None:
    """Without axle and tyre a road speed says nothing of the box; pressures standing need neither."""
    assert box_of(LINE, car="").table is not None
    found = faults(UP, car="")
    assert len(found) == 2
    assert "readings.car.axle_ratio" in found[1]
    assert "readings.car.tyre_radius" in found[0]


def test_every_fault_comes_at_once() -> None:
    """Faults in several rows are reported together, in file order."""
    found = faults(LINE.replace("65 psi", "65 mph"), LINE, UP.replace("2-3", "3-2"))
    assert [said.split(":")[0] for said in found] == ["line 8", "line 10"]
    found = faults(
        LINE.replace("range", "rnge"), LINE, UP.replace("shift", "shft", 1).replace("16 inHg", "16")
    )
    assert [said.split(":")[0] for said in found] == ["line 8", "line 10", "line 10"]


FOUR = HEAD.replace("three-speed-vacuum", "four-speed-linkage")
TV = "what: throttle-signal, throttle: medium, reads: 30 psi"
TOP = "what: upshift, shift: 3-4, throttle: closed, reads: 22 mph"
G2 = "what: governor, signal: second, road_speed: 30 mph, reads: 15 psi"


def four(*rows: str) -> Box:
    """A four-speed with these rows, the first of them on line 8."""
    listed = "".join(f"    - {{{row}}}\n" for row in rows)
    return box_from_bytes(f"{FOUR}{CAR}  rows:\n{listed}".encode())


def test_rows_of_a_four_speed() -> None:
    """Throttle pressure by the pedal, both governor signals and four gears; the shipped table is invented."""
    table = four(TV, TOP, G2, 'what: line, range: third, gear: "3", reads: 60-85 psi').table
    assert table is not None
    assert [row.throttle for row in table.rows] == ["medium", "closed", None, None]
    assert table.rows[2].name == "row 3: governor second signal 30 mph, 15 psi"
    box = load_box("four-speed-by-readings")
    assert "describes no real unit" in box.note
    assert {given.origin for given in box.figures.values()} == {"family"}


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ((TV.replace("medium", "half"),), "must be 'closed', 'light', 'medium' or 'full'"),
        ((TV.replace(", throttle: medium", ""),), "must name `throttle`"),
        ((TOP + ", vacuum: 10 inHg",), "`vacuum` says nothing about upshift on a four-speed: leave it out"),
        ((G2.replace("signal: second, ", ""),), "a row for governor must name `signal`"),
        (("what: line, range: second, reads: 80 psi",), "no four-speed-linkage has the range 'second'"),
        ((TOP, TOP.replace("3-4", "2-3").replace("22", "30")), "2-3 comes before 3-4"),
        ((TOP, "what: coast-down, shift: 4-3, reads: 28 mph"), "a downshift lies below its upshift"),
        ((TV, TV.replace("medium", "full").replace("30", "20")), "pressure rises with the throttle"),
        (
            (G2, G2.replace("30 mph, reads: 15", "50 mph, reads: 5")),
            "governor pressure rises with road speed",
        ),
    ],
)
def test_rows_refused_on_a_four_speed(rows: tuple[str, ...], said: str) -> None:
    """What its linkage does not have, what is missing, and rows that contradict each other."""
    with pytest.raises(BoxFileError) as caught:
        four(*rows)
    assert len(caught.value.problems) == 1
    assert said in caught.value.problems[0]


@pytest.mark.parametrize("word", ["throttle: closed", "signal: first", "shift: 3-4"])
def test_words_of_a_four_speed_mean_nothing_on_a_three_speed(word: str) -> None:
    """A pedal that is shut, a second governor signal and a fourth gear."""
    key = word.split(":")[0]
    row = (
        UP.replace("shift: 2-3", word) if key == "shift" else f"{UP.replace('vacuum: 16 inHg, ', '')}, {word}"
    )
    assert any(f"readings.rows.1.{key}" in said for said in faults(row))
