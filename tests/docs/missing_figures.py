"""`python -m tests.docs.missing_figures`: what each unknown part of box A costs, as the table of a page.

A part's figures are taken out of the invented box, so that its family stands in; the reading whose window
widens most is shown with its window before and after.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from bellhousing.boxes.load import box_from_bytes, shipped_text
from bellhousing.boxes.schema import sections
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.prepare import CarFacts
from bellhousing.diagnosis.windows import Window, sound_windows
from bellhousing.quantities.show import show_interval
from bellhousing.tasks.shipped import shipped_catalogue

PAGE = Path(__file__).resolve().parents[2] / "docs" / "your-own-box.md"
HEAD = "| not known | widens most | known | unknown |\n| --- | --- | --- | --- |\n"
TABLES = re.compile(re.escape(HEAD) + r"(?:\|.*\n)*")
KIND = "three-speed-vacuum"
NO_READING = ("strip", "assemblies", "selective_parts", "measurements", "leak_sites")
LEAST = 1.15
"""A part that widens no window by more than this factor is said to widen none."""


def windows(text: str, catalogue: Catalogue) -> dict[str, Window]:
    """The predicted window of every reading of a box file's text."""
    return sound_windows(box_from_bytes(text.encode("utf-8")), CarFacts(), catalogue)


def without(text: str, section: str) -> str:
    """A box file without one of its sections."""
    taken, count = re.subn(rf"(?m)^{section}:\n(?:[ \t]+.*\n|\n)+", "", text, count=1)
    assert count == 1, section
    return taken


def figures_only(text: str) -> str:
    """A box file without what bears on no reading, which takes longest to read."""
    for section in NO_READING:
        text = without(text, section)
    return text


def row(section: str, whole: Mapping[str, Window], less: Mapping[str, Window], catalogue: Catalogue) -> str:
    """One row of the table."""
    wider = {
        name: (less[name].high - less[name].low) / (whole[name].high - whole[name].low)
        for name in whole
        if name in less
    }
    most = max(wider, key=lambda name: wider[name])
    title = section.replace("_", " ")
    if wider[most] < LEAST:
        lost = next(
            model.without for name, model in sections(KIND).items() if name.partition(".")[0] == section
        )
        return f"| {title} | no window, but {lost} | | |\n"
    finding = catalogue.finding(most)
    before, after = (show_interval(band.low, band.high, finding.unit) for band in (whole[most], less[most]))
    return f"| {title} | {finding.name[:1].lower()}{finding.name[1:]} | {before} | {after} |\n"


def table() -> str:
    """The whole table."""
    text, catalogue = figures_only(shipped_text("box-a")), shipped_catalogue().of_family(KIND)
    names = dict.fromkeys(name.partition(".")[0] for name in sections(KIND) if name != "ratios")
    whole = windows(text, catalogue)
    rows = [row(name, whole, windows(without(text, name), catalogue), catalogue) for name in names]
    return HEAD + "".join(rows)


def main() -> None:
    """Write the table into the page."""
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(TABLES.sub(lambda _: table(), text, count=1), encoding="utf-8")


if __name__ == "__main__":
    main()
