"""Bad input at the command line: one clear line, a non-zero status, nothing lost, never a traceback."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bellhousing.cli import main as cli

VARIABLES = ("BELLHOUSING_SHOP", "BELLHOUSING_DEBUG")


@pytest.fixture(autouse=True)
def _own_folders(tmp_path: Path, prepared_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in VARIABLES:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("BELLHOUSING_SHOP", str(tmp_path / "shop"))
    monkeypatch.setenv("BELLHOUSING_CACHE", str(prepared_folder))


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The one line a refused command says."""
    status = cli.run(arguments)
    said = capsys.readouterr()
    assert status not in (0, 70)
    assert said.out == ""
    assert "Traceback" not in said.err
    assert said.err.strip()
    return said.err.strip()


def written(tmp_path: Path, text: str) -> str:
    """A findings file with this text."""
    path = tmp_path / "findings.yaml"
    path.write_text(text, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("box: Z\nfindings: [blue smoke when pulling away]\n", "Z"),
        ("boxx: A\nfindings: [blue smoke when pulling away]\n", "did you mean 'box'"),
        ("box: A\nfindings: [manifold vacuum 40 inHg]\n", "line 2"),
        ("box: A\nfindings:\n- no smoke\n- line pressure idle D -3 psi\n", "line 4"),
        ("box: A\nfindings: [the left door speaker crackles]\n", "understood"),
    ],
)
@pytest.mark.parametrize("command", ["causes", "next"])
def test_a_bad_findings_file_is_answered_with_one_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, command: str, text: str, said: str
) -> None:
    """Naming the file or what is wrong in it."""
    line = refused(capsys, command, written(tmp_path, text))
    assert said in line
    assert "\n" not in line


def test_a_malformed_box_file_is_answered_line_by_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The message names the box file."""
    box = tmp_path / "own.yaml"
    box.write_text("schema: 1\nname: Own\npumpp: {}\n")
    findings = written(tmp_path, "box: own.yaml\nfindings: [blue smoke when pulling away]\n")
    assert "own.yaml" in refused(capsys, "causes", findings)


OWN_BOX = """\
schema: 1
name: Own
slug: own
family: three-speed-vacuum
lacks: [low-reverse-band]
"""


def test_a_part_this_box_does_not_have_is_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Engine braking in low range needs the low-reverse band, which this box lacks."""
    (tmp_path / "own.yaml").write_text(OWN_BOX, encoding="utf-8")
    findings = written(tmp_path, "box: own.yaml\nfindings: [no engine braking in low range]\n")
    line = refused(capsys, "causes", findings)
    assert "Own has no low reverse band" in line
    assert "line 2" in line


@pytest.mark.parametrize(
    ("box", "said", "reason"),
    [
        ("A", "slips in fourth", "is nothing that Box A (invented) has"),
        ("B", "no vacuum at the modulator", "is nothing that Box B (invented) has"),
        ("A", "line pressure idle D 62 mph", "mph measures speed, not pressure"),
        ("A", "line pressure idle D 1e9 psi", "1000000000 psi is impossible here"),
    ],
)
def test_a_finding_that_cannot_be_says_why(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, box: str, said: str, reason: str
) -> None:
    """A gear or a part of the other kind of box, a unit of something else, a figure with an exponent."""
    line = refused(capsys, "causes", written(tmp_path, f"box: {box}\nfindings: [{said}]\n"))
    assert reason in line


def test_what_another_kind_of_box_has_is_kept_beside_the_rest(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The rest of the file is answered, the note says why it does not count, and the status is 1."""
    findings = written(tmp_path, "box: A\nfindings: [slips in fourth, no reverse]\n")
    assert cli.run(["causes", findings]) == 1
    shown = capsys.readouterr()
    assert "Slip in fourth" in shown.out
    assert "Ranges that do not drive: no reverse" in shown.out
    assert "slips in fourth" in shown.err


@pytest.mark.parametrize("command", ["causes", "next", "shift-map"])
def test_no_name_is_not_taken_for_a_folder(capsys: pytest.CaptureFixture[str], command: str) -> None:
    """An empty name, as a script sends where a variable is not set."""
    for name in ("", "  "):
        line = refused(capsys, command, name)
        assert "neither a job nor a file is named: give the number of a job" in line


def test_a_shop_that_is_a_file_is_told_so(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Not "cannot be made: File exists"."""
    path = tmp_path / "records.sqlite"
    path.write_text("a diary")
    line = refused(capsys, "job", "list", "--shop", str(path))
    assert "kept in a folder, and this is a file" in line
    assert "--shop" in line
    assert path.read_text() == "a diary"


@pytest.mark.parametrize(
    "arguments",
    [
        ("causes", "99"),
        ("next", "99"),
        ("shift-map", "99"),
        ("note", "99", "blue smoke when pulling away"),
        ("job", "show", "99"),
        ("job", "open", "--car", "none", "--complaint", "late"),
        ("job", "close", "99"),
        ("car", "add", ""),
        ("car", "add", "grey saloon", "--axle-ratio", "99"),
        ("car", "add", "grey saloon", "--box", "Z"),
        ("causes", "missing.yaml"),
        ("causes", "."),
        ("causes", ""),
        ("causes",),
        ("note",),
        ("note", "0", "x"),
        ("note", "twelve", "x"),
        ("cuases", "1"),
        ("causes", "1", "--no-such-option"),
    ],
)
@pytest.mark.parametrize("as_json", [False, True])
def test_every_refusal_has_one_shape(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], as_json: bool
) -> None:
    """One line on the error channel, or one object with --json."""
    if not as_json:
        assert "\n" not in refused(capsys, *arguments)
        return
    status = cli.run([*arguments, "--json"])
    said = capsys.readouterr()
    assert status not in (0, 70)
    assert said.err == ""
    error = json.loads(said.out)["error"]
    assert set(error) == {"what", "where", "remedy"}
    assert error["what"]


def test_a_shop_that_is_no_shop_is_left_alone(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file with other content is not written to."""
    folder = tmp_path / "other"
    folder.mkdir()
    (folder / "records.sqlite").write_text("a diary")
    refused(capsys, "job", "list", "--shop", str(folder))
    assert (folder / "records.sqlite").read_text() == "a diary"


def test_a_folder_that_cannot_be_looked_at_is_told_so(capsys: pytest.CaptureFixture[str]) -> None:
    """A name longer than any folder can have: refused by name, cut short."""
    line = refused(capsys, "job", "list", "--shop", "/tmp/" + "a" * 5000)
    assert "the shop's folder cannot be made" in line
    assert len(line) < 400


def test_a_mishap_inside_shows_no_traceback(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Unless it is asked for."""
    from bellhousing.tasks import opening

    def broken(shop: object) -> None:
        raise ZeroDivisionError("broken on purpose")

    monkeypatch.setattr(opening, "jobs", broken)
    assert cli.run(["job", "list"]) == 70
    said = capsys.readouterr()
    assert "broken on purpose" in said.err
    assert "Traceback" not in said.err
    monkeypatch.setenv("BELLHOUSING_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        cli.run(["job", "list"])
