"""A four-speed with throttle linkage as a reduced model that shares nothing with the program.

Common practice, no source, of low confidence: v in mph, pressures in psi, x the pedal's travel, 0 to 1. The
axle is about 3.1 and the tyre turns about 730 times a mile. Tables round pressures to 5 psi, speeds to 1 mph.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.road.printed_tables import mph, psi, speed_where
from tests.road.printed_tables import table_file as printed_file

UP = {"1-2": (3.5, 0.30), "2-3": (15.5, 1.06), "3-4": (33.4, 1.71)}
COAST = {"2-1": 5.0, "3-2": 10.0, "4-3": 16.0}  # road speeds [mph]
FORCED = 60.0  # 4-3 with the pedal on its stop [mph]


@dataclass(frozen=True)
class Linkage:
    """One car: what its rod adds to throttle pressure [psi], and the shares left of both governor signals."""

    rod: float = 0.0
    heavy: float = 1.0
    light: float = 1.0

    def throttle(self, x: float) -> float:
        """Throttle pressure at a pedal travel: shut about 2, half about 30, full about 70."""
        free = 2.0 + 56.0 * x if x < 0.5 else 30.0 + 80.0 * (x - 0.5)
        return max(0.0, free + self.rod)

    def heavy_signal(self, v: float) -> float:
        """First governor signal."""
        return min(90.0, self.heavy * 0.055 * v * v)

    def light_signal(self, v: float) -> float:
        """Second governor signal."""
        return min(90.0, self.light * 0.014 * v * v)

    def upshift(self, shift: str, x: float) -> float:
        """Road speed of an upshift."""
        spring, gain = UP[shift]
        wanted = spring + gain * self.throttle(x)

        def passed(v: float) -> bool:
            second = 0.0 if shift == "1-2" else self.light_signal(v)
            return self.heavy_signal(v) + second > wanted

        return speed_where(passed)


HEAD = "schema: 1\nname: n\nslug: n\nfamily: four-speed-linkage\n"
FEET = {"closed": 0.0, "medium": 0.5, "full": 1.0}
SOUND = Linkage()


def table_file(rows: list[str], more: str = "") -> bytes:
    """A box file with these rows."""
    return printed_file(rows, more, HEAD)


def upshift_row(shift: str, throttle: str, car: Linkage = SOUND) -> str:
    """A row of an upshift."""
    reads = mph(car.upshift(shift, FEET[throttle]))
    return f"what: upshift, shift: {shift}, throttle: {throttle}, reads: {reads}"


def full_table(car: Linkage = SOUND) -> list[str]:
    """Pressures and shifts; no 3-4 at full throttle, and no 4-3 with the pedal on its stop."""
    rows = [
        "what: line, range: D, engine_speed: 1000 rpm, reads: 85 psi",
        "what: line, range: D, gear: 4, road_speed: 40 mph, reads: 90 psi",
        "what: line, range: R, engine_speed: 1200 rpm, reads: 140-155 psi",
    ]
    rows += [
        f"what: throttle-signal, throttle: {name}, reads: {psi(car.throttle(x))}"
        for name, x in FEET.items()
        if name != "closed"
    ]
    rows += [
        f"what: governor, signal: first, road_speed: {v} mph, reads: {psi(car.heavy_signal(v))}"
        for v in (10, 20, 30)
    ]
    rows += [
        f"what: governor, signal: second, road_speed: {v} mph, reads: {psi(car.light_signal(v))}"
        for v in (20, 30, 50, 60)
    ]
    rows += [
        upshift_row(shift, name, car) for name in FEET for shift in UP if (shift, name) != ("3-4", "full")
    ]
    rows += [f"what: coast-down, shift: {shift}, reads: {mph(v)}" for shift, v in COAST.items()]
    return rows
