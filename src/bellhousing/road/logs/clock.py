"""The log's own clock made to run on: jumps, steps back, repeated rows and stamps to the whole second."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

DAY, HALF_HOUR = 86400.0, 1800.0
BACK = 2.0
"""A step back of at most this is rows out of order; a longer one is the clock being set [s]."""

FORWARD = 5.0
"""A step forward of more than this while the car goes on as before is the clock being set [s]."""

GOES_ON = {"speed": 1.0, "engine-speed": 15.0, "output-speed": 6.0}
"""Change across a step of the clock up to which the car just went on [m/s, rad/s, rad/s]."""


@dataclass
class ClockRepair:
    """Turns time stamps into a time that only grows, block after block, and counts what it met.

    step : usual time between rows [s], from the first block; given where the log has no clock
    """

    step: float | None = None
    coarse: bool | None = None
    jumps: int = 0
    repeated: int = 0
    stepped_back: int = 0
    moved: int = 0
    unread: int = 0
    clockless: bool = False
    first: float | None = None
    _latest: float | None = None
    _shift: float = 0.0
    _days: float = 0.0
    _row: int = 0
    _before: dict[str, float] = field(default_factory=dict)

    def run_on(
        self, stamps: FloatArray | None, values: Mapping[str, FloatArray], count: int
    ) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
        """Time that only grows [s], stamp on the log's own clock [s], and which of the rows are kept."""
        if stamps is None:
            self.clockless = True
            step = self.step or 0.1
            self.step = step
            time = (self._row + np.arange(count, dtype=np.float64)) * step
            self._row += count
            return time, time, np.ones(count, dtype=bool)
        if self.coarse is False and self._runs_on(stamps):
            clock = self._on_clock(stamps)
            return self._as_it_is(stamps, values), clock, np.ones(count, dtype=bool)
        keep: NDArray[np.bool_] = np.isfinite(stamps)
        self.unread += int(np.count_nonzero(~keep))
        same = self._same_as_before(stamps, values)
        self.repeated += int(np.count_nonzero(same & keep))
        keep &= ~same
        if not keep.any():
            none = np.empty(0)
            return none, none, keep
        whole = bool(keep.all())
        stamps = stamps if whole else stamps[keep]
        if self.first is None:
            self.first = float(stamps[0])
        if self.coarse is None:
            self._learn(stamps)
        stamps = self._spread(stamps) if self.coarse else stamps
        kept = {name: array if whole else array[keep] for name, array in values.items() if name in GOES_ON}
        time, stamps, forward = self._grow(stamps, kept)
        if whole and forward.all():
            return time, stamps, keep
        keep[np.flatnonzero(keep)[~forward]] = False
        return time[forward], stamps[forward], keep

    def _same_as_before(self, stamps: FloatArray, values: Mapping[str, FloatArray]) -> NDArray[np.bool_]:
        """Rows that repeat the one before in every column."""
        same = np.zeros(len(stamps), dtype=bool)
        same[1:] = stamps[1:] == stamps[:-1]
        if not same.any():
            return same
        for array in values.values():
            same[1:] &= (array[1:] == array[:-1]) | (np.isnan(array[1:]) & np.isnan(array[:-1]))
        return same

    @staticmethod
    def _written_again(
        stamps: FloatArray, steps: FloatArray, values: Mapping[str, FloatArray]
    ) -> NDArray[np.bool_]:
        """Steps back to a row that stands, the same in every figure, further up: a piece written twice."""
        again = np.zeros(len(stamps), dtype=bool)
        for place in np.flatnonzero(steps < -BACK):
            for other in np.flatnonzero(stamps[:place] == stamps[place]):
                again[place] |= all(
                    array[other] == array[place] or np.isnan(array[place]) for array in values.values()
                )
        return again

    def _learn(self, stamps: FloatArray) -> None:
        steps = np.diff(stamps)
        self.coarse = bool(len(steps) > 4 and np.mean(steps == 0) > 0.3)
        forward = steps[steps > 0]
        usual = float(np.median(forward)) if len(forward) else 0.1
        if self.coarse:
            groups = 1 + np.count_nonzero(steps > 0)
            usual = usual * groups / len(stamps)
        self.step = max(usual, 1e-4)

    def _spread(self, stamps: FloatArray) -> FloatArray:
        """Rows with one stamp spread evenly up to the next stamp."""
        starts = np.flatnonzero(np.concatenate([[True], stamps[1:] != stamps[:-1]]))
        counts = np.diff(np.append(starts, len(stamps)))
        usual = float(np.median(stamps[starts[1:]] - stamps[starts[:-1]])) if len(starts) > 1 else 1.0
        place = np.arange(len(stamps)) - np.repeat(starts, counts)
        inside = np.maximum(np.repeat(counts, counts), round(usual / (self.step or usual)))
        return np.asarray(stamps + place * usual / inside)

    def _runs_on(self, stamps: FloatArray) -> bool:
        """Whether every stamp follows the one before it, those of earlier blocks too, without a jump."""
        if not len(stamps):
            return False
        steps = (
            np.diff(stamps) if self._latest is None else np.diff(stamps, prepend=self._latest - self._shift)
        )
        longest = max(FORWARD, 20 * (self.step or 0.1))
        return bool(steps.min(initial=longest) > 0 and steps.max(initial=0.0) <= longest)

    def _as_it_is(self, stamps: FloatArray, values: Mapping[str, FloatArray]) -> FloatArray:
        """Time of stamps in which nothing is to be mended."""
        for name in GOES_ON.keys() & values.keys():
            finite = np.flatnonzero(np.isfinite(values[name][-1000:]))
            if len(finite):
                self._before[name] = float(values[name][-1000:][finite[-1]])
        time = stamps + self._shift if self._shift else stamps
        self._latest = float(time[-1])
        return time

    def _on_clock(self, stamps: FloatArray) -> FloatArray:
        """Stamps on the log's own clock, gone on over midnight [s]."""
        return stamps + self._days if self._days else stamps

    def _grow(
        self, stamps: FloatArray, values: Mapping[str, FloatArray]
    ) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
        """Time that only grows [s], the log's own clock [s], and the rows to keep."""
        if self._runs_on(stamps):
            clock = self._on_clock(stamps)
            return self._as_it_is(stamps, values), clock, np.ones(len(stamps), dtype=bool)
        step = self.step or 0.1
        before = stamps[0] - step if self._latest is None else self._latest - self._shift
        steps = np.diff(stamps, prepend=before)
        set_back = (steps < -BACK) & ~self._written_again(stamps, steps, values)
        set_forward = steps > max(FORWARD, 20 * step)
        for name, array in values.items():
            previous = np.concatenate([[self._before.get(name, np.nan)], array[:-1]])
            moved = np.abs(array - previous)
            set_forward &= np.isfinite(moved) & (moved < GOES_ON[name])
            finite = array[np.isfinite(array)]
            if len(finite):
                self._before[name] = float(finite[-1])
        if values:
            standing = values.get("speed", values.get("output-speed"))
            moving = np.zeros(1, bool) if standing is None else standing > 2.0
            # A car at rest idles on through a pause too; but no pause is so exactly a count of half hours.
            rest = (steps - step) / HALF_HOUR
            whole = (np.abs(rest - np.rint(rest)) * HALF_HOUR <= max(2.0 * step, 0.2)) & (rest > 0.5)
            set_forward &= moving | whole
        jumped = set_back | set_forward
        jumped[0] &= self._latest is not None
        midnight = set_back & (np.abs(steps + DAY) < 3600)
        gained = np.where(midnight, DAY, np.where(jumped, step - steps, 0.0))
        self.jumps += int(np.count_nonzero(jumped & ~midnight))
        time = stamps + self._shift + np.cumsum(gained)
        clock = stamps + self._days + DAY * np.cumsum(midnight)
        self._shift += float(gained.sum())
        self._days += DAY * float(np.count_nonzero(midnight))
        highest = np.maximum.accumulate(time)
        floor = np.concatenate([[-np.inf if self._latest is None else self._latest], highest[:-1]])
        forward = time > floor
        self.stepped_back += int(np.count_nonzero(~forward))
        self._latest = float(max(highest[-1], floor[0]))
        return time, clock, forward
