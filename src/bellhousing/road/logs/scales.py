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
            found[meaning] = _time(column, values)
        elif column.unit_from == "figures" and meaning != "lever":
            found[meaning] = _by_range(column, values)
    _engine(found, figures, said)
    _road(found, figures, gears, said)
    return tuple(found.values()), said


def _some(values: FloatArray) -> FloatArray:
    """Values spread over all of a series, enough to tell its range."""
    return values[:: max(1, len(values) // MOST)]


def _time(column: Column, values: FloatArray) -> Column:
    """Milliseconds and microseconds tell themselves by their steps where no unit is written."""
    steps = np.diff(values[:MOST])
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
    return replace(column, unit=named_unit(name, "time"))


def _by_range(column: Column, values: FloatArray) -> Column:
    high = float(np.quantile(np.abs(values), 0.99))
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
        for name in (*far, column.unit.name)
    }
    best = max(worth, key=lambda name: worth[name] + (0.05 if name == column.unit.name else 0.0))
    if best == column.unit.name or worth[best] < 0.25:
        return
    if worth[best] - worth[column.unit.name] > (0.3 if written else 0.1):
        if written:
            said.append(
                f"'{column.name}' says {column.unit.name}, but engine speed fits the gears only in {best}: "
                f"read as {best}; a tyre radius or axle ratio given wrongly would look the same"
            )
        found["speed"] = replace(
            column, unit=named_unit(best, "speed"), unit_from="gears" if written else "figures"
        )


def _far_apart(name: str, factor: float) -> bool:
    """Whether a unit of speed is a quarter more or less than a factor."""
    return bool(abs(np.log(named_unit(name, "speed").factor / factor)) > np.log(1.25))


def _best_fit(engine: FloatArray, road: FloatArray, gears: GearSet, step: float) -> float:
    """How well they go together, the road speed as late as suits it best [-]."""
    late = {round(delay / step) for delay in DELAYS}
    return max(
        fit_to_gears(engine[: len(engine) - rows], road[rows:], gears, step)
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
    samples slowing down in which it turns at 0.97 to 1.12 of it, less twice the share that no gear explains:
    where even the highest asks for a turbine much faster than an engine that does not idle.
    """
    output = gears.output_speed(road)
    there = np.isfinite(engine) & np.isfinite(road) & (road > 4.0) & (engine > 1100 * RPM)
    if np.count_nonzero(there) < 20:
        return 0.0
    turns = output[there] / engine[there]
    near = _in_any(turns, gears, 0.93, 1.01)
    never = min(gears.ratios) * turns > 1.15
    worth = float(near.mean() - 2.0 * never.mean())
    span = max(1, round(1.0 / step))
    change = np.zeros(len(road))
    change[: len(road) - span] = road[span:] - road[: len(road) - span]
    driven = change[there] < -0.5 * span * step
    if np.count_nonzero(driven) > 20:
        worth += 0.6 * float(np.mean(_in_any(turns[driven], gears, 0.97, 1.12)))
    return worth


def _in_any(turns: FloatArray, gears: GearSet, low: float, high: float) -> NDArray[np.bool_]:
    """Whether output over engine speed lies, times the ratio of some gear, between two bounds."""
    near = np.zeros(len(turns), dtype=bool)
    for ratio in gears.ratios:
        near |= (turns > low / ratio) & (turns < high / ratio)
    return near
