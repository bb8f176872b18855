"""The JSON that `bellhousing causes FILE --json` gives: the keys others build on are never renamed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from bellhousing.cli import main as cli

FINDINGS = """\
box: A                       # a shipped box or family, or a path
car: {axle_ratio: 3.08, tyre_radius: 0.345 m, altitude: 0 ft}
findings:
  - blue smoke when pulling away after idling
  - 2-3 at 64 mph light throttle
  - manifold vacuum 450 mmHg
  - the left door speaker crackles
"""


@pytest.fixture(scope="module")
def answer(tmp_path_factory: pytest.TempPathFactory, prepared_folder: Path) -> Any:
    """The answer to one findings file, as another program reads it."""
    import contextlib
    import io

    folder = tmp_path_factory.mktemp("contract")
    path = folder / "findings.yaml"
    path.write_text(FINDINGS, encoding="utf-8")
    printed = io.StringIO()
    with pytest.MonkeyPatch.context() as patched, contextlib.redirect_stdout(printed):
        patched.setenv("BELLHOUSING_CACHE", str(prepared_folder))
        patched.setenv("BELLHOUSING_SHOP", str(folder / "never-made"))
        # One sentence is not understood: the answer comes whole, the exit status says so.
        assert cli.run(["causes", str(path), "--json"]) == 1
    assert not (folder / "never-made").exists()
    return json.loads(printed.getvalue())


def test_the_keys_of_the_answer(answer: Any) -> None:
    """All of them, and more may stand beside them."""
    assert set(answer) >= {"findings", "causes", "next", "forbidden", "not_looked_at", "conflict"}
    for name, keys in {
        "findings": {"said", "finding", "value", "unit", "understood"},
        "causes": {"cause", "name", "probability", "error"},
        "next": {"finding", "ask", "minutes", "bits", "bits_per_minute"},
        "forbidden": {"ask", "why"},
    }.items():
        assert answer[name], name
        for entry in answer[name]:
            assert set(entry) >= keys, name


def test_findings_come_back_as_said_in_the_unit_as_entered(answer: Any) -> None:
    """Sentence verbatim, figure and unit as typed, a note without a finding."""
    by_said = {entry["said"]: entry for entry in answer["findings"]}
    shift = by_said["2-3 at 64 mph light throttle"]
    assert (shift["finding"], shift["value"], shift["unit"]) == ("upshift-23-light", 64.0, "mph")
    vacuum = by_said["manifold vacuum 450 mmHg"]
    assert (vacuum["finding"], vacuum["value"], vacuum["unit"]) == ("manifold-vacuum-idle", 450.0, "mmHg")
    smoke = by_said["blue smoke when pulling away after idling"]
    assert (smoke["finding"], smoke["value"], smoke["unit"]) == ("blue-smoke", "puff", None)
    assert smoke["understood"]
    note = by_said["the left door speaker crackles"]
    assert (note["finding"], note["value"], note["understood"]) == (None, None, None)


def test_causes_are_marginals_most_probable_first_with_sound_among_them(answer: Any) -> None:
    """Ids are slugs in trade words."""
    probabilities = [entry["probability"] for entry in answer["causes"]]
    assert probabilities == sorted(probabilities, reverse=True)
    assert all(0.0 <= value <= 1.0 for value in probabilities)
    assert all(entry["error"] >= 0.0 for entry in answer["causes"])
    names = [entry["cause"] for entry in answer["causes"]]
    assert "sound" in names
    assert len(set(names)) == len(names) > 90
    assert all(name == name.lower() and " " not in name for name in names)


def test_next_tests_are_in_order_and_never_forbidden(answer: Any) -> None:
    """Information per minute is information over minutes."""
    for entry in answer["next"]:
        assert entry["minutes"] > 0.0
        assert entry["bits"] >= 0.0
        assert entry["bits_per_minute"] == pytest.approx(entry["bits"] / entry["minutes"])
    asked = {entry["finding"] for entry in answer["next"]}
    assert asked.isdisjoint(entry["finding"] for entry in answer["forbidden"])
    assert asked.isdisjoint(entry["finding"] for entry in answer["findings"])


def test_the_same_file_gives_the_same_bytes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Worked out afresh and from the cache."""
    monkeypatch.setenv("BELLHOUSING_CACHE", str(tmp_path / "cache"))
    path = tmp_path / "findings.yaml"
    path.write_text(FINDINGS, encoding="utf-8")
    said = []
    for _ in range(2):
        cli.run(["causes", str(path), "--json"])
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]
