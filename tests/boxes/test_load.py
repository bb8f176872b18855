"""Finding a box by name, alias or path, and letting the family stand in."""

from __future__ import annotations

from pathlib import Path

import pytest

from bellhousing.boxes.load import box_from_bytes, load_box, shipped_boxes, shipped_text
from bellhousing.boxes.schema import specs
from bellhousing.errors import BoxFileError

MINE = b"""\
schema: 1
name: Grey saloon
slug: grey-saloon
family: three-speed-vacuum
source: workshop manual
lacks: [overrun-band]
windows: {line-idle-drive: 60-75 psi}
governor:
  primary_mass: {value: 80 g, scatter: 3 %, source: kitchen scales}
  radius: unknown
regulator:
  spring_pressure: 66 psi
"""


@pytest.mark.parametrize("name", ["A", "a", "box-a", "Box A", "BOX_A"])
def test_box_a_by_name_or_alias(name: str) -> None:
    """Box A answers to its name however it is spelt."""
    assert load_box(name).slug == "box-a"


@pytest.mark.parametrize("name", shipped_boxes())
def test_shipped_boxes_load_by_name(name: str) -> None:
    """Every shipped file loads under its own slug."""
    assert load_box(name).slug == name


def test_own_file_by_path(tmp_path: Path) -> None:
    """A mechanic's file loads from its path, as text or as a path."""
    file = tmp_path / "mine.yaml"
    file.write_bytes(MINE)
    assert load_box(file).name == load_box(str(file)).name == "Grey saloon"


