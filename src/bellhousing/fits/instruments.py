"""Instruments as data: what they resolve, how wrong a sound one may be, how well a person repeats them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from types import MappingProxyType

from bellhousing.errors import InputFileError, QuantityError
from bellhousing.fits.data_file import read_data
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import unit

_FIGURES = ("resolution", "permissible_error", "repeatability")
_KEYS = ("name", "words", "reads", *_FIGURES, "source")


@dataclass(frozen=True)
class Instrument:
    """One instrument; figures in SI, those of `relative` are parts of the reading.

    Parameters
    ----------
    id, name, words : slug, name to show, what else it is called
    dimension : what it measures
    reads : what it is put to: play, gap, outside, bore and so on; one that shares a use can stand in
    resolution : smallest step that is read [SI]
    permissible_error : most a sound one may be wrong by, either way [SI, or part of the reading]
    repeatability : standard deviation of one person reading the same again [SI, or part of the reading]
    relative : which of the three are parts of the reading
    source : who says so
    """

    id: str
    name: str
    words: tuple[str, ...]
    dimension: str
    reads: frozenset[str]
    resolution: float
    permissible_error: float
    repeatability: float
    relative: frozenset[str]
    source: str

    def figure(self, key: str, reading: float) -> float:
        """One of the three figures at a reading [SI]."""
        value = float(getattr(self, key))
        return value * abs(reading) if key in self.relative else value


@cache
def shipped_instruments() -> Mapping[str, Instrument]:
    """The usual instruments of a bench."""
    return read_instruments(None)


def read_instruments(path: Path | None) -> Mapping[str, Instrument]:
    """The instruments of a file; the shipped one where no path is given.

    Raises
    ------
    InputFileError : a file that cannot be read, or an instrument in it that cannot be, by name
    """
    raw = read_data("instruments.yaml", path, "instruments")
    where = "instruments.yaml" if path is None else str(path)
    if not isinstance(raw, Mapping):
        raise InputFileError("`instruments` lists instruments by name", where=where)
    return MappingProxyType({str(name): _instrument(str(name), entry, where) for name, entry in raw.items()})


def _instrument(name: str, entry: object, where: str) -> Instrument:
    at = f"{where}, {name}"
    if not isinstance(entry, Mapping):
        raise InputFileError("an instrument is a group of keys", where=at)
    for key in entry:
        if key not in _KEYS:
            near = get_close_matches(str(key), _KEYS, n=1, cutoff=0.0)
            raise InputFileError(f"unknown key `{key}`", where=at, remedy=f"did you mean `{near[0]}`?")
    values: dict[str, float] = {}
    dimensions: dict[str, str] = {}
    for key in _FIGURES:
        text = str(entry.get(key, ""))
        dimensions[key] = "number" if text.rstrip().endswith("%") else ""
        try:
            values[key], dimensions[key] = _figure(text, relative=bool(dimensions[key]))
        except QuantityError as error:
            raise InputFileError(f"`{key}`: {error}", where=at) from None
        if not values[key] >= 0.0:
            raise InputFileError(f"`{key}` is negative", where=at)
    relative = frozenset(key for key in _FIGURES if dimensions[key] == "number")
    kinds = {dimensions[key] for key in _FIGURES} - {"number"}
    if len(relative) == len(_FIGURES):  # what is read is itself a part, such as per cent of a good one
        relative, kinds = frozenset(), {"number"}
    if len(kinds) != 1 or "resolution" in relative:
        raise InputFileError(
            "the figures of an instrument are of one kind", where=at, remedy="such as all in mm"
        )
    words = entry.get("words") or ()
    return Instrument(
        id=name,
        name=str(entry.get("name", name)),
        words=tuple(str(word) for word in words),
        dimension=kinds.pop(),
        reads=frozenset(str(use) for use in entry.get("reads") or ()),
        relative=relative,
        source=str(entry.get("source", "")),
        **values,
    )


def _figure(text: str, *, relative: bool) -> tuple[float, str]:
    if relative:
        return parse_measured(text, usual_unit="%").value, "number"
    name = text.strip().partition(" ")[2]
    if not name:
        raise QuantityError(f"'{text}' has no unit", remedy="write it as 0.001 in")
    found = unit(name)
    return parse_measured(text, usual_unit=found.name).value, found.dimension


def find_instrument(text: str, instruments: Mapping[str, Instrument] | None = None) -> Instrument:
    """The instrument of a slug, name or other word.

    Raises
    ------
    QuantityError : none is called so; the nearest are named
    """
    every = instruments or shipped_instruments()
    wanted = " ".join(text.lower().replace("-", " ").split())
    names: dict[str, Instrument] = {}
    for entry in every.values():
        for name in (entry.id.replace("-", " "), entry.name, *entry.words):
            names.setdefault(name.lower().replace("-", " "), entry)
    if wanted in names:
        return names[wanted]
    near = get_close_matches(wanted, names, n=3, cutoff=0.5) or [entry.name for entry in every.values()][:6]
    raise QuantityError(
        f"no instrument is called '{text[:60]}'", remedy=f"known are for example {', '.join(near)}"
    )
