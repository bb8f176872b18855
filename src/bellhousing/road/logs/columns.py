"""What each column of a log holds: guessed from names, units and figures, and open to correction."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellhousing.errors import InputFileError
from bellhousing.road.logs.column_words import (
    AGAINST,
    BY_UNIT_ALONE,
    COUNTERS,
    KNOWN,
    MEANINGS,
    NO_UNITS,
    NO_WORDS_OF_ITS_OWN,
    STEMS,
    USUAL_UNITS,
)
from bellhousing.road.logs.layout import BARE_CLOCK, CLOCK, DRESSED, GROUPED, NUMBER, SAMPLE, SPACED, Layout
from bellhousing.road.logs.units import LogUnit, log_unit

OVER = re.compile(
    r"(?i)(?<![a-z0-9])(?!(?:km|m|mi|ft|u|rev|r|omw|1|miles|met(?:er|re)s|kilomet(?:er|re)s)/|(?:t|tr|giri|tours|"
    r"umdr)/mi?n)([^\W_]+)/"
)
"""A stroke that is no part of a unit."""


@dataclass(frozen=True)
class Column:
    """One column that is used: where it stands, what it holds, in which unit, and how that came to be.

    how : "guessed", "corrected" or "remembered"; `unit_from` says where the unit comes from
    clock : cells are a clock (14:03:22.5); dressed : cells carry their unit; lettered : cells are words
    grouped : thousands carry a mark
    """

    index: int
    name: str
    meaning: str
    unit: LogUnit
    how: str = "guessed"
    unit_from: str = "name"
    clock: bool = False
    dressed: bool = False
    lettered: bool = False
    grouped: bool = False


@dataclass(frozen=True)
class Correction:
    """What the user says of a column: the name (or number, from 1) of the one that holds `meaning`."""

    meaning: str
    column: str
    unit: str | None = None


def parse_correction(text: str) -> Correction:
    """Read `speed=GPS v`, `speed=GPS v in km/h` or `vacuum=none`.

    Raises
    ------
    InputFileError : no such meaning, or no column named.
    """
    meaning, sign, rest = text.partition("=")
    meaning = meaning.strip().casefold().replace(" ", "-").replace("_", "-")
    if not sign or meaning not in MEANINGS or not rest.strip():
        raise InputFileError(
            f"'{text}' does not say what a column holds",
            remedy=f"write MEANING=COLUMN or 'MEANING=COLUMN in UNIT'; meanings: {', '.join(MEANINGS)}",
        )
    name, within, unit_name = rest.strip().rpartition(" in ")
    if within and log_unit(unit_name, meaning) is not None:
        return Correction(meaning, name.strip(), unit_name.strip())
    return Correction(meaning, rest.strip())


def guess_columns(layout: Layout) -> tuple[Column, ...]:
    """Guess what the columns hold, the surest column for each meaning; figures decide where names do not."""
    scored: list[tuple[float, str, int]] = []
    for index in range(len(layout.names)):
        words = _words(layout.names[index])
        for meaning in MEANINGS:
            worth = _worth(words, meaning, layout, index)
            if worth >= 2.0:
                scored.append((worth, meaning, index))
    scored = _without_dead_twins(layout, scored)
    taken: dict[str, int] = {}
    for _, meaning, index in sorted(scored, key=lambda one: (-one[0], one[2])):
        if meaning not in taken and index not in taken.values():
            taken[meaning] = index
    _guess_by_figures(layout, taken)
    return tuple(_column(layout, index, meaning) for meaning, index in taken.items())


def _without_dead_twins(
    layout: Layout, scored: Sequence[tuple[float, str, int]]
) -> list[tuple[float, str, int]]:
    """What was found, less the columns that stand still where another for the same meaning does not."""
    dead = {
        (meaning, index)
        for _, meaning, index in scored
        if meaning in ("speed", "engine-speed", "output-speed", "throttle", "vacuum", "manifold-pressure")
        and len(set(layout.cells(index, SAMPLE))) == 1
    }
    alive = {meaning for _, meaning, index in scored if (meaning, index) not in dead}
    return [one for one in scored if one[1:] not in dead or one[1] not in alive]


def corrected(
    layout: Layout, columns: Sequence[Column], corrections: Sequence[Correction], how: str = "corrected"
) -> tuple[Column, ...]:
    """Put what the user said in place of what was guessed.

    Raises
    ------
    InputFileError : no column of that name; it lists those there are.
    """
    found = {column.meaning: column for column in columns}
    for said in corrections:
        if said.column.casefold() in ("none", "no", "-"):
            found.pop(said.meaning, None)
            continue
        index = _find(layout, said.column)
        column = _column(layout, index, said.meaning)
        unit = None if said.unit is None else log_unit(said.unit, said.meaning)
        if unit is not None:
            column = replace(column, unit=unit, unit_from="corrected")
        found = {key: value for key, value in found.items() if value.index != index}
        found[said.meaning] = replace(column, how=how)
    return tuple(found.values())


def _find(layout: Layout, name: str) -> int:
    names = [known.casefold() for known in layout.names]
    if name.casefold() in names:
        return names.index(name.casefold())
    if name.isascii() and name.isdigit() and 1 <= int(name) <= len(names):
        return int(name) - 1
    inside = [place for place, known in enumerate(names) if known and name.casefold() in known]
    if len(inside) == 1:
        return inside[0]
    within, _, unit = name.rpartition(" in ")
    if within and within.casefold() in names:
        raise InputFileError(
            f"'{unit}' is no unit this column can be in", remedy="such as mph, km/h, rpm, inHg, kPa, psi, %"
        )
    known = ", ".join(name for name in layout.names if name) or f"1 to {len(names)}"
    raise InputFileError(f"the log has no column '{name}'", remedy=f"its columns: {known}")


def _parted(name: str) -> str:
    """A name and its unit apart where a stroke stands between them, as in `Speed/(km/h)` or `Zeit/s`."""
    return OVER.sub(r"\1 ", name)


def _words(name: str) -> tuple[str, ...]:
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", _parted(name))
    plain = spaced.casefold().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    plain = "".join(one for one in unicodedata.normalize("NFKD", plain) if not unicodedata.combining(one))
    words = [word for word in re.split(r"[^a-z0-9/]+", plain) if word]
    parts = [stem for word in words if len(word) > 9 for stem in STEMS if stem in word and stem != word]
    known = [one for one in parts if not any(one in word and word in KNOWN for word in words)]
    return (*words, *known)


def _worth(words: Sequence[str], meaning: str, layout: Layout, index: int) -> float:
    worth = sum(MEANINGS[meaning].get(word, 0.0) for word in words)
    if meaning == "output-speed" and not (set(words) - NO_WORDS_OF_ITS_OWN) & MEANINGS[meaning].keys():
        return 0.0
    worth -= 4.0 * sum(word in AGAINST[meaning] for word in words)
    written = _written_unit(layout, index, meaning)
    if written is not None and written.dimension != "number":
        alone = meaning in BY_UNIT_ALONE and (meaning != "engine-speed" or "rpm" in written.name)
        worth += 2.0 if alone or worth > 0 else 0.0
    clocked = _is_clock(layout.cells(index))
    if clocked:
        worth = worth + 3.0 if meaning == "time" else 0.0
    cells = layout.cells(index)
    lettered = bool(cells) and not any(
        _plain(cell) or DRESSED.fullmatch(cell) or GROUPED.fullmatch(cell) for cell in cells
    )
    if (lettered and not clocked and meaning not in ("time", "lever")) or not cells:
        worth = 0.0
    return worth


def _plain(cell: str) -> bool:
    return bool(NUMBER.fullmatch(cell.strip("\"'").replace("\u2212", "-")) or SPACED.fullmatch(cell))


def _is_clock(cells: Sequence[str]) -> bool:
    return bool(cells) and sum(bool(CLOCK.fullmatch(cell.strip("\"'"))) for cell in cells) > 0.7 * len(cells)


def _is_bare_clock(layout: Layout, index: int) -> bool:
    """Whether six digits are hours, minutes and seconds: no more than 59 seconds, then the next minute."""
    cells = [cell.strip('"') for cell in layout.cells(index, 2000)]
    if not cells or not all(map(BARE_CLOCK.fullmatch, cells)):
        return False
    steps = np.diff([float(cell.replace(",", ".")) for cell in cells])
    return bool(np.any((steps > 40.0) & (steps - 40.0 <= 2.0 * max(float(np.median(steps)), 0.1))))


def _written_unit(layout: Layout, index: int, meaning: str) -> LogUnit | None:
    """The unit that stands in the units row, in brackets in the name, as a word of it, or in the cells."""
    name = _parted(layout.names[index])
    candidates = [layout.units[index], *re.findall(r"[\[(]([^\])]*)[\])]", name)]
    words = re.split(r"[\s_,:;()\[\]-]+", name)
    candidates += [
        word
        for word in reversed(words)
        if word.casefold() not in NO_UNITS and (len(word) > 1 or meaning == "time")
    ]
    candidates += [name] if len(name) > 1 else []
    dressed = [found["unit"] for found in map(DRESSED.fullmatch, layout.cells(index)[:20]) if found]
    candidates += dressed[:1]
    for text in candidates:
        plain = text.strip().casefold()
        found = None if plain in NO_UNITS else log_unit(text, meaning)
        if found is not None and found.name != "":
            return found
    return None


def _column(layout: Layout, index: int, meaning: str) -> Column:
    cells = layout.cells(index)
    written = _written_unit(layout, index, meaning)
    unit = written or log_unit(USUAL_UNITS[meaning], meaning) or LogUnit("", "number", 1.0)
    lettered = meaning == "lever" and not any(_plain(cell) for cell in cells)
    bare = meaning == "time" and _is_bare_clock(layout, index)
    grouped = _grouped(layout, index)
    dressed = (
        grouped
        or layout.stray_returns
        or any(DRESSED.fullmatch(cell) for cell in cells[:50])
        or any('"' in cell or "'" in cell for cell in cells[:50])
    )
    return Column(
        index,
        layout.names[index] or f"column {index + 1}",
        meaning,
        unit,
        unit_from="name" if written else "figures",
        clock=bare or (meaning == "time" and _is_clock(cells)),
        dressed=dressed
        or any(cell != cell.strip() for row in layout.sample[:50] for cell in row[index : index + 1]),
        lettered=lettered,
        grouped=grouped,
    )


def _grouped(layout: Layout, index: int) -> bool:
    """Whether thousands carry a mark: beside a decimal mark, or in every number from a thousand up."""
    # Between commas that are not quoted no cell holds one.
    apart = layout.delimiter == "," and not layout.quoted
    cells = [cell.strip("\"'") for cell in layout.cells(index, SAMPLE)]
    if any(SPACED.fullmatch(cell) or "\u2212" in cell for cell in cells):
        return True
    if apart:
        return False
    if layout.delimiter == "," and not layout.decimal_comma and cells and all(map(str.isdigit, cells)):
        return True  # in quotes, where points mark decimals, a comma to come can only mark thousands
    if any(GROUPED.fullmatch(cell) for cell in cells if "," in cell and "." in cell):
        return True
    mark, other = (".", ",") if layout.decimal_comma else (",", ".")
    marked = [cell for cell in cells if mark in cell]
    plain = [cell for cell in cells if mark not in cell and other not in cell]
    whole = all(re.fullmatch(rf"[+-]?\d{{1,3}}({re.escape(mark)}\d{{3}})+", cell) for cell in marked)
    return bool(marked) and bool(plain) and whole and max(map(len, plain)) <= 4 and not _from_1000(plain)


def _from_1000(cells: Sequence[str]) -> bool:
    return any(NUMBER.fullmatch(cell) and abs(float(cell)) >= 1000 for cell in cells)


def figures_of(layout: Layout, index: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """The sample's numbers in one column."""
    found = []
    for cell in layout.cells(index, 2000):
        plain = cell.strip("\"'")
        if NUMBER.fullmatch(plain):
            found.append(float(plain.replace(",", ".")))
    return np.asarray(found, dtype=np.float64)


