"""Counts the published checks and writes the page of them, docs/truth.md."""

from __future__ import annotations

import argparse
import json
import math
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from tests.published.sources import UNCERTAIN
from tests.truth.checks import NAMING, Check
from tests.truth.collecting import Collected, Said, collected
from tests.truth.mutate import FACTORS, RESULTS, grouped
from tests.truth.mutate import ROOMS as HOLDING
from tests.truth.quantities import ROOMS, Quantity, quantities

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "truth.md"
FOLDERS = ("published", "practice")
Recorded = Mapping[str, Mapping[str, Any]]
TITLES = {
    "beside": "Worked out another way: identities, definitions, look-ups, figures of our own",
    "other_program": "Against another program",
    "from_memory": "From memory",
    "practice": "Common practice, no source",
}
STANDING = ("published", "other_program", "beside", "reached", "from_memory", "practice", "none")
WORDS = {
    "published": "published",
    "reached": "on the way of a published check",
    **NAMING,
    "from_memory": "from memory",
    "practice": "common practice or on the way of it",
    "none": "no outside check",
}

HEAD = """\
# What the figures are checked against

Written by `scripts/truth` from the marks of the tests and from what they compared; not by hand.

**{checks} published checks from {sources} printed sources.** A check is one quantity in one place of one
source; a table counts once. Figures from memory, identities, look-ups and figures of other programs do not
count and stand further down."""
SHOWN = """\
## Published checks

Figures are as compared: in SI units, or in those of the source where the test converts. Of several, the one
nearest to its tolerance is shown."""

NOTHING = """\
## Computed quantities without any outside check

No published check and no test of `tests/practice` reaches these, and no test names them as held by another
program or worked out another way. Other tests may hold them to laws. The list takes every public function
whose description has a formula or a unit and that gives a figure back, and so some that only pass one on."""


def recorded(name: str, rerun: bool) -> Recorded:
    """What the tests of a folder compared and reached; they run when that is wanted or was never written."""
    path = ROOT / "build" / f"{name}.json"
    if rerun or not path.is_file():
        options = ["-q", "-n", "0", "-p", "no:cacheprovider", "--truth", str(path)]
        subprocess.run([sys.executable, "-m", "pytest", *options, f"tests/{name}"], cwd=ROOT, check=True)
    found: Recorded = json.loads(path.read_text(encoding="utf-8"))
    return found


def number(value: float) -> str:
    """A figure as the page shows it."""
    return f"{value:.7g}" if math.isfinite(value) else str(value)


def cell(text: str) -> str:
    """A text that may stand in a table."""
    return text.replace("|", "\\|")


def row(*cells: str) -> str:
    """A row of a table."""
    return "| " + " | ".join(cell(text) for text in cells) + " |"


def figures(checks: Sequence[Check], tests: Recorded) -> list[tuple[float, float, float]]:
    """Printed figure, ours and tolerance of a check. Raises LookupError when it compared nothing."""
    made: list[tuple[float, float, float]] = []
    for check in checks:
        compared = tests[check.test]["compared"]
        chosen = compared if check.figures is None else [compared[place] for place in check.figures]
        for one in chosen:
            made += zip(one["printed"], one["ours"], one["tolerance"], strict=True)
    if not made:
        raise LookupError(f"{checks[0].key} compares no figure")
    return made


def nearest(made: Sequence[tuple[float, float, float]]) -> tuple[float, float, float]:
    """The figure that comes nearest to its tolerance."""
    return max(made, key=lambda one: abs(one[1] - one[0]) / one[2] if one[2] else float(one[1] != one[0]))


def check_rows(checks: Sequence[Check], tests: Recorded, known: Mapping[str, Quantity]) -> list[str]:
    """The table of published checks."""
    rows = [
        row("Quantity", "Formula", "Source, place", "Figures", "Printed", "Ours", "Tolerance", "Code"),
        row(*["---"] * 3, *["---:"] * 4, "---"),
    ]
    for (quantity, source, place), made in grouped(checks).items():
        compared = figures(made, tests)
        printed, ours, tolerance = nearest(compared)
        code = made[0].code.partition(":")[0]
        formula = known[code].formula or known[code].sentence
        rows.append(
            row(quantity, formula, f"{source}, {place}", str(len(compared)), number(printed), number(ours),
                f"± {number(tolerance)}", f"`{code}`")
        )  # fmt: skip
    return rows


def said_rows(said: Iterable[Said]) -> list[str]:
    """Tests that do not count, each once, with what they say and the code they name, else their file."""
    seen: dict[str, str] = {}
    for one in said:
        test = one.test.partition("[")[0]
        text = [f"- {one.sentence or test.rpartition('::')[2]}", f"*({one.text})*" if one.text else ""]
        text += [", ".join(f"`{code}`" for code in dict.fromkeys(one.codes) or [test.partition("::")[0]])]
        seen.setdefault(test, " ".join(part for part in text if part))
    return list(seen.values())


