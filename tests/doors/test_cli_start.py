"""Starting: help at once, the module form, digits or a file, and the web app's address."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from bellhousing.cli import main as cli
from bellhousing.cli import web_door
from bellhousing.cli.doors import job_number
from bellhousing.errors import BellhousingError

COMMANDS = ("demo", "serve", "car", "job", "note", "causes", "next", "plan", "shift-map")


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    """And says what digits mean."""
    assert cli.run(["--help"]) == 0
    said = capsys.readouterr().out
    for name in COMMANDS:
        assert f"\n  {name} " in said


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Each has help, and each that answers takes --json."""
    assert cli.run([name, "--help"]) == 0
    said = capsys.readouterr().out
    assert "Usage" in said
    if name not in ("car", "job"):
        assert "--json" in said


def test_help_takes_less_than_three_tenths_of_a_second() -> None:
    """Best of three processes, by the processor time they used, so that a busy machine changes nothing."""
    times = []
    for _ in range(3):
        before = processor_time()
        subprocess.run([sys.executable, "-m", "bellhousing", "--help"], check=True, capture_output=True)
        times.append(processor_time() - before)
    assert min(times) < 0.3


def processor_time() -> float:
    """Seconds of processor time used by the processes this one has started and waited for."""
    used = os.times()
    return used.children_user + used.children_system


def test_the_module_form_refuses_like_the_command(tmp_path: Path) -> None:
    """`python -m bellhousing` leaves with the same status and line."""
    done = subprocess.run(
        [sys.executable, "-m", "bellhousing", "causes", str(tmp_path / "missing.yaml")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert done.stdout == ""
    assert "no such file" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("text", "number"),
    [("12", 12), ("0012", 12), ("12.yaml", None), ("-1", None), ("", None), ("١٢", None), ("1" * 20, None)],
)
def test_digits_only_are_a_job_anything_else_a_file(text: str, number: int | None) -> None:
    """As the contract of the commands says."""
    assert job_number(text) == number


def test_a_port_in_use_is_refused_or_another_taken() -> None:
    """`serve` refuses, `demo` takes a free one."""
    first = web_door.listen(0, or_any=False)
    first.listen(1)
    port = first.getsockname()[1]
    try:
        with pytest.raises(BellhousingError, match=str(port)):
            web_door.listen(port, or_any=False)
        second = web_door.listen(port, or_any=True)
        assert second.getsockname()[1] != port
        assert second.getsockname()[0] == "127.0.0.1"
        second.close()
    finally:
        first.close()


def test_the_demo_prints_its_address_and_answers_there(prepared_folder: Path) -> None:
    """A free port, an invented shop, and a page with it."""
    environment = {**os.environ, "BELLHOUSING_CACHE": str(prepared_folder)}
    process = subprocess.Popen(
        [sys.executable, "-m", "bellhousing", "demo", "--port", "0", "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        told = json.loads(line)
        assert told["address"].startswith("http://127.0.0.1:")
        with urllib.request.urlopen(told["address"], timeout=600) as page:
            assert page.status == 200
            assert "saloon" in page.read().decode().lower()
    finally:
        process.terminate()
        process.communicate(timeout=600)
    assert not Path(told["shop"]).exists()