def test_a_file_may_be_named_without_suffix(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A bare word is a file when no shipped box has that name and the file is there."""
    (tmp_path / "saloon").write_bytes(MINE)
    monkeypatch.chdir(tmp_path)
    assert load_box("saloon").slug == "grey-saloon"


def test_own_figure_with_line_source_and_scatter() -> None:
    """A typed figure keeps its line, its source and its scatter as one standard deviation in SI."""
    given = box_from_bytes(MINE).number("governor.primary_mass")
    assert given.value == pytest.approx(0.080)
    assert (given.unit, given.text) == ("g", "80 g")
    assert given.scatter == pytest.approx(0.03 * 0.080)
    assert (given.source, given.line, given.origin) == ("kitchen scales", 9, "box")


def test_a_figure_without_source_takes_the_files() -> None:
    """The file's own source stands for figures that name none."""
    assert box_from_bytes(MINE).number("regulator.spring_pressure").source == "workshop manual"


def test_family_stands_in_for_what_is_unknown() -> None:
    """An unknown figure is the family's, says so, names no line and is counted as unknown."""
    box = box_from_bytes(MINE)
    given = box.number("governor.radius")
    family = load_box("three-speed-vacuum").number("governor.radius")
    assert (given.value, given.scatter) == (family.value, family.scatter)
    assert (given.origin, given.line) == ("family", None)
    assert "governor.radius" in box.unknown
    assert "governor.primary_mass" not in box.unknown


def test_without_families_an_unknown_figure_is_refused_by_name() -> None:
    """With the family kept out, what the file lacks is refused only when asked for."""
    box = box_from_bytes(MINE, families=False)
    assert box.has("governor.primary_mass")
    with pytest.raises(BoxFileError, match=r"governor\.radius") as caught:
        box.number("governor.radius")
    assert "radius at which the weights swing" in str(caught.value)


def test_a_missing_part_has_no_figures() -> None:
    """The family never lends figures to a part the box lacks, and the refusal says so."""
    box = box_from_bytes(MINE)
    assert box.missing_parts == {"overrun-band", "second-band"}
    assert not any(key.startswith("overrun_band.") for key in (*box.figures, *box.unknown))
    with pytest.raises(BoxFileError, match="has no overrun band"):
        box.number("overrun_band.wrap")


def test_a_misspelt_key_is_answered_with_the_nearest() -> None:
    """Asking for a figure that no file has names the nearest one."""
    with pytest.raises(BoxFileError, match=r"governor\.primary_mass"):
        load_box("A").number("governor.primery_mass")


def test_windows_are_read_in_si() -> None:
    """A window typed from the manual is an interval in SI with its unit."""
    window = box_from_bytes(MINE).windows["line-idle-drive"]
    assert window.low == pytest.approx(60 * 6894.757)
    assert window.high == pytest.approx(75 * 6894.757)
    assert window.unit == "psi"


def test_digest_follows_the_content() -> None:
    """The digest changes with the file, and with whether the family stands in, and with nothing else."""
    once, again = box_from_bytes(MINE, where="x"), box_from_bytes(MINE, where="y")
    other = box_from_bytes(MINE.replace(b"80 g", b"81 g"))
    assert once.digest == again.digest
    assert len({once.digest, other.digest, box_from_bytes(MINE, families=False).digest}) == 3


def test_figures_and_gear_train_are_read_only() -> None:
    """Nobody can change a loaded box."""
    box = load_box("A")
    assert box.gear_train is not None
    with pytest.raises(TypeError):
        box.figures["governor.radius"] = box.number("governor.radius")  # type: ignore[index]
    with pytest.raises(TypeError):
        box.gear_train["input"] = "sun"  # type: ignore[index]


def test_unknown_counts_against_number_count() -> None:
    """A complete box leaves nothing unknown; a blank one and a mere kind of box everything."""
    assert load_box("A").unknown == ()
    blank, family = load_box("blank"), load_box("three-speed-vacuum")
    without = [key for key in specs("three-speed-vacuum") if not key.startswith("second_band.")]
    assert len(blank.unknown) == blank.number_count == len(without)
    assert len(family.unknown) == family.number_count


def test_what_it_cannot_do_names_what_is_lost() -> None:
    """A complete box loses only the manual's windows; a blank one is told what each gap costs."""
    assert load_box("A").what_it_cannot_do() == (
        "No limits typed from a manual: the windows shown are predicted ones.",
    )
    said = " ".join(box_from_bytes(MINE).what_it_cannot_do())
    assert "No tooth counts" in said
    assert "Not all of governor is known (secondary mass, radius" in said
    assert "overrun" not in said
    assert "Only the kind of box is known" in " ".join(load_box("three-speed-vacuum").what_it_cannot_do())


def test_typed_ratios_stand_for_tooth_counts() -> None:
    """Ratios from the manual are taken where teeth are not counted, and the box says what that loses."""
    box = box_from_bytes(MINE + b"ratios: {first: 2.48, second: '1,48'}\n")
    assert box.number("ratios.second").value == pytest.approx(1.48)
    assert box.what_it_cannot_do()[0].startswith("No tooth counts: ratios typed, no member speeds")


def test_known_to_nobody_is_said() -> None:
    """What neither file nor family has is listed."""
    said = " ".join(box_from_bytes(b"schema: 1\nname: n\nslug: n\n").what_it_cannot_do())
    assert "Known to neither file nor family: fluid.viscosity_40" in said


def test_blank_text_is_given_out_with_its_comments() -> None:
    """The blank can be handed to the mechanic as it is shipped."""
    assert shipped_text("blank").startswith("# A blank box file.")
    with pytest.raises(BoxFileError, match="no box"):
        shipped_text("box-z")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("box-c", "did you mean box-"),
        ("three speed vacum", "did you mean three-speed-vacuum"),
        ("", "no box and no file"),
        ("no/such/file.yaml", "no such file"),
        ("/", "folder"),
        ("/dev/null", "not a plain file"),
        ("nul\0byte/x", "cannot be read|no such file"),
        ("x" * 5000 + ".yaml", "cannot be read"),
    ],
)
def test_what_cannot_be_found_is_a_clear_error(name: str, said: str) -> None:
    """A wrong name or path is answered with what is wrong and what would be right."""
    with pytest.raises(BoxFileError, match=said):
        load_box(name)


def test_the_nearest_file_is_offered(tmp_path: Path) -> None:
    """A slip in a file name is answered with the file meant."""
    (tmp_path / "saloon.yaml").write_bytes(MINE)
    with pytest.raises(BoxFileError, match=r"did you mean .*saloon\.yaml"):
        load_box(tmp_path / "salon.yaml")
