"""What each column of a log holds: guessed from names, units and figures, and open to correction."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellhousing.errors import InputFileError
from bellhousing.road.logs.layout import BARE_CLOCK, CLOCK, DRESSED, GROUPED, NUMBER, Layout
from bellhousing.road.logs.units import LogUnit, log_unit

MEANINGS: Mapping[str, Mapping[str, float]] = {
    "time": {"time": 3, "timestamp": 4, "t": 2, "clock": 3, "elapsed": 3, "seconds": 3, "sec": 2, "zeit": 4,
             "uhrzeit": 5, "zeitstempel": 5, "tijd": 4, "temps": 3, "hora": 3, "tempo": 3, "millis": 4,
             "datetime": 4, "ms": 2, "utc": 2, "heure": 3, "interval": 1, "secs": 3, "s": 1},
    "speed": {"speed": 3, "velocity": 4, "mph": 4, "kph": 4, "kmh": 4, "geschwindigkeit": 5, "geschw": 5,
              "vitesse": 4, "velocidad": 4, "snelheid": 5, "vss": 5, "road": 2, "vehicle": 2, "ground": 2,
              "gps": 1, "v": 2, "spd": 3, "velocita": 4, "km/h": 4, "sog": 4, "knots": 3, "kn": 2, "car": 1},
    "engine-speed": {"rpm": 4, "tach": 5, "tacho": 5, "tachometer": 5, "engine": 3, "motor": 3, "eng": 3,
                     "drehzahl": 4, "motordrehzahl": 6, "revs": 4, "rev": 3, "regime": 4, "toeren": 4,
                     "toerental": 5, "giri": 5, "nmot": 6, "crank": 3, "n": 2, "krpm": 4, "speed": 1},
    "output-speed": {"output": 5, "propshaft": 6, "prop": 4, "driveshaft": 5, "oss": 6, "tailshaft": 6,
                     "abtrieb": 6, "shaft": 3, "rpm": 1, "speed": 1, "drehzahl": 1, "kardan": 5},
    "vacuum": {"vacuum": 6, "vac": 6, "unterdruck": 6, "depression": 5, "vakuum": 6},
    "manifold-pressure": {"map": 5, "manifold": 4, "intake": 3, "inlet": 3, "saugrohr": 5, "saugrohrdruck": 6,
                          "boost": 4, "pressure": 1, "abs": 1, "collecteur": 4},
    "line-pressure": {"line": 4, "main": 2, "pump": 3, "gearbox": 3, "transmission": 3, "trans": 3, "atf": 3,
                      "pressure": 2, "press": 2, "leitungsdruck": 6, "hauptdruck": 6, "druck": 2, "psi": 2},
    "throttle": {"throttle": 6, "tps": 6, "pedal": 5, "accelerator": 5, "gas": 4, "gaspedal": 6, "app": 4,
                 "drosselklappe": 6, "papillon": 5, "accel": 1, "drossel": 6, "wot": 2, "acelerador": 5},
    "lever": {"lever": 6, "selector": 6, "range": 4, "prnd": 6, "prndl": 6, "shifter": 4, "waehlhebel": 6},
}  # fmt: skip
"""Words in the name of a column and how strongly each speaks for a meaning: judgement, no source."""

COUNTERS = frozenset(
    {"sample", "samples", "index", "row", "record", "count", "counter", "no", "nr", "line", "id"}
)
"""Words of a column that counts rows: it grows as a time does and is none."""

AGAINST: Mapping[str, frozenset[str]] = {
    "time": frozenset({"date", "datum", "lap", "gps_week", "delta", "dt", "duration"}) | COUNTERS,
    "speed": frozenset({"engine", "motor", "rpm", "wind", "fan", "output", "turbine", "accuracy", "error",
                        "drehzahl", "crank", "shaft", "limit", "target", "vertical", "input", "pump"}),
    "engine-speed": frozenset({"output", "turbine", "propshaft", "temp", "temperature", "load", "shaft",
                               "oil", "wheel", "input", "coolant", "limit", "target", "torque", "mph", "kmh",
                               "gps"}),
    "output-speed": frozenset({"torque", "temp", "voltage"}),
    "vacuum": frozenset({"temp"}),
    "manifold-pressure": frozenset({"temp", "temperature", "air", "oil", "line"}),
    "line-pressure": frozenset({"engine", "oil", "fuel", "manifold", "tyre", "tire", "baro", "barometric",
                                "intake", "brake", "map", "governor", "ambient", "vacuum", "current"}),
    "throttle": frozenset({"temp", "brake", "clutch", "acceleration", "lateral"}),
    "lever": frozenset({"fuel", "battery"}),
}  # fmt: skip

NO_UNITS = frozenset(
    {
        "in",
        "ins",
        "inch",
        "vac",
        "vacuum",
        "of vacuum",
        "lb",
        "lbs",
        "pound",
        "pounds",
        "t",
        "n",
        "v",
        "#",
        "time",
    }
)
"""Words of a column's name that are a unit elsewhere, but not here."""

