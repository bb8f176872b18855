"""`python -m tests.docs.missing_figures`: what each unknown part of box A costs, as the table of a page.

A part's figures are taken out of the invented box, so that its family stands in; the reading whose window
widens most is shown with its window before and after.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from bellhousing.boxes.box import Box, part_in_words
from bellhousing.boxes.load import load_box
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
LEAST = 1.15
"""A part that widens no window by more than this factor is said to widen none."""


def without(box: Box, family: Box, section: str) -> Box:
    """A box that does not know the figures of a section, so that its family stands in."""
    figures = {
        key: family.figures[key] if key.partition(".")[0] == section else given
        for key, given in box.figures.items()
    }
    return replace(box, figures=figures)


def row(section: str, whole: Mapping[str, Window], less: Mapping[str, Window], catalogue: Catalogue) -> str:
    """One row of the table."""
    wider = {
        name: (less[name].high - less[name].low) / (whole[name].high - whole[name].low)
        for name in whole
        if name in less
    }
    most = max(wider, key=lambda name: wider[name])
    title = part_in_words(section)
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
    box, family, catalogue = load_box("box-a"), load_box(KIND), shipped_catalogue()
    apart = ("ratios", "second_band")  # of neither does box A have any
    names = dict.fromkeys(name.partition(".")[0] for name in sections(KIND) if name not in apart)
    whole = sound_windows(box, CarFacts(), catalogue)
    rows = [
        row(name, whole, sound_windows(without(box, family, name), CarFacts(), catalogue), catalogue)
        for name in names
    ]
    return HEAD + "".join(rows)


def main() -> None:
    """Write the table into the page."""
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(TABLES.sub(lambda _: table(), text, count=1), encoding="utf-8")


if __name__ == "__main__":
    main()