def standing(found: Collected, tests: Recorded, practice: Recorded) -> dict[str, set[str]]:
    """Code by the best check that names or reaches it."""
    reached: dict[str, set[str]] = defaultdict(set)
    reached["published"] = {check.code.partition(":")[0] for check in found.checks}
    for check in found.checks:
        reached["reached"] |= set(tests[check.test]["reached"])
    for one in found.beside:
        run = practice if one.kind == "practice" else tests
        reached[one.kind] |= set(one.codes if one.kind in NAMING else run[one.test]["reached"])
    return reached


def standing_of(code: str, reached: Mapping[str, set[str]]) -> str:
    """The first standing that holds a piece of code."""
    return next((name for name in STANDING if code in reached.get(name, ())), "none")


def quantity_rows(all_of_them: Sequence[Quantity], reached: Mapping[str, set[str]]) -> list[str]:
    """Every computed quantity by room."""
    rows = []
    for room in ROOMS:
        rows += ["", f"### {room}", "", row("Quantity", "Formula", "Source", "Checked by", "Code")]
        rows.append(row(*["---"] * 5))
        for one in all_of_them:
            if one.room == room:
                words = WORDS[standing_of(one.code, reached)]
                rows.append(row(one.sentence, one.formula, one.source, words, f"`{one.code}`"))
    return rows


def broken_lines(found: Collected) -> list[str]:
    """What came of breaking the code behind each check, as far as it was tried."""
    rows = json.loads(RESULTS.read_text(encoding="utf-8")) if RESULTS.is_file() else []
    tried = {tuple(entry[:3]): entry[3] for entry in rows}
    now = {check.key for check in found.checks}
    held = [factor for key, factor in tried.items() if key in now]
    missed = [key for key, factor in tried.items() if factor is None and key in now]
    at_once = sum(factor == FACTORS[0] for factor in held)
    lines = [
        f"`scripts/mutate-truth` breaks the code behind each: of {len(held)} tried, {at_once} fail when it "
        f"gives a hundredth too much, {len(held) - at_once - len(missed)} more when it gives a twentieth or "
        f"a tenth too much, and {len(missed)} do not fail. {len(now - set(tried))} were not tried."
    ]
    lines += [f"- not noticed: {', '.join(key)}" for key in missed]
    named = {check.key for check in found.held}
    fell = [factor for key, factor in tried.items() if key in named]
    lines += [
        "",
        f"It does the same to each piece of code that a test names as held by another program or way: "
        f"of {len(named)} pairs of code and test {len(fell)} were tried, and {fell.count(None)} do not fail.",
    ]
    return lines + [
        f"- not noticed: {', '.join(key)}" for key in tried if key in named and tried[key] is None
    ]


def written(found: Collected, tests: Recorded, practice: Recorded) -> str:
    """The page."""
    named = frozenset(check.code.partition(":")[0] for check in found.checks)
    all_of_them = quantities(ROOT, named)
    known = {one.code: one for one in all_of_them}
    reached = standing(found, tests, practice)
    counts = {name: sum(standing_of(one.code, reached) == name for one in all_of_them) for name in STANDING}
    standings = ", ".join(f"{counts[name]} {WORDS[name]}" for name in STANDING)
    lines = [HEAD.format(checks=found.distinct, sources=found.sources), "", *broken_lines(found), ""]
    lines += [f"Of {len(all_of_them)} computed quantities: {standings}.", "", SHOWN, ""]
    lines += [*check_rows(found.checks, tests, known), "", "### What is uncertain about the sources", ""]
    lines += [*[f"- {source}: {words}" for source, words in UNCERTAIN.items()], ""]
    for kind in ("from_memory", "other_program", "beside", "practice"):
        lines += [f"## {TITLES[kind]}", "", *said_rows(one for one in found.beside if one.kind == kind), ""]
    nothing = [one for one in all_of_them if standing_of(one.code, reached) == "none"]
    lines += [NOTHING, ""]
    lines += [f"- {one.sentence} `{one.code}`" for one in nothing] or ["None."]
    lines += ["", "## Every computed quantity", *quantity_rows(all_of_them, reached)]
    return "\n".join(lines) + "\n"


def main() -> int:
    """Count, and unless only that is wanted write the page."""
    parser = argparse.ArgumentParser(prog="scripts/truth", description=__doc__)
    parser.add_argument("--count", action="store_true", help="count only; runs no test")
    parser.add_argument("--keep", action="store_true", help="use what the tests wrote into build/ last time")
    options = parser.parse_args()
    found = collected(ROOT, FOLDERS[:1] if options.count else (*HOLDING, "practice"))
    print(f"{found.distinct} published checks from {found.sources} printed sources")
    if not options.count:
        tests, practice = (recorded(name, not options.keep) for name in FOLDERS)
        PAGE.write_text(written(found, tests, practice), encoding="utf-8")
        print(f"written: {PAGE.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
