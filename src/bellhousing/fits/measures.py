"""What is measured at the bench, as data: names, how it is taken, which figure is possible at all."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType

from bellhousing.errors import QuantityError
from bellhousing.fits.data_file import read_data
from bellhousing.quantities.units import to_si, unit


@dataclass(frozen=True)
class Measure:
    """One thing that is measured or, where `look` is not empty, only looked at.

    Parameters
    ----------
    id, name, words : slug, name to show, what else it is called
    how : how it is taken
    unit : unit it is usually given in
    possible : lowest and highest figure that is possible at all [SI]
    instrument : slug of the instrument it is usually taken with, empty if none
    around : readings around a ring that differ by more are a finding [SI], None if it has no ring
    spread_tells : what such a spread means
    look : what is right, where there is no figure
    action : what one does about it
    shows : why its number moves no reading foretold here, and what it shows instead; empty if it moves one
    """

    id: str
    name: str
    words: tuple[str, ...] = ()
    how: str = ""
    unit: str = "in"
    possible: tuple[float, float] = (0.0, 1e9)
    instrument: str = ""
    around: float | None = None
    spread_tells: str = ""
    look: str = ""
    action: str = ""
    shows: str = ""


@cache
def shipped_measures() -> Mapping[str, Measure]:
    """Everything the trade usually measures at the bench, by slug, in the order it is met."""
    raw = read_data("measurements.yaml", None, "measurements")
    return MappingProxyType({entry["id"]: _measure(entry) for entry in raw})


def _measure(entry: Mapping[str, object]) -> Measure:
    fields = dict(entry)
    name = str(fields.get("unit", ""))
    words, possible = fields.pop("words", ()), fields.pop("possible", None)
    around = fields.pop("around", None)
    assert isinstance(words, Sequence)
    low, high = (
        (to_si(float(end), name) for end in possible) if isinstance(possible, Sequence) else (0.0, 0.0)
    )
    return Measure(
        words=tuple(str(word) for word in words),
        possible=(low, high),
        around=None if around is None else to_si(float(str(around)), name) - to_si(0.0, name),
        **{key: str(value) for key, value in fields.items()},
    )


def plain_measure(slug: str, name: str, unit_name: str, how: str = "") -> Measure:
    """A measure a box file adds of its own; any figure from nothing up is possible."""
    unit(unit_name)
    return Measure(slug, name, how=how, unit=unit_name)


def find_measure(text: str, measures: Iterable[Measure]) -> Measure:
    """The measure a sentence names: the one whose name is found whole and is the longest.

    Raises
    ------
    QuantityError : none is named; the nearest are listed
    """
    said = f" {_plain(text)} "
    best: tuple[int, Measure] | None = None
    names: dict[str, Measure] = {}
    for measure in measures:
        for name in (measure.id.replace("-", " "), measure.name, *measure.words):
            key = _plain(name)
            names.setdefault(key, measure)
            if f" {key} " in said and (best is None or len(key) > best[0]):
                best = (len(key), measure)
    if best is not None:
        return best[1]
    words = re.sub(r"[0-9.,]+", " ", said).strip()
    near = get_close_matches(words, names, n=3, cutoff=0.4)
    listed = dict.fromkeys(names[name].name for name in near) or dict.fromkeys(m.name for m in names.values())
    shown = list(listed)[:6]
    raise QuantityError(
        f"nothing that is measured is called so in '{text.strip()[:60]}'",
        remedy=f"name it first, such as {', '.join(shown)}; what gauge and road showed goes among the notes",
    )


def _plain(text: str) -> str:
    words = " ".join(re.sub(r"[^a-z0-9.]+", " ", text.lower()).split())
    return re.sub(r"\b(end|run) ?(play|float|out)\b", r"\1 \2", words)
