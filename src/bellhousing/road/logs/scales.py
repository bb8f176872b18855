"""Units that the file does not say, or says wrongly: told by range, and by whether they fit the gears."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.columns import Column
from bellhousing.road.logs.gear_set import GearSet
from bellhousing.road.logs.units import RPM, named_unit

FloatArray = NDArray[np.float64]

DELAYS = (0.0, 0.5, 1.0, 1.5, 2.0, 2.5)
MOST = 40_000
DAYS = 2e-4
"""Step of a time without a unit below which it counts days, as spreadsheets do: no logger is so quick."""

SPEEDS = ("mph", "km/h", "m/s", "knots")

SELDOM = {"knots": 0.3}
"""How much better a unit must fit than the others where nothing says it: knots and miles an hour lie no
further apart than a loose converter slips; judgement."""

LATE = 0.25
"""Worth a second of delay of the road speed takes: with a delay long enough wrong units fit, too
[1/s]; judgement."""

HIGHEST_VACUUM = 106e3
"""No manifold is emptier than empty [Pa]."""

LOWEST_PULL, HIGHEST_BOOST = 30e3, 500e3
"""Absolute pressure in the manifold that a drive exceeds at some time, and never exceeds [Pa]. Common
practice, no source."""

POOR = 0.0
"""Worth below which another count of cylinders is tried: more is against the gears than for them;
judgement."""

NEARLY = 0.15
"""Worth by which another unit may be behind and still have to be named; judgement."""

TURNS = {"rpm x0.5": 0.5, "rpm x2": 2.0}
"""What a tachometer set for another count of cylinders writes, as units, and by what it is too high."""


def settled_units(
    columns: tuple[Column, ...], figures: Mapping[str, FloatArray], gears: GearSet
) -> tuple[tuple[Column, ...], list[str]]:
    """Columns with the unit they can only have, and a sentence for each that is not the one written."""
    said: list[str] = []
    found = {column.meaning: column for column in columns}
    for meaning, column in list(found.items()):
        values = figures.get(meaning)
        if values is None or column.unit_from == "corrected":
            continue
        values = values if meaning == "time" else _some(values)
        values = values[np.isfinite(values)]
        if not len(values):
            continue
        if meaning == "time":
            found[meaning] = _time(column, values, said)
        elif column.unit_from == "figures" and meaning != "lever":
            found[meaning] = _by_range(column, values)
    _manifold(found, figures, said)
    _engine(found, figures, said)
    _road(found, figures, gears, said)
    _shaft(found, figures, gears, said)
    return tuple(found.values()), said


def _some(values: FloatArray) -> FloatArray:
    """Values spread over all of a series, enough to tell its range."""
    return values[:: max(1, len(values) // MOST)]


def _time(column: Column, values: FloatArray, said: list[str]) -> Column:
    """Milliseconds and microseconds tell themselves by their steps where no unit is written."""
    steps = np.diff(values[:MOST])
    if np.count_nonzero(steps < 0) > 0.1 * len(steps):
        steps = np.diff(np.unique(values[:MOST]))
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.1
    if column.clock or column.unit_from == "name":
        wrong = column.unit.name == "s" and usual >= 15 and not column.clock
        if not wrong:
            return column
    name = (
        "days"
        if usual < DAYS
        else "s"
        if usual < 8
        else "ms"
        if usual < 8000
        else "us"
        if usual < 8e6
        else "ns"
    )
    if column.unit_from == "name" and name != column.unit.name:
        said.append(f"'{column.name}' says s, but goes up by {usual:.4g} from row to row: read in {name}")
    return replace(column, unit=named_unit(name, "time"))


def _by_range(column: Column, values: FloatArray) -> Column:
    high = float(np.quantile(np.abs(values), 0.95))
    name = column.unit.name
    if column.meaning == "vacuum":
        name = "inHg" if high <= 31 else "kPa" if high <= 102 else "mmHg"
    elif column.meaning == "manifold-pressure":
        name = "bar" if high <= 1.6 else "psi" if high <= 16 else "inHg" if high <= 33 else "kPa"
        name = "mbar" if high > 130 else name
    elif column.meaning == "line-pressure":
        name = "bar" if high <= 25 else "psi" if high <= 350 else "kPa"
    elif column.meaning == "throttle":
        if high <= 1.3:
            return replace(column, unit=replace(column.unit, name="", factor=1.0))
        name = "V" if high <= 5.3 else "%"
    return replace(column, unit=named_unit(name, column.meaning))


def _manifold(found: dict[str, Column], figures: Mapping[str, FloatArray], said: list[str]) -> None:
    """What no engine's manifold can hold is not taken for its throttle signal; a dead sensor is named."""
    for meaning in ("vacuum", "manifold-pressure", "throttle"):
        column = found.get(meaning)
        if column is None or column.unit_from == "corrected" or meaning not in figures:
            continue
        values = _some(figures[meaning])
        values = values[np.isfinite(values)] * column.unit.factor
        if len(values) >= 200 and np.ptp(values) == 0:
            shown = f"{values[0] / column.unit.factor:.4g} {column.unit.name}".strip()
            said.append(f"'{column.name}' stands at {shown} throughout: it tells no throttle")
            continue
        if meaning == "throttle" or not len(values):
            continue
        # A sensor that fails now and then says figures far too high: those are left out later.
        high = float(np.quantile(values, 0.99))
        high = high if high <= HIGHEST_BOOST else float(np.quantile(values, 0.9))
        least = -HIGHEST_VACUUM if meaning == "vacuum" else LOWEST_PULL
        most = HIGHEST_VACUUM if meaning == "vacuum" else HIGHEST_BOOST
        if (float(np.median(values)) > 0 or meaning == "vacuum") and not least <= high <= most:
            del found[meaning]
            other = "manifold-pressure" if meaning == "vacuum" else "vacuum"
            said.append(
                f"'{column.name}' cannot be {meaning.replace('-', ' ')} in {column.unit.name}, as it is "
                f"{high / column.unit.factor:.4g} at most: not used; say what it is, for example --column "
                f"'{other}={column.name} in {'kPa' if meaning == 'vacuum' else 'inHg'}'"
            )


