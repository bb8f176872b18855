"""Slip of clutches and bands, and of the converter, from engine speed over road speed under load.

How hard the engine pulls with the manifold so full does not depend on the gear; where engine speed is higher
than that pull explains through the converter, something behind it slips. Where only the throttle tells how
full it is, a slower engine may pull harder at the same opening.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from bellhousing.road.logs.gear_set import GearSet, engine_at, pull
from bellhousing.road.logs.gears import GearPath
from bellhousing.road.logs.smoothing import odd, slope
from bellhousing.road.logs.tracks import Track
from bellhousing.road.logs.units import RPM
from bellhousing.road.logs.usual_pull import CLOSED

FloatArray = NDArray[np.float64]

LEAST = 100 * RPM
"""Engine speed beyond what the converter explains from which it is called slip [rad/s]: the trade's flare."""

UNSURE = 0.12
"""Share by which the pull at one opening may differ between gears, as torque varies with speed; judgement."""

UNSURE_COUPLED = 0.20
"""The same with a fluid coupling, whose own share of the pull differs between gears; judgement."""

SPEED_DOUBT = 0.02
"""Twice the share by which the speeds of engine and turbine may be off against each other [-]; judgement."""

CHOKED = 0.5
"""Power of the engine's speed by which its pull falls at a small opening, torque with the speed itself: so
much air passes in a time. Wide open it does not fall [-]; judgement between the two."""

SHORTEST, LEAST_TIME = 0.8, 1.5
"""How long a slip goes on at a stretch, and in the whole drive, to be told [s]; judgement."""

BINS = 12
CLOSE_TO_SHIFT = 0.6
MOST_SAMPLES = 400_000


@dataclass(frozen=True)
class Slip:
    """Slip of a gear: its share of the turbine's speed [-] and as engine speed [rad/s], for how long [s]."""

    gear: int
    share: float
    engine: float
    seconds: float


