"""The page of published checks, its count, and a small sample of broken code that the checks notice."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.truth.breaking import scaled
from tests.truth.checks import Check
from tests.truth.figures import Compared, noted
from tests.truth.mutate import copy_package, found_at
from tests.truth.quantities import quantities

FRICTION = "tests/published/test_friction_published.py"
SAMPLE = (
    Check("", "", "", "friction.engagement.temperature_rise", None, f"{FRICTION}::test_motor_and_rotor"),
    Check(
        "", "", "", "geartrain.solve.solve:speeds", None,
        "tests/published/test_geartrain_published.py::test_paradox_train",
    ),
    Check(
        "", "", "", "fits.threads.Thread.stress_area", None,
        "tests/published/test_fasteners_published.py::test_stress_areas",
    ),
)  # fmt: skip


def test_the_page_tells_the_number_of_checks_there_are(repository: Path) -> None:
    """The page in the docs was written after the last check was added, and there are enough of them."""
    command = [sys.executable, "-m", "tests.truth.page", "--count"]
    said = subprocess.run(command, cwd=repository, capture_output=True, text=True, check=True).stdout
    assert said.strip().removesuffix(" printed sources") in (repository / "docs" / "truth.md").read_text(
        "utf-8"
    )
    checks, sources = (int(number) for number in re.findall(r"\d+", said))
    assert checks >= 120
    assert sources >= 40


def test_broken_code_is_noticed(tmp_path: Path) -> None:
    """A hundredth too much fails the check of that code, and leaves one alone that does not use it."""
    copy_package(tmp_path, [check.code for check in SAMPLE])
    assert found_at(tmp_path, [SAMPLE[0]], (1.01,)) is None
    assert [found_at(tmp_path, [check]) for check in SAMPLE[1:]] == [1.01, 1.01]


def test_what_is_multiplied() -> None:
    """Numbers, arrays, sequences, mappings, and one field of a record."""
    assert scaled(2.0, 1.5) == 3.0
    assert scaled((2.0, [4.0]), 1.5) == (3.0, [6.0])
    assert scaled({"a": 2.0}, 1.5) == {"a": 3.0}
    assert scaled(np.array([2.0, 4.0]), 1.5).tolist() == [3.0, 6.0]
    assert scaled(Compared((2.0,), (4.0,), (0.0,)), 1.5, "ours") == Compared((3.0,), (4.0,), (0.0,))
    assert scaled((True, 4, None, "psi"), 1.5) == (False, 5, None, "psi")
    assert scaled(np.array([True, False]), 1.5).tolist() == [False, True]
    assert scaled((2.0, Compared((2.0,), (4.0,), (0.0,))), 1.5, "1.ours")[0] == 2.0
    assert scaled((2.0, Compared((2.0,), (4.0,), (0.0,))), 1.5, "1.ours")[1].ours == (3.0,)
    assert list(scaled(iter([2.0, 4.0]), 1.5)) == [3.0, 6.0]
    with pytest.raises(SystemExit, match="which field"):
        scaled(Compared((2.0,), (4.0,), (0.0,)), 1.5)


def test_what_gives_no_figure_is_no_quantity(tmp_path: Path) -> None:
    """Of functions that all have a unit in their description, those that give back a figure are listed."""
    folder = tmp_path / "src" / "bellhousing" / "hydraulics"
    folder.mkdir(parents=True)
    given = {"lift": "float", "both": "tuple[float, float]", "check": "None", "opens": "bool", "said": "str"}
    text = [
        f'def {name}(force: float) -> {kind}:\n    """At a force [N]."""\n' for name, kind in given.items()
    ]
    (folder / "valve.py").write_text("\n".join(text), encoding="utf-8")
    listed = [one.code for one in quantities(tmp_path)]
    assert listed == ["hydraulics.valve.lift", "hydraulics.valve.both"]


def test_a_noted_comparison_decides_as_before() -> None:
    """Scalars and sequences are equal or not as without the note, and the note holds all three figures."""
    kept: list[Compared] = []
    approx = noted(pytest.approx, kept.append)
    assert approx(2.0, abs=0.1) == 2.05
    assert np.array([1.0, 2.0]) == approx([1.0, 2.05], abs=0.1)
    assert approx(2.0, abs=0.1) != 2.2
    assert kept[0] == Compared((2.05,), (2.0,), (0.1,))
    assert kept[1].printed == (1.0, 2.05)