def _engine(found: dict[str, Column], figures: Mapping[str, FloatArray], said: list[str]) -> None:
    column = found.get("engine-speed")
    if column is None or column.unit_from == "corrected":
        return
    values = _some(figures["engine-speed"])
    running = values[np.isfinite(values) & (values > 0)]
    if not len(running):
        return
    high = float(np.quantile(running, 0.95)) * column.unit.factor / RPM
    if 700 <= high <= 9000:
        return
    for name in ("rpm", "rpm x1000", "rev/s", "rad/s"):
        unit = named_unit(name, "engine-speed")
        if 900 <= float(np.quantile(running, 0.95)) * unit.factor / RPM <= 7000:
            if column.unit_from == "name":
                said.append(f"'{column.name}' cannot be in {column.unit.name}: read as {name}")
            found["engine-speed"] = replace(column, unit=unit, unit_from="range")
            return


def _road(
    found: dict[str, Column], figures: Mapping[str, FloatArray], gears: GearSet, said: list[str]
) -> None:
    column = found.get("speed")
    engine = found.get("engine-speed")
    if column is None or engine is None or column.unit_from == "corrected":
        return
    step = _step(found.get("time"), figures)
    every = max(1, round(0.2 / step))
    turns = figures["engine-speed"][::every][:MOST] * engine.unit.factor
    road = figures["speed"][::every][:MOST]
    step *= every
    written = column.unit_from == "name"
    # Miles an hour and knots differ by no more than a tyre may: what is written then stands.
    far = [name for name in SPEEDS if not written or _far_apart(name, column.unit.factor)]
    worth = {
        name: _best_fit(turns, road * named_unit(name, "speed").factor, gears, step)
        - (0.0 if name == column.unit.name else SELDOM.get(name, 0.0))
        for name in (*far, column.unit.name)
    }
    best = max(worth, key=lambda name: worth[name] + (0.05 if name == column.unit.name else 0.0))
    better = worth[best] - worth[column.unit.name]
    if worth[column.unit.name if written else best] < POOR and _count_of_cylinders(
        found, turns, road * column.unit.factor, gears, step, max(worth.values()), said
    ):
        return
    if best != column.unit.name and worth[best] >= 0.25 and better > (0.3 if written else 0.0):
        if written:
            said.append(
                f"'{column.name}' says {column.unit.name}, but engine speed fits the gears only in {best}: "
                f"read as {best}; a tyre radius or axle ratio given wrongly would look the same"
            )
        found["speed"] = replace(
            column, unit=named_unit(best, "speed"), unit_from="gears" if written else "figures"
        )
    if worth[best] < POOR:
        said.append(
            f"'{column.name}' and '{engine.name}' fit no gear of this box: look at what they are, in "
            "which unit, and at the axle ratio and tyre radius"
        )
    second = max((name for name in worth if name != best), key=worth.__getitem__)
    if not written and second != "knots" and worth[best] - worth[second] < NEARLY and worth[second] > 0.25:
        said.append(
            f"'{column.name}' fits the gears nearly as well in {second} as in {found['speed'].unit.name}: "
            f"say which it is, for example --column 'speed={column.name} in {second}'"
        )


def _count_of_cylinders(
    found: dict[str, Column],
    turns: FloatArray,
    road: FloatArray,
    gears: GearSet,
    step: float,
    otherwise: float,
    said: list[str],
) -> bool:
    """Whether the engine speed fits no gear, but does when halved or doubled; it is read so then."""
    column = found["engine-speed"]
    if column.unit.name != "rpm":
        return False
    worth = {name: _best_fit(turns * factor, road, gears, step) for name, factor in TURNS.items()}
    best = max(worth, key=worth.__getitem__)
    if worth[best] < 0.4 or worth[best] - otherwise < (0.1 if otherwise > 0 else 0.5):
        return False
    said.append(
        f"'{column.name}' fits the gears only when {'halved' if TURNS[best] < 1 else 'doubled'}, as from a "
        f"tachometer set for another count of cylinders: read as {best}; a tyre radius, an axle ratio or a "
        "unit given wrongly would look the same"
    )
    found["engine-speed"] = replace(column, unit=named_unit(best, "engine-speed"), unit_from="gears")
    return True


