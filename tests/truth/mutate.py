"""Breaks the code behind every check, one check at a time, and lists the checks that do not fail.

A check is a published one, or a piece of code that a test names as held by another program or another way.

The package is copied to a temporary folder; there the function a check names gives a hundredth too much
(then, if the check still passes, a twentieth and a tenth), and the check runs against the copy.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.truth.checks import Check
from tests.truth.collecting import collected

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("published", "quantities", "geartrain", "hydraulics", "friction", "fits", "road", "diagnosis")
"""Folders of tests whose marks name the code they hold."""
FACTORS = (1.01, 1.05, 1.1)
RESULTS = ROOT / "docs" / "truth-broken.json"
PASSED, FAILED = 0, 1


def copy_package(folder: Path, codes: Sequence[str]) -> None:
    """A copy of the package that can be broken at these places."""
    package = folder / "bellhousing"
    shutil.copytree(ROOT / "src" / "bellhousing", package, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(Path(__file__).with_name("breaking.py"), package / "breaking.py")
    for path in {module_of(package, code) for code in codes}:
        with path.open("a", encoding="utf-8") as file:
            file.write("\n\nfrom bellhousing.breaking import break_here\n\nbreak_here(globals())\n")


def module_of(package: Path, code: str) -> Path:
    """The file that holds a function. Raises LookupError when no module does."""
    parts = code.partition(":")[0].split(".")
    for length in range(len(parts) - 1, 0, -1):
        path = package.joinpath(*parts[:length]).with_suffix(".py")
        if path.is_file():
            return path
    raise LookupError(code)


def run(folder: Path, tests: Sequence[str], broken: Mapping[str, str]) -> int:
    """Exit code of these tests against the copy. Raises RuntimeError when they did not run at all."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider", *tests]
    environment = {**os.environ, **broken, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    if done.returncode not in (PASSED, FAILED):
        raise RuntimeError(f"{tests}: {done.stdout[-2000:]}{done.stderr[-2000:]}")
    return done.returncode


def found_at(folder: Path, checks: Sequence[Check], factors: Sequence[float] = FACTORS) -> float | None:
    """The smallest factor at which a check fails; None when it never does."""
    tests = [check.test for check in checks]
    for factor in factors:
        if run(folder, tests, {"BROKEN_CODE": checks[0].code, "BROKEN_BY": str(factor)}) == FAILED:
            return factor
    return None


def grouped(checks: Sequence[Check]) -> dict[tuple[str, str, str], list[Check]]:
    """Checks by quantity, source and place."""
    groups: dict[tuple[str, str, str], list[Check]] = {}
    for check in checks:
        groups.setdefault(check.key, []).append(check)
    return groups


def tried() -> dict[tuple[str, str, str], float | None]:
    """What was found before, by check."""
    rows = json.loads(RESULTS.read_text(encoding="utf-8")) if RESULTS.is_file() else []
    return {(quantity, source, place): factor for quantity, source, place, factor in rows}


def keep(found: Mapping[tuple[str, str, str], float | None], now: set[tuple[str, str, str]]) -> None:
    """Write what was found beside what was found before of checks there still are."""
    kept = {key: factor for key, factor in tried().items() if key in now} | dict(found)
    rows = [[*key, factor] for key, factor in kept.items()]
    RESULTS.write_text(json.dumps(rows, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def main() -> int:
    """Run them all, or those whose quantity, source, place or code holds a word; 1 when one does not fail.

    A place is that of the source or, of what is held another way, the test.

    What is found is kept in the docs, where the page of the checks tells it.
    """
    parser = argparse.ArgumentParser(prog="scripts/mutate-truth", description=__doc__)
    parser.add_argument("words", nargs="*", help="only checks that hold one of these words")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--untried", action="store_true", help="only checks that were never broken before")
    options = parser.parse_args()
    found = collected(ROOT, ROOMS)
    everything = grouped([*found.checks, *found.held])
    words = options.words or [""]
    before = tried() if options.untried else {}
    groups = {
        key: made
        for key, made in everything.items()
        if key not in before and any(word in f"{' '.join(key)} {made[0].code}" for word in words)
    }
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copy_package(folder, [made[0].code for made in groups.values()])
        if run(folder, [check.test for made in groups.values() for check in made], {}) == FAILED:
            print("The checks do not pass on the unbroken copy.")
            return 1
        with ThreadPoolExecutor(options.workers) as pool:
            results = list(pool.map(lambda made: found_at(folder, made), groups.values()))
    for (quantity, source, place), factor in zip(groups, results, strict=True):
        print(
            f"{'NOT FOUND' if factor is None else f'{factor:<9}'}  {quantity} | {source}, {place}", flush=True
        )
    survivors = results.count(None)
    print(f"{len(results)} broken, {len(results) - survivors} noticed, {survivors} not noticed")
    keep(dict(zip(groups, results, strict=True)), set(everything))
    return 1 if survivors else 0


if __name__ == "__main__":
    sys.exit(main())