def _guess_by_figures(layout: Layout, taken: dict[str, int]) -> None:
    """Fill what is missing of time, engine speed and road speed by what the figures can only be."""
    if {"time", "engine-speed"} <= set(taken) and taken.keys() & {"speed", "output-speed"}:
        return
    free = [index for index in range(len(layout.names)) if index not in taken.values()]
    figures = {index: figures_of(layout, index) for index in free}
    figures = {index: values for index, values in figures.items() if len(values) >= 5}
    if "time" not in taken:
        clocks = [index for index in free if _is_clock(layout.cells(index))]
        rising = [
            i
            for i, values in figures.items()
            if np.mean(np.diff(values) > 0) > 0.9 and not COUNTERS & set(_words(layout.names[i]))
        ]
        if clocks or rising:
            taken["time"] = (clocks or rising)[0]
            figures.pop(taken["time"], None)
    nameless = {index: values for index, values in figures.items() if not layout.names[index]}
    if "engine-speed" not in taken:
        fits = [i for i, values in nameless.items() if 450 < np.median(values) < 6500 and values.max() < 9000]
        if fits:
            taken["engine-speed"] = fits[0]
            nameless.pop(fits[0])
    if "speed" not in taken and "output-speed" not in taken:
        fits = [i for i, values in nameless.items() if values.min() >= -1 and 3 < values.max() < 250]
        if fits:
            taken["speed"] = max(fits, key=lambda index: float(np.ptp(figures[index])))
