"""What a sentence says was measured: which measure, its readings, with which instrument, how warm."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bellhousing.boxes.box import Box
from bellhousing.errors import QuantityError
from bellhousing.fits.instruments import Instrument, find_instrument, read_instruments, shipped_instruments
from bellhousing.fits.measurement import check_possible
from bellhousing.fits.measures import Measure, find_measure
from bellhousing.quantities.parse import find_quantity, parse_measured
from bellhousing.quantities.units import unit

if TYPE_CHECKING:
    from bellhousing.tasks.shop import Shop

OWN_INSTRUMENTS = "instruments.yaml"
FITTED = "fitted-"
PARTS = (1e-5, 0.3)  # sizes a selective part can have [m]
MOST_READINGS = 40
_WITH = re.compile(r"\s+(?:with|using)\s+(?:an?\s+|the\s+|my\s+)?(?P<name>[A-Za-z][\w ,/-]*)$", re.IGNORECASE)
_AT = re.compile(r"\s+at\s+(?P<heat>-?\d+(?:[.,]\d+)?\s*(?:°|deg)?\s*[CF])\b", re.IGNORECASE)


@dataclass(frozen=True)
class Read:
    """What a sentence says: measure, readings [SI], their unit, instrument, temperature [K]."""

    measure: Measure
    readings: tuple[float, ...]
    unit: str
    instrument: Instrument
    temperature: float | None


def instruments_of(shop: Shop) -> Mapping[str, Instrument]:
    """The usual instruments, and the shop's own from `instruments.yaml` in its folder, which count first.

    Raises
    ------
    InputFileError : a file that cannot be read, or an instrument in it that cannot be, by name
    """
    path = shop.folder / OWN_INSTRUMENTS
    try:
        changed = path.stat().st_mtime_ns
    except OSError:
        return shipped_instruments()
    return _own_instruments(path, changed)


@lru_cache(maxsize=8)
def _own_instruments(path: Path, changed: int) -> Mapping[str, Instrument]:
    """The same file is read once as long as it does not change."""
    own = dict(read_instruments(path))
    return own | {name: entry for name, entry in shipped_instruments().items() if name not in own}


def read_measurement(text: str, box: Box, instruments: Mapping[str, Instrument] | None = None) -> Read:
    """What a sentence says was measured, with one of the instruments given, the usual ones if none are.

    Raises
    ------
    QuantityError : not one of the things that are measured on this box, no figure, or an impossible one
    """
    rest, heat = text, None
    hot = _AT.search(rest)
    if hot is not None:
        heat = parse_measured(hot["heat"].replace("deg", "°"), usual_unit="degC").value
        rest = rest[: hot.start()] + rest[hot.end() :]
    named = _WITH.search(rest)
    if named is not None:
        rest = rest[: named.start()]
    taken = find_measure(rest, [*(entry.measure for entry in box.measurements.values()), *_fitted(box)])
    if taken.look:
        raise QuantityError(
            f"{taken.name} is looked at, not measured: right is “{taken.look}”",
            remedy="write it down as a note",
        )
    readings, unit_name = _readings(rest, taken)
    every = shipped_instruments() if instruments is None else instruments
    instrument = find_instrument(named["name"], every) if named is not None else _usual(taken, every)
    if instrument.dimension != unit(taken.unit).dimension:
        raise QuantityError(f"{taken.name} cannot be read with a {instrument.name}")
    return Read(taken, readings, unit_name, instrument, heat)


def _fitted(box: Box) -> list[Measure]:
    """Selective parts as they came out of the box, which are measured too, each in its stack."""
    uses = Counter(place.part for assembly in box.assemblies for place in assembly.places)
    found = []
    for assembly in box.assemblies:
        for place in assembly.places:
            part = box.selective_parts[place.part]
            name = part.name if uses[part.id] == 1 else f"{assembly.name} {part.name}"
            slug = fitted_slug(assembly.id, part.id)
            found.append(Measure(slug, name, possible=PARTS, instrument="outside-micrometer"))
    return found


def fitted_slug(assembly: str, part: str) -> str:
    """What the old part of a stack is measured as."""
    return f"{FITTED}{assembly}-{part}"


def _usual(taken: Measure, every: Mapping[str, Instrument]) -> Instrument:
    if taken.instrument in every:
        return every[taken.instrument]
    kind = unit(taken.unit).dimension
    fitting = [entry for entry in every.values() if entry.dimension == kind]
    if not fitting:
        raise QuantityError(f"no instrument is known for {taken.name}", remedy="say with what: … with a rule")
    return max(fitting, key=lambda entry: entry.permissible_error)


def _readings(text: str, taken: Measure) -> tuple[tuple[float, ...], str]:
    found = find_quantity(text)
    if not found:
        raise QuantityError(
            f"no figure for the {taken.name}", remedy=f"write for example {taken.name} 0.010 in"
        )
    if len(found) > MOST_READINGS:
        raise QuantityError(f"more than {MOST_READINGS} readings", remedy="take fewer, three are usual")
    last = next((entry.unit for entry in reversed(found) if entry.unit), None)
    values, name = [], taken.unit
    for entry in found:
        own = entry.unit or last
        written = f"{entry.value} {own or ''}".strip()
        # A figure without a unit may be asked about; one with a unit is refused by the name of the measure.
        possible = None if own else taken.possible
        measured = parse_measured(written, usual_unit=taken.unit, possible=possible)
        check_possible(measured.value, taken.possible, measured.unit, taken.name)
        values.append(measured.value)
        name = measured.unit
    return tuple(values), name


def kept_reading(kept: Mapping[str, Any], box: Box, every: Mapping[str, Instrument]) -> Read:
    """What was measured as it was kept: the measure of the box, the readings [SI] and the instrument."""
    slug = str(kept["measure"])
    known = {entry.measure.id: entry.measure for entry in box.measurements.values()}
    known |= {entry.id: entry for entry in _fitted(box)}
    heat = kept.get("temperature_k")
    return Read(
        known[slug],
        tuple(float(value) for value in kept["readings_si"]),
        unit(str(kept["unit"])).name,
        find_instrument(str(kept["instrument"]), every),
        None if heat is None else float(heat),
    )


def names_instrument(said: str) -> bool:
    """Whether a sentence says with what it was measured."""
    return _WITH.search(_AT.sub("", said)) is not None
