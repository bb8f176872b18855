"""What is installed is named, hashed and comes from nowhere in particular."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

LOCKS = ("requirements.lock", "requirements-dev.lock")


def canonical(requirement: str) -> str:
    """A requirement's package name as the lock files spell it."""
    found = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert found is not None
    return re.sub(r"[._-]+", "-", found[0]).lower()


def locked(path: Path) -> dict[str, set[str]]:
    """Each package of a lock file with its versions (one for each range of Python)."""
    versions: dict[str, set[str]] = {}
    for name, version in re.findall(r"^([a-z0-9-]+)==(\S+)", path.read_text(encoding="utf-8"), re.MULTILINE):
        versions.setdefault(name, set()).add(version)
    return versions


@pytest.mark.parametrize("name", LOCKS)
def test_every_locked_package_has_a_hash_and_no_address(repository: Path, name: str) -> None:
    """A lock names packages, versions and hashes, never a place to fetch them from."""
    text = (repository / name).read_text(encoding="utf-8")
    assert re.search(r"://|^\s*-[fi]\b|--find-links|index-url", text, re.MULTILINE) is None
    entries = re.split(r"^(?=[a-z0-9])", text, flags=re.MULTILINE)
    assert [entry.split()[0] for entry in entries if entry.strip() and "--hash=sha256:" not in entry] == []


def test_every_requirement_is_locked(repository: Path) -> None:
    """Nothing in pyproject.toml is missing from the lock that serves it."""
    project = tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = {canonical(text) for text in project["dependencies"]}
    assert needed - set(locked(repository / LOCKS[0])) == set()
    developed = {canonical(text) for text in project["optional-dependencies"]["dev"]}
    assert (needed | developed) - set(locked(repository / LOCKS[1])) == set()


def test_the_two_locks_agree(repository: Path) -> None:
    """What is tested is what runs: both locks hold the same versions."""
    running, developing = (locked(repository / name) for name in LOCKS)
    assert running == {name: developing.get(name) for name in running}


def test_the_changelog_names_this_version(repository: Path) -> None:
    """The version of the package stands at the top of the changelog."""
    project = tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    headings = re.findall(
        r"^## (\S+)", (repository / "CHANGELOG.md").read_text(encoding="utf-8"), re.MULTILINE
    )
    assert headings[0] == project["version"]
