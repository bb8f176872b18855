"""A box described by its readings: the rows of the tables a manual prints, or a good car showed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from bellhousing.boxes.figures import Figure, Spec
from bellhousing.boxes.kinds import FOUR_SPEED, THREE_SPEED
from bellhousing.errors import QuantityError
from bellhousing.quantities.parse import find_quantity, parse_interval
from bellhousing.quantities.show import show
from bellhousing.quantities.units import to_si

What = Literal[
    "line",
    "throttle-signal",
    "governor",
    "upshift",
    "part-throttle-downshift",
    "coast-down",
    "forced-downshift",
]
Word = Annotated[str, StringConstraints(max_length=200)]

PRESSURES = frozenset({"line", "throttle-signal", "governor"})
UPSHIFTS = ("1-2", "2-3", "3-4")
DOWNSHIFTS = ("2-1", "3-2", "4-3")
THROTTLES = ("closed", "light", "medium", "full")

_Needs = Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]

# What each kind of row must name besides `reads`, and what it may name, by kind of box.
_VACUUM_NEEDS: _Needs = {
    "line": (("range",), ("gear", "vacuum", "engine_speed", "road_speed")),
    "throttle-signal": (("vacuum",), ("road_speed",)),
    "governor": (("road_speed",), ("vacuum", "engine_speed")),
    "upshift": (("shift",), ("vacuum", "throttle")),
    "part-throttle-downshift": (("shift", "vacuum"), ()),
    "coast-down": (("shift",), ()),
    "forced-downshift": (("shift",), ()),
}
_LINKAGE_NEEDS: _Needs = {
    "line": (("range",), ("gear", "throttle", "engine_speed", "road_speed")),
    "throttle-signal": (("throttle",), ()),
    "governor": (("signal", "road_speed"), ("throttle",)),
    "upshift": (("shift", "throttle"), ()),
    "part-throttle-downshift": (("shift", "throttle"), ()),
    "coast-down": (("shift",), ()),
    "forced-downshift": (("shift",), ()),
}
_NEEDS: Mapping[str, _Needs] = {THREE_SPEED: _VACUUM_NEEDS, FOUR_SPEED: _LINKAGE_NEEDS}
_CONDITIONS = ("range", "gear", "shift", "signal", "throttle", "vacuum", "engine_speed", "road_speed")

# Words that mean nothing on boxes of the other kind.
_FOREIGN: Mapping[str, frozenset[tuple[str, str]]] = {
    THREE_SPEED: frozenset(
        {("range", "third"), ("gear", "4"), ("shift", "3-4"), ("shift", "4-3"), ("throttle", "closed")}
    ),
    FOUR_SPEED: frozenset({("range", "second")}),
}

OF_KIND = {THREE_SPEED: "", FOUR_SPEED: " on a four-speed"}

DEFAULT_STEPS = {"pressure": ("psi", 5.0), "speed": ("mph", 1.0)}
"""Steps to which tables are usually rounded; common practice, no source."""

HIGHEST = {"pressure": ("psi", 500.0), "speed": ("mph", 150.0)}


def _hose_off(raw: Any) -> Any:
    off = isinstance(raw, str) and raw.strip().lower().replace("-", " ") in ("hose off", "off", "none")
    return "0 inHg" if off else raw


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def _speed(says: str) -> Spec:
    return Spec("mph", "speed", 0, 150, "0 %", says)


_AXLE = Spec("", "number", 1.5, 8, "0 %", "axle ratio of the car the table is for")


class TableCar(_Part):
    """The car for which road speeds are printed."""

    axle_ratio: Annotated[Figure | None, _AXLE] = None
    tyre_radius: Annotated[
        Figure | None, Spec("mm", "length", 200, 600, "0 %", "rolling radius of its driven tyres")
    ] = None


class TableSteps(_Part):
    """The steps to which the table is rounded."""

    pressure: Annotated[
        Figure | None, Spec("psi", "pressure", 0, 50, "0 %", "step to which pressures are rounded")
    ] = None
    speed: Annotated[
        Figure | None, Spec("mph", "speed", 0, 20, "0 %", "step to which road speeds are rounded")
    ] = None


class RowSection(_Part):
    """One row of a table as typed."""

    what: What
    reads: Annotated[Word, Field(description="what the table prints: 65 psi, 60-75 psi, 18 mph")]
    range: Literal["P", "R", "N", "D", "third", "second", "low"] | None = None
    gear: Literal["1", "2", "3", "4"] | None = None
    shift: Literal["1-2", "2-3", "3-4", "2-1", "3-2", "4-3"] | None = None
    signal: Annotated[
        Literal["first", "second"] | None,
        Field(description="governor signal of a four-speed: first of the heavy weight, second of the light"),
    ] = None
    throttle: Annotated[
        Literal["closed", "light", "medium", "full"] | None,
        Field(description="medium is half the pedal's travel; closed only on a four-speed"),
    ] = None
    vacuum: Annotated[
        Figure | None,
        Spec("inHg", "pressure", 0, 30, "0 %", "vacuum at the modulator, or `hose off`"),
        BeforeValidator(_hose_off),
    ] = None
    engine_speed: Annotated[
        Figure | None, Spec("rpm", "rotation", 200, 6000, "0 %", "engine speed; without it the idle's")
    ] = None
    road_speed: Annotated[Figure | None, _speed("road speed; without it standing")] = None
    axle_ratio: Annotated[Figure | None, _AXLE] = None
    source: Word | None = None
    note: Word | None = None


class ReadingsSection(_Part):
    """Tables a manual prints, as typed: the car they are for, how they are rounded, and their rows."""

    car: TableCar = Field(default_factory=TableCar)
    rounded_to: TableSteps = Field(default_factory=TableSteps)
    rows: list[RowSection] = Field(min_length=1, max_length=200)


@dataclass(frozen=True)
class TableRow:
    """One row in SI: what stands in the table lies between `low` and `high`, all values alike likely.

    Parameters
    ----------
    number : place in the table, from 1
    what, range, gear, shift, signal, throttle : as typed; "" where the row has none, but for throttle
    vacuum : at the modulator [Pa], None = not named
    engine_speed : [rad/s], None = idle
    road_speed : [m/s], 0 = standing
    axle_ratio : of the car the row is for [-], None = no road speed bears on it
    low, high : what was printed, widened by half the table's step or as a range [Pa or m/s]
    unit : unit as printed
    text : the reading as printed
    line : line of the box file
    """

    number: int
    what: str
    range: str
    gear: str
    shift: str
    signal: str
    throttle: str | None
    vacuum: float | None
    engine_speed: float | None
    road_speed: float
    axle_ratio: float | None
    low: float
    high: float
    unit: str
    text: str
    line: int | None

    @property
    def name(self) -> str:
        """The row as a mechanic would call it."""
        where = self.shift or self.range
        at = [f"{self.signal} signal" if self.signal else "", self.throttle or ""]
        at += [show(self.vacuum, "inHg")] if self.vacuum is not None else []
        at += [show(self.engine_speed, "rpm")] if self.engine_speed else []
        at += [show(self.road_speed, "mph")] if self.road_speed else []
        said = " ".join(word for word in (self.what.replace("-", " "), where, *at) if word)
        return f"row {self.number}: {said}, {self.text}"


@dataclass(frozen=True)
class Table:
    """The rows of a box's tables, and the tyre of the car they are for [m], None where none is needed."""

    rows: tuple[TableRow, ...]
    tyre_radius: float | None


