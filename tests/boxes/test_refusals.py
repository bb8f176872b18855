"""What is wrong in a box file is refused with its line, all of it at once."""

from __future__ import annotations

import pytest

from bellhousing.boxes.load import LARGEST, box_from_bytes
from bellhousing.errors import BoxFileError

HEAD = "schema: 1\nname: n\nslug: n\nfamily: three-speed-vacuum\n"


def faults(text: str) -> tuple[str, ...]:
    """Return the faults found below a sound head, whose last line is 4."""
    with pytest.raises(BoxFileError) as caught:
        box_from_bytes((HEAD + text).encode())
    return caught.value.problems


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "pump: {displacment: 22 cm3/rev}",
            "line 5: pump.displacment: unknown key: did you mean `displacement`?",
        ),
        ("govenor: {}", "line 5: govenor: unknown key: did you mean `governor`?"),
        ("pump:\n  leakage: 1 cm3/s/psi\n  leakage: 2 cm3/s/psi", "line 7: `leakage` is written twice"),
        ("pump:\n  leakage: -1 cm3/s/psi", "line 6: pump.leakage: -1"),
        ("regulator: {spring_pressure: -5 psi}", "impossible here"),
        ("governor: {primary_mass: 78 psi}", "'psi' is a unit of pressure, but this is a mass"),
        ("governor: {primary_mass: 78}", "has no unit: write it as '78 g'"),
        ("governor: {primary_mass: heavy}", "no figure at the beginning"),
        ("governor: {primary_mass: {value: 78 g, scater: 2 %}}", "did you mean `scatter`?"),
        ("governor: {primary_mass: {value: 78 g, scatter: 2 mm}}", "'mm' is a unit of length"),
        ("governor: {primary_mass: {value: 78 g, scatter: -2 %}}", "governor.primary_mass.scatter"),
        ("governor: {primary_mass: [78 g]}", "not a list"),
        ("governor: {primary_mass: {value: {a: b}}}", "`value` must be plain text"),
        ("governor: 12", "line 5: governor: a group of keys is expected here"),
        ("forward_clutch: {plates: 5.5}", "must be a whole number"),
        ("forward_clutch: {friction_coefficient: 1.35}", "impossible here"),
        ("engine: {idle_vacuum: 40 inHg}", "impossible here"),
        ("fluid: {viscosity_40: 7 cSt, viscosity_100: 30 cSt}", "fluid is thinner at 100"),
        ("direct_clutch: {inner_radius: 80 mm, outer_radius: 60 mm}", "the inner radius is the smaller"),
        ("shift_valves: {second_third: {offset: 9 psi, downshift_offset: 12 psi}}", "drops back at a lower"),
        ("lacks: [overun-band]", "line 5: lacks.1: unknown part: did you mean `overrun-band`?"),
        ("lacks: [overrun-band]\noverrun_band: {wrap: 330 deg}", "line 6: overrun_band.wrap: `lacks` says"),
        ("windows: {line-idle-drive: 75-60 psi}", "does not run from low to high"),
        ("windows: {line-idle-drive: high}", "windows.line-idle-drive"),
        ("windows: {Line Idle: 60-75 psi}", "lower-case words joined by hyphens"),
        ("ratios: {first: 1.4, second: 2.4}", "first is the lowest gear"),
    ],
)
def test_fault_with_its_line(text: str, said: str) -> None:
    """One fault is one sentence that names line, key and what would be right."""
    found = faults(text)
    assert len(found) == 1
    assert said in found[0]
    assert found[0].startswith("line ")


def test_every_fault_is_reported_at_once() -> None:
    """Wrong keys, wrong units, contradictions and gear-train slips come in one answer, in file order."""
    found = faults(
        "pump: {displacment: 22 cm3/rev}\n"
        "governor: {primary_mass: 78 psi, radius: 28}\n"
        "fluid: {viscosity_40: 7 cSt, viscosity_100: 30 cSt}\n"
        "windows: {line-idle-drive: 75-60 psi}\n"
        "gear_train:\n  input: a\n  output: b\n  members: [a, b]\n"
        "  sets: [{name: s, sun: a, ring: b, carrier: c}]\n"
        "  elements: [{name: k, kind: brake, holds: a}]\n  ranges: {}\n"
    )
    lines = [int(said.split(":")[0].removeprefix("line ")) for said in found]
    assert lines == sorted(lines)
    assert set(lines) == {5, 6, 7, 8, 13}
    assert len(found) == 6


