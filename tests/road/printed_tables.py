"""Tables as a manual would print them, written from a reduced model that shares nothing with the program.

Common practice, no source: v in mph, g governor, m throttle signal and L line in psi, V vacuum in inHg. The
axle is about 3.1 and the tyre turns about 730 times a mile. Pressures are rounded to 5 psi, speeds to 1 mph.
"""

from __future__ import annotations

from collections.abc import Callable

HEAD = "schema: 1\nname: n\nslug: n\nfamily: three-speed-vacuum\n"
LINE_VACUUMS = (16, 10, 5, 0)
SHIFT_VACUUMS = (16, 12, 10, 5)
TYRE = 1609344.0 / 730.0 / 6.283185307  # rolling radius [mm]


def governor(v: float) -> float:
    """Governor pressure at a road speed."""
    return 0.055 * v * v if v < 20.0 else 18.4 + 0.009 * v * v


def signal(vacuum: float, g: float = 0.0) -> float:
    """Throttle signal at a vacuum, cut back by the governor."""
    return max(0.0, 85.0 * max(0.0, 1.0 - vacuum / 16.0) - 0.5 * g)


def line(vacuum: float, reverse: bool = False) -> float:
    """Line pressure of the standing car."""
    return (65.0 + 1.06 * signal(vacuum)) * (1.58 if reverse else 1.0)


def speed_where(passed: Callable[[float], bool]) -> float:
    """Lowest road speed at which something has come, to a millionth, by halving."""
    low, high = 0.0, 120.0
    while high - low > 1e-6:
        middle = (low + high) / 2.0
        low, high = (low, middle) if passed(middle) else (middle, high)
    return high


def upshift(shift: str, vacuum: float) -> float:
    """Road speed of an upshift."""
    spring, gain = {"1-2": (7.0, 0.49), "2-3": (18.0, 1.14)}[shift]
    return speed_where(lambda v: governor(v) > spring + gain * signal(vacuum, governor(v)))


def downshift(shift: str, forced: bool = False) -> float:
    """Road speed of a downshift, closed throttle or forced."""
    spring, gain = {"2-1": (2.0, 0.30), "3-2": (9.3, 0.76)}[shift]
    return speed_where(lambda v: governor(v) > spring + (gain * 70.0 if forced else 0.0))


def psi(value: float) -> str:
    """A pressure as printed."""
    return f"{5 * round(value / 5.0)} psi"


def mph(value: float) -> str:
    """A speed as printed."""
    return f"{round(value)} mph"


def table_file(rows: list[str], more: str = "", head: str = HEAD) -> bytes:
    """A box file with these rows."""
    listed = "".join(f"    - {{{row}}}\n" for row in rows)
    car = f"  car: {{axle_ratio: 3.1, tyre_radius: {TYRE:.0f} mm}}\n"
    return f"{head}{more}readings:\n{car}  rows:\n{listed}".encode()


def line_row(lever: str, vacuum: float) -> str:
    """A row of line pressure."""
    reads = psi(line(vacuum, lever == "R"))
    return f"what: line, range: {lever}, vacuum: {vacuum} inHg, engine_speed: 1200 rpm, reads: {reads}"


def upshift_row(shift: str, vacuum: float) -> str:
    """A row of an upshift."""
    return f"what: upshift, shift: {shift}, vacuum: {vacuum} inHg, reads: {mph(upshift(shift, vacuum))}"


def full_table() -> list[str]:
    """Pressures and shifts; no shift with the hose off or the pedal on the floor, no forced downshift."""
    rows = [line_row(lever, vacuum) for lever in "DR" for vacuum in LINE_VACUUMS]
    rows += [
        f"what: throttle-signal, vacuum: {vacuum} inHg, reads: {psi(signal(vacuum))}"
        for vacuum in (12, 8, 4, 0)
    ]
    rows += [
        f"what: governor, road_speed: {v} mph, reads: {psi(governor(v))}" for v in (10, 20, 30, 40, 50, 60)
    ]
    rows += [upshift_row(shift, vacuum) for vacuum in SHIFT_VACUUMS for shift in ("1-2", "2-3")]
    rows += [f"what: coast-down, shift: {shift}, reads: {mph(downshift(shift))}" for shift in ("3-2", "2-1")]
    return rows