@dataclass
class SlipReader:
    """Gathers what a drive says of slip, stretch by stretch, in bounded memory."""

    gears: GearSet
    loaded: bool = True
    opening: bool = False
    _parts: list[FloatArray] = field(default_factory=list)
    _cruise: list[FloatArray] = field(default_factory=list)
    _count: int = 0

    def take(self, track: Track, path: GearPath, wanted: slice) -> None:
        """Add the steady pulls of one stretch."""
        step = track.step
        stride = max(1, round(0.2 / step))
        ratio = self.gears.array[path.gear]
        self.loaded = self.loaded and bool(len(track.load))
        self.opening = self.opening or not len(track.charge)
        load = next((known for known in (track.charge, track.load) if len(known)), None)
        load = self._load_by_gain(path, ratio) if load is None else load
        steady = path.told & ~path.backwards & (load > CLOSED) & (path.speed > 3.0)
        if len(track.load):
            steady &= np.abs(slope(load, odd(0.7, step), step)) < 0.15
        near = np.zeros(len(track), dtype=bool)
        for change in path.changes:
            margin = round(CLOSE_TO_SHIFT / step)
            near[max(0, change.edge.begin - margin) : change.edge.end + margin] = True
        steady &= ~near
        mask = np.zeros(len(track), dtype=bool)
        mask[wanted] = True
        rows = np.flatnonzero(steady & mask)[::stride]
        if not len(rows):
            return
        part = np.stack(
            [
                path.gear[rows],
                load[rows],
                track.engine[rows],
                ratio[rows] * path.output[rows],
                track.time[rows],
            ]
        )
        self._count += part.shape[1]
        if self._count <= MOST_SAMPLES:
            self._parts.append(part)
        top = (path.gear[rows] == len(ratio) - 1) | (path.gear[rows] == len(self.gears.ratios) - 1)
        quiet = top & (np.abs(path.gain[rows]) < 0.3) & (path.speed[rows] > 15.0)
        self._cruise.append(1.0 - part[3][quiet] / part[2][quiet])

    def _load_by_gain(self, path: GearPath, ratio: FloatArray) -> FloatArray:
        """Where nothing tells the throttle: what the car's gain and drag ask of the engine, as a share."""
        asked = (path.gain + 0.2 + 3e-4 * path.speed**2) / ratio
        return np.clip(asked / 2.0, 0.0, 1.0)

    def pulled(self) -> dict[int, float]:
        """Seconds of steady pull in each gear, from 1."""
        gear = np.concatenate(self._parts, axis=1)[0] if self._parts else np.empty(0)
        return {n + 1: 0.2 * float(np.count_nonzero(gear == n)) for n in range(len(self.gears.ratios))}

    def converter(self) -> tuple[float, float] | None:
        """Converter slip cruising in top [-] with its spread, None if it never cruised."""
        shares = np.concatenate(self._cruise) if self._cruise else np.empty(0)
        return (float(np.median(shares)), float(np.std(shares))) if len(shares) > 15 else None

    def slips(self) -> tuple[Slip, ...]:
        """Every gear that slipped."""
        if not self._parts:
            return ()
        gear, load, engine, turbine, time = np.concatenate(self._parts, axis=1)
        factor = self.gears.factors[gear.astype(np.intp)]
        usual, at = self._usual(gear, load, factor * pull(engine, turbine), engine)
        if self.opening and self.loaded:
            usual = usual * np.maximum(at / np.maximum(engine, 1.0), 1.0) ** (CHOKED * (1.0 - load))
        usual = usual / factor
        explained = engine_at(usual, turbine)
        unsure = (UNSURE_COUPLED if self.gears.fluid else UNSURE) * (1 if self.loaded else 2)
        doubt = engine_at(usual * (1 + unsure), turbine) - explained
        over = engine - explained
        judged = turbine > 0.7 * explained
        # What slips is the turbine: the speed at which the same pull would give this engine speed.
        real = np.sqrt(np.sqrt(np.maximum(engine**2 * (engine**2 - np.sign(usual) * usual**2), 0.0)))
        share = real / np.maximum(turbine, 1.0) - 1.0
        least, smallest = (LEAST, 0.045) if self.loaded else (2.0 * LEAST, 0.06)
        found = []
        for index in range(len(self.gears.ratios)):
            here = judged & (gear == index) & (over > least) & (over - doubt > 0.5 * least)
            here &= share > smallest
            runs = _long(time[here])
            rows = np.flatnonzero(here)[runs]
            if 0.2 * len(rows) >= LEAST_TIME:
                found.append(
                    Slip(
                        index + 1,
                        float(np.median(share[rows])),
                        float(np.median(over[rows])),
                        0.2 * len(rows),
                    )
                )
        return tuple(found)

    def _usual(
        self, gear: FloatArray, load: FloatArray, pulls: FloatArray, engine: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """The pull at each sample's opening, and at which engine speed [rad/s]: that of the gear in which the
        engine pulls least there.

        Of two speeds nearly the same the pull is hardly told: what so much of their difference is worth is
        allowed where a gear slips less than the first at the same pull.
        """
        vague = SPEED_DOUBT * (self.gears.factors**2 - 1.0)
        place = np.minimum((load * BINS).astype(np.int64), BINS - 1)
        middles = (np.arange(BINS) + 0.5) / BINS
        most = 1.08 * self.gears.stall * np.sqrt(np.minimum(1.0, 0.35 + middles))
        least, at = np.full(BINS, np.nan), np.zeros(BINS)
        for bin_ in range(BINS):
            medians = []
            for index in range(len(self.gears.ratios)):
                rows = (place == bin_) & (gear == index)
                if np.count_nonzero(rows) >= 6:
                    middle = float(np.median(pulls[rows]))
                    turns = float(np.median(engine[rows]))
                    doubt = float(vague[index] * turns**2 / max(middle, 20.0))
                    medians.append((middle + max(doubt, 0.0), turns))
            if medians:
                least[bin_], at[bin_] = min(*medians, (float(most[bin_]), 0.0))
        known = np.flatnonzero(np.isfinite(least))
        if not len(known):
            return np.full(len(pulls), self.gears.stall), np.zeros(len(pulls))
        usual, speed = (np.interp(load, middles[known], figures[known]) for figures in (least, at))
        return np.asarray(usual), np.asarray(speed)


def _long(time: FloatArray) -> NDArray[np.bool_]:
    """Samples that belong to a run lasting long enough."""
    if not len(time):
        return np.zeros(0, dtype=bool)
    starts = np.flatnonzero(np.concatenate([[True], np.diff(time) > 0.65]))
    ends = np.append(starts[1:], len(time))
    keep = np.zeros(len(time), dtype=bool)
    for begin, end in zip(starts, ends, strict=True):
        keep[begin:end] = time[end - 1] - time[begin] >= SHORTEST
    return keep
