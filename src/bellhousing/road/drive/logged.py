"""A simulated drive as a logger on board would have written it."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.drive.drive import Drive
from bellhousing.road.pressures import PSI, RPM
from bellhousing.road.vehicle import MPH

FloatArray = NDArray[np.float64]

INHG = 3386.389

COLUMNS: Mapping[str, tuple[str, float, float, int]] = {
    "time_s": ("time", 1.0, 0.0, 2),
    "speed_mph": ("speed", MPH, 0.3, 2),
    "engine_rpm": ("engine", RPM, 12.0, 0),
    "vacuum_inHg": ("vacuum", INHG, 0.1, 2),
    "line_psi": ("line", PSI, 1.0, 1),
    "gear_commanded": ("gear", 1.0, 0.0, 0),
}
"""Columns: field of the drive, unit, error of the sensor in that unit, decimals; errors are judgement."""


def logged(drive: Drive, car: int = 0, *, seed: int | None = None) -> dict[str, FloatArray]:
    """Columns of one car's log in the units of their names; with a `seed` the sensors err."""
    rng = np.random.default_rng(seed)
    found = {}
    for name, (field, unit, error, decimals) in COLUMNS.items():
        kept = getattr(drive, field)
        values = (kept if kept.ndim == 1 else kept[:, car]) / unit
        if seed is not None and error > 0.0:
            values = np.maximum(values + error * rng.standard_normal(len(values)), 0.0)
        found[name] = np.round(values, decimals)
    return found


def write_log(path: Path, columns: Mapping[str, FloatArray]) -> None:
    """Write a log as comma-separated text with one line of names."""
    decimals = {name: COLUMNS[name][3] for name in columns}
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(columns)
        for row in zip(*columns.values(), strict=True):
            writer.writerow([f"{value:.{decimals[name]}f}" for name, value in zip(columns, row, strict=True)])