def _shaft(
    found: dict[str, Column], figures: Mapping[str, FloatArray], gears: GearSet, said: list[str]
) -> None:
    """An output shaft that does not go with the road is not used; one that fits no gear is named."""
    shaft, road, engine = (found.get(name) for name in ("output-speed", "speed", "engine-speed"))
    if shaft is None or engine is None or shaft.unit_from == "corrected" or shaft.how != "guessed":
        return
    turns = _some(figures["output-speed"]) * shaft.unit.factor
    if road is not None:
        driven = gears.output_speed(_some(figures["speed"]) * road.unit.factor)
        moving = np.isfinite(turns) & np.isfinite(driven) & (driven > 20.0)
        if np.count_nonzero(moving) < 20:
            return
        usual = float(np.median(turns[moving] / driven[moving]))
        if not 0.75 <= usual <= 1.33:
            del found["output-speed"]
            said.append(
                f"'{shaft.name}' turns {usual:.2f} times as fast as the road speed drives the output "
                "shaft, by the axle ratio and tyre radius given: not used"
            )
        return
    every = max(1, round(0.2 / _step(found.get("time"), figures)))
    speed = figures["engine-speed"][::every][:MOST] * engine.unit.factor
    output = gears.road_speed(figures["output-speed"][::every][:MOST] * shaft.unit.factor)
    if _best_fit(speed, output, gears, _step(found.get("time"), figures) * every) < 0.0:
        said.append(
            f"'{shaft.name}' and '{engine.name}' fit no gear of this box: look at what they are, and the unit"
        )


def _far_apart(name: str, factor: float) -> bool:
    """Whether a unit of speed is a quarter more or less than a factor."""
    return bool(abs(np.log(named_unit(name, "speed").factor / factor)) > np.log(1.25))


def _best_fit(engine: FloatArray, road: FloatArray, gears: GearSet, step: float) -> float:
    """How well they go together, the road speed as late as suits it best [-]."""
    late = {round(delay / step) for delay in DELAYS}
    return max(
        fit_to_gears(engine[: len(engine) - rows], road[rows:], gears, step) - LATE * rows * step
        for rows in late
        if rows < len(road)
    )


def _step(column: Column | None, figures: Mapping[str, FloatArray]) -> float:
    """Usual time between rows [s]."""
    if column is None:
        return 0.1
    stamps = figures["time"][np.isfinite(figures["time"])]
    span = float(np.sum(np.clip(np.diff(stamps), 0.0, 60.0 / column.unit.factor))) * column.unit.factor
    return max(span / max(len(stamps) - 1, 1), 1e-3)


def fit_to_gears(engine: FloatArray, road: FloatArray, gears: GearSet, step: float = 0.1) -> float:
    """How well engine and road speed go together in some gear [-]; higher is better.

    Share of moving samples in which a gear's turbine turns at 0.93 to 1.01 of the engine's speed, and of
    samples slowing down in which it turns at 0.97 to 1.12 of it, and at 0.98 to 1.08; less twice the share
    that no gear explains: where even the highest asks for a turbine much faster than an engine that does not
    idle, or even the lowest for one much slower than an engine well above the speed at which it stalls.
    """
    output = gears.output_speed(road)
    there = np.isfinite(engine) & np.isfinite(road) & (road > 4.0) & (engine > 1100 * RPM)
    if np.count_nonzero(there) < 20:
        return 0.0
    turns = output[there] / engine[there]
    near = _in_any(turns, gears, 0.93, 1.01)
    never = min(gears.ratios) * turns > 1.15
    slow = (max(gears.ratios) * turns < 0.75) & (engine[there] > 1.1 * gears.stall)
    worth = float(near.mean() - 2.0 * never.mean() - 2.0 * slow.mean())
    span = max(1, round(1.0 / step))
    change = np.zeros(len(road))
    change[: len(road) - span] = road[span:] - road[: len(road) - span]
    driven = change[there] < -0.5 * span * step
    if np.count_nonzero(driven) > 20:
        worth += 0.4 * float(np.mean(_in_any(turns[driven], gears, 0.97, 1.12)))
        worth += 0.6 * float(np.mean(_in_any(turns[driven], gears, 0.98, 1.08)))
    return worth


def _in_any(turns: FloatArray, gears: GearSet, low: float, high: float) -> NDArray[np.bool_]:
    """Whether output over engine speed lies, times the ratio of some gear, between two bounds."""
    near = np.zeros(len(turns), dtype=bool)
    for ratio in gears.ratios:
        near |= (turns > low / ratio) & (turns < high / ratio)
    return near