RowProblem = tuple[tuple[str | int, ...], str]


def table_of(
    section: ReadingsSection,
    line_of: Callable[[int], int | None] = lambda place: None,
    *,
    kind: str = THREE_SPEED,
) -> tuple[Table, list[RowProblem]]:
    """Read the rows into SI; return them with what is wrong in single rows, each with its path."""
    problems: list[RowProblem] = []
    rows: list[TableRow] = []
    needs_tyre = False
    for place, row in enumerate(section.rows):
        found = [(("rows", place, *path), said) for path, said in _row_problems(row, kind)]
        on_the_road = row.what not in PRESSURES or _si(row.road_speed) is not None
        axle = _si(row.axle_ratio) or _si(section.car.axle_ratio)
        if on_the_road and axle is None and not found:
            found.append((("rows", place), "a road speed needs the axle: type readings.car.axle_ratio"))
        needs_tyre |= on_the_road
        if not found:
            try:
                low, high, unit = _reads(row, section.rounded_to)
            except QuantityError as error:
                found.append((("rows", place, "reads"), str(error)))
            else:
                rows.append(_plain(row, place + 1, axle if on_the_road else None, low, high, unit, line_of))
        problems += found
    tyre = _si(section.car.tyre_radius)
    if needs_tyre and tyre is None:
        problems.append((("car",), "a road speed needs the tyre: type readings.car.tyre_radius"))
    return Table(tuple(rows), tyre), problems