USUAL_UNITS: Mapping[str, str] = {
    "time": "s", "speed": "mph", "engine-speed": "rpm", "output-speed": "rpm", "vacuum": "inHg",
    "manifold-pressure": "kPa", "line-pressure": "psi", "throttle": "%", "lever": "",
}  # fmt: skip


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
    taken: dict[str, int] = {}
    for _, meaning, index in sorted(scored, key=lambda one: (-one[0], one[2])):
        if meaning not in taken and index not in taken.values():
            taken[meaning] = index
    _guess_by_figures(layout, taken)
    return tuple(_column(layout, index, meaning) for meaning, index in taken.items())


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
    known = ", ".join(name for name in layout.names if name) or f"1 to {len(names)}"
    raise InputFileError(f"the log has no column '{name}'", remedy=f"its columns: {known}")


def _words(name: str) -> tuple[str, ...]:
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    plain = spaced.casefold().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return tuple(word for word in re.split(r"[^a-z0-9/]+", plain) if word)


def _worth(words: Sequence[str], meaning: str, layout: Layout, index: int) -> float:
    worth = sum(MEANINGS[meaning].get(word, 0.0) for word in words)
    worth -= 4.0 * sum(word in AGAINST[meaning] for word in words)
    written = _written_unit(layout, index, meaning)
    if written is not None and written.dimension != "number":
        other = {"output-speed", "manifold-pressure", "vacuum"}
        worth += 2.0 if meaning not in other or worth > 0 else 0.0
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
    return bool(NUMBER.fullmatch(cell.strip('"')))


def _is_clock(cells: Sequence[str]) -> bool:
    return bool(cells) and sum(bool(CLOCK.fullmatch(cell.strip('"'))) for cell in cells) > 0.7 * len(cells)


def _is_bare_clock(layout: Layout, index: int) -> bool:
    """Whether six digits are hours, minutes and seconds: no more than 59 seconds, then the next minute."""
    cells = [cell.strip('"') for cell in layout.cells(index, 2000)]
    if not cells or not all(map(BARE_CLOCK.fullmatch, cells)):
        return False
    steps = np.diff([float(cell.replace(",", ".")) for cell in cells])
    return bool(np.any((steps > 40.0) & (steps - 40.0 <= 2.0 * max(float(np.median(steps)), 0.1))))


def _written_unit(layout: Layout, index: int, meaning: str) -> LogUnit | None:
    """The unit that stands in the units row, in brackets in the name, as a word of it, or in the cells."""
    name = layout.names[index]
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
    # Between commas that are not quoted no cell holds one.
    apart = layout.delimiter == "," and not layout.quoted
    both = (cell for cell in (() if apart else layout.cells(index, 2000)) if "," in cell and "." in cell)
    grouped = any(GROUPED.fullmatch(cell.strip('"')) for cell in both)
    dressed = (
        grouped
        or any(DRESSED.fullmatch(cell) for cell in cells[:50])
        or any('"' in cell for cell in cells[:50])
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


def figures_of(layout: Layout, index: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """The sample's numbers in one column."""
    found = []
    for cell in layout.cells(index, 2000):
        plain = cell.strip('"')
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