def test_missing_head() -> None:
    """A file without schema, name or slug says which are missing."""
    with pytest.raises(BoxFileError) as caught:
        box_from_bytes(b"pump: {}\n")
    assert [said.partition("`")[2].partition("`")[0] for said in caught.value.problems] == [
        "schema",
        "name",
        "slug",
    ]


def test_another_schema_version() -> None:
    """A file of a later schema is refused as such."""
    with pytest.raises(BoxFileError, match="this program reads schema 1"):
        box_from_bytes(HEAD.replace("schema: 1", "schema: 2").encode())


@pytest.mark.parametrize(
    ("typed", "near"), [("three-speed", "three-speed-vacuum"), ("four-speed", "four-speed-linkage")]
)
def test_unknown_family(typed: str, near: str) -> None:
    """A family nobody ships is refused with the nearest."""
    with pytest.raises(BoxFileError, match=f"known is `{near}`"):
        box_from_bytes(HEAD.replace("three-speed-vacuum", typed).encode())


@pytest.mark.parametrize(
    ("family", "typed"),
    [
        ("three-speed-vacuum", "throttle_valve: {full_pressure: 70 psi}"),
        ("three-speed-vacuum", "shift_valves: {third_fourth: {offset: 33 psi}}"),
        ("four-speed-linkage", "modulator: {spring_force: 115 N}"),
        ("four-speed-linkage", "governor: {primary_stop: 14 N}"),
    ],
)
def test_figures_of_another_kind_of_box(family: str, typed: str) -> None:
    """A figure that boxes of this kind do not have is refused with its line, not quietly kept."""
    with pytest.raises(BoxFileError, match=f"line 5.*kind {family} has no such figure"):
        box_from_bytes(f"schema: 1\nname: Trial\nslug: trial\nfamily: {family}\n{typed}\n".encode())


def test_printed_tables_are_for_the_three_speed_only() -> None:
    """A table in a four-speed's file is refused, since nothing could be fitted to it."""
    rows = "readings:\n  rows:\n    - {what: governor, road_speed: 30 mph, reads: 25 psi}\n"
    head = "schema: 1\nname: Trial\nslug: trial\nfamily: four-speed-linkage\n"
    with pytest.raises(BoxFileError, match="readings"):
        box_from_bytes((head + rows).encode())


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "the file is empty"),
        (b"# only a comment\n", "the file is empty"),
        (b"- a\n- b\n", "a box file is a list of keys"),
        (b"just words", "a box file is a list of keys"),
        (b"a: b: c", "line 1"),
        (b"a: [1\nb: 2", "not valid YAML.*line 2"),
        (b"\tq: 1", "not valid YAML"),
        (b"name: \xff\xfe", "not text in UTF-8.*line 1"),
        (b"name: \x00", "not valid YAML"),
        (b"a: &x [1]\nb: [*x, *x]", "anchors and aliases.*line 1"),
        (b"a: &x [1]", "anchors and aliases"),
        (b"<<: {a: 1}", "unknown key"),
        (b"a: !!python/object/apply:os.system ['true']", "tags"),
        (b"a: 1\n---\nb: 2", "one document"),
        (b"? [a, b]\n: 1", "a key must be a plain word"),
        (b"[" * 5000, "too deeply nested"),
        (b"a: " + b"{b: " * 5000, "too deeply nested"),
        (b"x: [" + b"1," * 30000 + b"1]", "too long"),
        (b"#\n" * LARGEST, "at most 256 kB"),
    ],
    ids=lambda value: repr(value[:20]) if isinstance(value, bytes) else "",
)
def test_what_is_not_a_box_file(content: bytes, said: str) -> None:
    """Anything that is not a box file is refused in words, without hanging or expanding."""
    with pytest.raises(BoxFileError, match=f"(?s){said}"):
        box_from_bytes(content)


def test_a_byte_order_mark_is_no_fault() -> None:
    """A file saved with a byte order mark reads like one without."""
    assert box_from_bytes(b"\xef\xbb\xbf" + HEAD.encode()).slug == "n"


def test_endless_faults_are_cut_short() -> None:
    """A file of nothing but faults is answered with the first hundred."""
    found = faults("".join(f"wrong{i}: 1\n" for i in range(300)))
    assert len(found) == 101
    assert found[-1] == "and 200 more"


def test_long_names_are_cut_in_messages() -> None:
    """A key of a thousand letters does not flood the answer."""
    (found,) = faults(f"{'k' * 900}: 1")
    assert len(found) < 600
