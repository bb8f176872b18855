"""Findings files: what is read from them, and what each malformed one is answered."""

from __future__ import annotations

from pathlib import Path

import pytest

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.tasks.findings_file import LARGEST_FILE, MOST_FINDINGS, parse_findings, read_findings_file

GOOD = """\
box: A                       # a shipped box or family, or a path
car: {axle_ratio: 3.08, tyre_radius: 0.345 m, altitude: 1000 ft}
findings:
  - blue smoke when pulling away after idling
  - 2-3 at 64 mph light throttle
"""


def test_a_findings_file_is_read_whole() -> None:
    """Box, car figures in SI, sentences as written and their lines."""
    read = parse_findings(GOOD)
    assert read.box == "A"
    assert read.car.axle_ratio == 3.08
    assert read.car.tyre_radius == pytest.approx(0.345)
    assert read.car.altitude == pytest.approx(304.8)
    assert read.said == ("blue smoke when pulling away after idling", "2-3 at 64 mph light throttle")
    assert read.lines == (4, 5)
    assert read.assumed == ()


def test_only_findings_are_needed() -> None:
    """Without box and car the family and the usual figures are taken, and said so."""
    read = parse_findings("findings:\n- no smoke\n")
    assert read.box == "three-speed-vacuum"
    assert len(read.assumed) == 3


def test_a_tyre_radius_in_inches_is_converted() -> None:
    """Any unit of length will do."""
    assert parse_findings(
        "car: {tyre_radius: 13.6 in}\nfindings: [no smoke]"
    ).car.tyre_radius == pytest.approx(0.34544)


def test_a_byte_order_mark_is_no_obstacle(tmp_path: Path) -> None:
    """Some editors write one."""
    path = tmp_path / "findings.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert read_findings_file(path).box == "A"


@pytest.mark.parametrize(
    ("text", "what", "line"),
    [
        ("", "empty", None),
        ("# only a comment\n", "empty", None),
        ("- a\n- b\n", "mapping", 1),
        ("just words", "mapping", 1),
        ("findings: [a]\nboxx: A\n", "boxx", 2),
        ("findings: [a]\ncar: {axel_ratio: 3}\n", "axel_ratio", 2),
        ("findings: [a]\ncar: 3.08\n", "car must be a mapping", 2),
        ("findings: [a]\ncar: {axle_ratio: -1}\n", "-1", 2),
        ("findings: [a]\ncar: {axle_ratio: true}\n", "figure", 2),
        ("findings: [a]\ncar: {axle_ratio: .inf}\n", "axle_ratio: inf is no figure", 2),
        ("findings: [a]\ncar: {axle_ratio: .nan}\n", "axle_ratio: nan is no figure", 2),
        ("findings: [a]\ncar: {axle_ratio: 12}\n", "axle_ratio: 12", 2),
        ("findings: [a]\ncar: {altitude: 90000 m}\n", "altitude: 90000 m", 2),
        ("findings: [a]\ncar: {altitude: high}\n", "altitude: ", 2),
        ("findings: [a]\ncar: {tyre_radius: 62 psi}\n", "tyre_radius: 'psi'", 2),
        ("findings: [a]\ncar: {tyre_radius: soon}\n", "tyre_radius: ", 2),
        ("findings: [a]\ncar:\n  axle_ratio: 3\n  tyre_radius: 34 m\n", "tyre_radius: 34 m", 4),
        ("box: [A]\nfindings: [a]\n", "box", 1),
        ("box: ''\nfindings: [a]\n", "box", 1),
        ("box: A\n", "no findings", None),
        ("box: A\nfindings: blue smoke\n", "list", 2),
        ("findings:\n  - blue smoke\n  - 64\n", "sentence", 3),
        ("findings:\n  - line pressure: 62 psi\n", "sentence", 2),
        ("findings:\n  - ok\n  - ''\n", "empty finding", 3),
        ("findings:\n  -\n", "sentence", 2),
        ("findings: [a]\nfindings: [b]\n", "twice", 2),
        ("findings: [a\n", "YAML", None),
        ("findings:\n\t- a\n", "YAML", 2),
        ("a: &x [1]\nfindings: *x\n", "aliases", 2),
        ("findings: !!python/object:os.system [a]\n", "tags", 1),
        ("findings: [a]\n---\nfindings: [b]\n", "YAML", None),
        ("findings: [a]\n\x00", "YAML", None),
        ("findings: " + "[" * 3000 + "]" * 3000, "", None),
        ("findings:\n" + "- a\n" * (MOST_FINDINGS + 1), "too many", 1),
        ("findings:\n- " + "a" * 3000, "too long", 2),
    ],
)
def test_malformed_text_is_refused_by_name(text: str, what: str, line: int | None) -> None:
    """Each names the file, the line where there is one, and what is wrong."""
    with pytest.raises(InputFileError) as caught:
        parse_findings(text, name="car.yaml")
    assert what in caught.value.what
    assert caught.value.where is not None
    assert caught.value.where.startswith("car.yaml")
    if line is not None:
        assert caught.value.where.endswith(f"line {line}")


@pytest.mark.parametrize("text", ["findings:\n", "findings: []\n", "findings: ~\n"])
def test_no_findings_yet_may_be_said_either_way(text: str) -> None:
    """Nothing after the key, an empty list and a null are one and the same."""
    assert parse_findings(text).said == ()


@pytest.mark.parametrize(("key", "right"), [("axle_ratio", "3.08"), ("tyre_radius", "m"), ("altitude", "ft")])
@pytest.mark.parametrize("figure", [".nan", "soon", "-9999", "[1]"])
def test_a_wrong_figure_of_a_car_is_answered_with_a_right_one(key: str, right: str, figure: str) -> None:
    """What would be right is a figure for that key, never one of another kind."""
    with pytest.raises(InputFileError, match=key) as caught:
        parse_findings(f"car: {{{key}: {figure}}}\nfindings: []\n")
    assert caught.value.remedy is not None
    assert "between" in caught.value.remedy
    assert right in caught.value.remedy
    assert "psi" not in caught.value.remedy


def test_an_unknown_key_is_answered_with_the_nearest() -> None:
    """The reader sees what was probably meant."""
    with pytest.raises(InputFileError, match="did you mean 'findings'"):
        parse_findings("finding: [a]")


@pytest.mark.parametrize("content", [b"\xff\xfe\x00b", b"\x80\x81", b"a" * (LARGEST_FILE + 1)])
def test_a_file_that_is_no_text_or_too_large_is_refused(tmp_path: Path, content: bytes) -> None:
    """Neither is read any further."""
    path = tmp_path / "findings.yaml"
    path.write_bytes(content)
    with pytest.raises(InputFileError):
        read_findings_file(path)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    """Both by name."""
    for path in (tmp_path / "missing.yaml", tmp_path, Path("nul\x00l")):
        with pytest.raises(BellhousingError):
            read_findings_file(path)


def test_lists_within_lists_are_refused_at_once() -> None:
    """Ten thousand brackets are answered by the first few, not after reading them all."""
    with pytest.raises(InputFileError, match="lists within lists too deep"):
        parse_findings("[" * 10_000)