def _plain(
    row: RowSection,
    number: int,
    axle: float | None,
    low: float,
    high: float,
    unit: str,
    line_of: Callable[[int], int | None],
) -> TableRow:
    return TableRow(
        number=number,
        what=row.what,
        range=row.range or "",
        gear=row.gear or ("1" if row.range == "D" else ""),
        shift=row.shift or "",
        signal=row.signal or "",
        throttle=row.throttle,
        vacuum=_si(row.vacuum),
        engine_speed=_si(row.engine_speed),
        road_speed=_si(row.road_speed) or 0.0,
        axle_ratio=axle,
        low=low,
        high=high,
        unit=unit,
        text=row.reads.strip(),
        line=line_of(number - 1),
    )


def _si(figure: Figure | None) -> float | None:
    return None if figure is None else figure.value


def _row_problems(row: RowSection, kind: str) -> Iterator[RowProblem]:
    needed, allowed = _NEEDS[kind][row.what]
    said = row.what.replace("-", " ")
    named = {key for key in _CONDITIONS if getattr(row, key) is not None}
    named -= {
        key for key in named if isinstance(getattr(row, key), Figure) and getattr(row, key).value is None
    }
    for key in needed:
        if key not in named:
            yield (), f"a row for {said} must name `{key}`"
    for key in _CONDITIONS:
        if key in named and key not in (*needed, *allowed):
            yield (key,), f"`{key}` says nothing about {said}{OF_KIND[kind]}: leave it out"
        elif (key, getattr(row, key)) in _FOREIGN[kind]:
            yield (key,), f"no {kind} has the {key} '{getattr(row, key)}'"
    if row.what == "upshift":
        if kind == THREE_SPEED and ("vacuum" in named) == ("throttle" in named):
            yield (), "a row for upshift names either `vacuum` or `throttle`"
        if row.shift is not None and row.shift not in UPSHIFTS:
            yield ("shift",), f"{row.shift} is a downshift"
    elif row.what not in PRESSURES and row.shift is not None and row.shift not in DOWNSHIFTS:
        yield ("shift",), f"{row.shift} is an upshift"
    if row.gear is not None and row.range not in (None, "D", "third"):
        yield ("gear",), "only D and third have several gears here"


def _reads(row: RowSection, steps: TableSteps) -> tuple[float, float, str]:
    """What the row prints, widened by half its step [SI], and its unit.

    Raises
    ------
    QuantityError : unreadable, without a unit, of another kind, impossible, or open at one end
    """
    dimension = "pressure" if row.what in PRESSURES else "speed"
    usual, step = DEFAULT_STEPS[dimension]
    text = row.reads.strip()
    printed = parse_interval(text, usual_unit=usual)
    if not any(found.unit for found in find_quantity(text)):
        raise QuantityError(f"'{text}' has no unit", remedy=f"write it as '{text} {usual}'")
    unit, most = HIGHEST[dimension]
    if not (printed.low >= 0.0 and printed.high <= to_si(most, unit)):
        if printed.low == -float("inf") or printed.high == float("inf"):
            raise QuantityError(f"'{text}' is open at one end", remedy="type both ends, such as 60-75 psi")
        raise QuantityError(
            f"'{text}' is impossible here", remedy=f"a {dimension} from 0 to {most:g} {unit} is possible"
        )
    low, high = printed.low, printed.high
    if low == high:
        typed = steps.pressure if dimension == "pressure" else steps.speed
        width = _si(typed) or to_si(step, usual)
        low, high = max(0.0, low - width / 2.0), high + width / 2.0
    return low, high, printed.unit
