"""Every command of the readme works, one after the other, in a shop that has what they name."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from bellhousing.tasks.demo import open_demo
from tests.docs.pages import blocks
from tests.docs.running import Reader, settle

README = Path(__file__).resolve().parents[2] / "README.md"
COMMAND = re.compile(r"^    (\.venv/bin/bellhousing (?:.*\\\n)*.*)$", re.MULTILINE)
JOB = 12


def surroundings(reader: Reader) -> None:
    """The shop, job 12, the drives and the files that the readme takes for granted."""
    reader.patch.setenv("BELLHOUSING_SHOP", "shop")
    open_demo(Path("shop"), cache=reader.cache).close()
    for _ in range(JOB - 3):
        _done(reader, 'job open --car "grey saloon" --complaint "Not what it was."')
    _done(reader, f'note {JOB} "2-3 at 21 mph light throttle"')
    _done(reader, "road drive --box A --manoeuvre light-pull -o pull.csv")
    log = Path("pull.csv").read_text(encoding="utf-8")
    Path("drive.csv").write_text(log.replace("speed_mph", "GPS v", 1), encoding="utf-8")
    Path("after.csv").write_text(log, encoding="utf-8")
    Path("before.yaml").write_text("box: A\nfindings: [2-3 at 60 mph light throttle]\n", encoding="utf-8")
    fit = _done(reader, f"fit {JOB} --date 2025-06-01 --json")
    Path("fit-2025.json").write_text(fit, encoding="utf-8")


def _done(reader: Reader, typed: str) -> str:
    status, told = reader.type(f"bellhousing {typed}")
    assert status == 0, f"{typed}\n{told}"
    return told


def test_every_command_of_the_readme_works(
    tmp_path: Path, prepared_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the readme's order, with its files, in a shop of twelve jobs."""
    reader = settle(tmp_path, prepared_folder, monkeypatch)
    surroundings(reader)
    for block in blocks(README):
        block.write_into(tmp_path)
    typed = COMMAND.findall(README.read_text(encoding="utf-8"))
    assert len(typed) > 35
    wrong = []
    for command in typed:
        if " --help" in command:
            continue
        status, told = reader.type(command)
        if status != 0:
            wrong.append(f"{command}\nleaves {status}:\n{told[-600:]}")
    assert not wrong, "\n\n".join(wrong)
