"""Results of single cars kept in files, so that a run of hours can be taken up again."""

from __future__ import annotations

import csv
import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path

from benchmarks.diagnosis.run import Chance, Options, Row

ROOT = Path(__file__).resolve().parents[2]
Result = tuple[list[Row], list[Chance]]


def state_of_the_code() -> str:
    """A digest of the package, its data and this benchmark: results of different states are never mixed."""
    digest = hashlib.sha256()
    for folder in (ROOT / "src", ROOT / "benchmarks" / "diagnosis"):
        for path in sorted(folder.rglob("*")):
            if path.suffix in {".py", ".yaml"}:
                digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def file_of(folder: Path, options: Options) -> Path:
    """Where the cars of one family, seed and kind of run are kept."""
    kind = "course" if options.curve else "every-look"
    box = "" if options.box is None else f"-{Path(options.box).stem}"
    return folder / f"{options.family}{box}-{options.seed}-{kind}-{options.false_alarms:g}.jsonl"


def kept(path: Path, state: str) -> dict[int, Result]:
    """Cars that an earlier run of the same code has left."""
    if not path.exists():
        return {}
    lines = path.read_text(encoding="utf-8").splitlines()
    if not lines or json.loads(lines[0]) != {"state": state}:
        path.unlink()
        return {}
    return dict(_read(lines[1:]))


def _read(lines: Sequence[str]) -> Iterator[tuple[int, Result]]:
    for text in lines:
        try:
            found = json.loads(text)
        except ValueError:  # a line cut short when the run was stopped
            continue
        rows = [Row(**row) for row in found["rows"]]
        yield found["car"], (rows, [Chance(*chance) for chance in found["chances"]])


def keep(path: Path, state: str, car: int, result: Result) -> None:
    """Add one car."""
    with path.open("a", encoding="utf-8") as file:
        if file.tell() == 0:
            file.write(json.dumps({"state": state}) + "\n")
        rows, chances = result
        told = [[c.family, c.strategy, c.minutes, round(c.chance, 5), c.true] for c in chances]
        file.write(json.dumps({"car": car, "rows": [asdict(row) for row in rows], "chances": told}) + "\n")


def write_rows(path: Path, rows: Sequence[Row]) -> None:
    """Every decision as a table."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(asdict(rows[0])))
        writer.writeheader()
        writer.writerows(asdict(row) for row in rows)
