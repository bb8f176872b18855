"""Reduced model of a four-speed with coupling, throttle rod and two governor signals.

Speeds v [mph], pressures [psi]: first signal min(90, 0.055 v^2), second min(90, 0.014 v^2); throttle
pressure T about 3, 30 and 70 at closed, half and full; 1-2 when G1 > 3.5 + 0.30 T, 2-3 when
G1 + G2 > 15.5 + 1.06 T, 3-4 when G1 + G2 > 33.4 + 1.71 T; back at 16, 10 and 5 mph. Common practice; invented
laws of what faults do to it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from benchmarks.diagnosis.reduced import (
    SHARED,
    SPEEDS,
    Bend,
    Generator,
    Parameters,
    Reading,
    add,
    either,
    engaging,
    first_speed,
    put,
    times,
)

ROD = 105.0
"""Throttle pressure per inch of rod [psi/in]: about 6.5 psi for a sixteenth."""


def draw(rng: Generator) -> Parameters:
    """A sound car."""

    def about(middle: float, spread: float) -> float:
        return float(rng.normal(middle, spread))

    return {
        "g1": about(1.0, 0.05),
        "g2": about(1.0, 0.05),
        "residual": 0.0,
        "closed": about(3.0, 0.8),
        "half": about(30.0, 2.0),
        "full": about(70.0, 4.0),
        "rod": 0.0,
        "play": 0.0,
        "throttle_stuck": math.nan,
        "short": 0.0,
        "spring12": about(3.5, 0.3),
        "spring23": about(15.5, 1.0),
        "spring34": about(33.4, 2.0),
        "down21": about(5.0, 0.3),
        "down32": about(10.0, 0.5),
        "down43": about(16.0, 0.6),
        "forced": about(60.0, 2.0),
        "idle_line": about(70.0, 5.0),
        "line": about(84.0, 4.0),
        "boost": about(1.65, 0.04),
        "hot_ratio": about(0.93, 0.03),
        "vacuum": about(18.0, 0.7),
        "idle": about(450.0, 15.0),
        "stall": about(1700.0, 55.0),
        "drive": about(0.9, 0.09),
        "reverse": about(0.95, 0.1),
        "cold": about(1.15, 0.1),
        "line_idle": 1.0,
        "line_revs": 1.0,
        "line_stall": 1.0,
        "line_cruise": 1.0,
        "line_stuck": math.nan,
        "late_drive": 0.0,
        "late_reverse": 0.0,
        "drained": 0.0,
        "cold_drive": 0.0,
        "cold_reverse": 0.0,
        "cold_all": 0.0,
        "stall_drive": 1.0,
        "stall_reverse": 1.0,
        "stick12": 0.0,
        "stick23": 0.0,
        "stick34": 0.0,
        "no_forced": 0.0,
        "tacky": 0.0,
        "dead": 0.0,
    }


FAULTS: Mapping[str, tuple[Bend, ...]] = {
    **SHARED,
    "tv-rod-out-of-setting": (either(0.5, add("rod", 0.06, 0.25), add("rod", -0.06, -0.2)),),
    "tv-linkage-worn": (put("play", 0.03, 0.12),),
    "tv-valve-stuck": (either(0.5, put("throttle_stuck", 8.0, 0.0), put("throttle_stuck", 40.0, 70.0)),),
    "front-band-worn": (
        add("late_drive", 0.0, 0.9),
        add("late_reverse", 0.0, 1.0),
        times("stall_drive", 1.0, 1.12),
        times("stall_reverse", 1.0, 1.2),
    ),
    "rear-band-worn": (add("late_drive", 0.0, 0.9), times("stall_drive", 1.0, 1.15)),
    "front-servo-faulty": (add("late_drive", 0.0, 0.5), add("late_reverse", 0.0, 0.5)),
    "rear-servo-faulty": (add("late_drive", 0.0, 0.5),),
    "clutch-feed-rings-worn": (times("hot_ratio", 0.97, 0.78), add("late_drive", 0.0, 0.4)),
    "reverse-anchor-faulty": (add("late_reverse", 0.4, 4.0), times("stall_reverse", 1.0, 1.4)),
    "front-pump-worn": (
        times("line_idle", 0.82, 0.45),
        times("line_revs", 0.96, 0.75),
        times("line_stall", 0.96, 0.8),
        times("hot_ratio", 0.85, 0.55),
        add("late_drive", 0.2, 1.6),
        add("late_reverse", 0.2, 1.6),
    ),
    "rear-pump-worn": (times("line_cruise", 0.95, 0.7),),
    "line-regulator-stuck": (
        either(0.5, put("line_stuck", 50.0, 28.0), put("line_stuck", 115.0, 180.0)),
        add("late_drive", 0.0, 0.7),
        add("late_reverse", 0.0, 0.7),
    ),
    "governor-first-stage-stuck": (either(0.6, times("g1", 0.5, 0.0), add("residual", 4.0, 14.0)),),
    "governor-second-stage-stuck": (times("g2", 0.6, 0.0),),
    "governor-pipes-leaking": (times("g1", 0.82, 0.4), times("g2", 0.82, 0.4)),
    "shift-valve-12-stuck": (either(0.5, put("stick12", -1.0, -1.0), put("stick12", 1.0, 1.0)),),
    "shift-valve-23-stuck": (put("stick23", -1.0, -1.0),),
    "shift-valve-34-stuck": (put("stick34", -1.0, -1.0),),
    "coupling-seal-leaking": (add("drained", 0.0, 3.0),),
    "coupling-drains-back": (add("drained", 1.2, 7.0),),
    "coupling-vanes-damaged": (times("stall_drive", 1.05, 1.3), times("stall_reverse", 1.05, 1.3)),
    "rear-unit-bushes-worn": (times("hot_ratio", 0.97, 0.82),),
    "forced-downshift-stop-out": (put("no_forced", 1.0, 1.0),),
    "idle-too-high": (add("idle", 150.0, 450.0),),
    "throttle-not-opening-fully": (put("short", 0.15, 0.5), put("no_forced", 1.0, 1.0)),
    "fluid-overfilled": (times("line_revs", 1.0, 0.93),),
    "pickup-drawing-air": (
        times("line_idle", 0.97, 0.8),
        times("line_revs", 0.95, 0.75),
        add("late_drive", 0.0, 0.9),
        add("late_reverse", 0.0, 0.9),
        add("cold_all", 0.2, 1.6),
    ),
    "snap-ring-misfitted": (add("late_drive", 0.0, 1.6),),
}


def readings(p: Parameters, rng: Generator) -> dict[str, Reading]:
    """What instruments would show on this car if they were perfect."""
    found: dict[str, Reading] = {
        "idle-speed": p["idle"],
        "manifold-vacuum-idle": p["vacuum"],
        "stall-drive": p["stall"] * p["stall_drive"],
        "stall-reverse": p["stall"] * p["stall_reverse"],
        "governor-at-rest": p["residual"],
        "line-hot-against-cold": 100.0 * p["hot_ratio"],
        "tv-closed": _throttle(p, "closed", 0.0),
        "tv-half": _throttle(p, "half", 0.0),
        "tv-full": _throttle(p, "full", 0.0),
        "forced-down-43": "never" if p["no_forced"] else p["forced"],
    }
    found.update({f"g1-{v}": float(_first_signal(p, np.asarray(float(v)))) for v in (10, 20, 30)})
    found.update({f"g2-{v}": float(min(90.0, p["g2"] * 0.014 * v**2)) for v in (30, 50)})
    found.update(_lines(p))
    found.update(engaging(p))
    found.update(_shifts(p, rng))
    return found


def _first_signal(p: Parameters, v: np.ndarray) -> np.ndarray:
    return np.asarray(np.minimum(90.0, p["residual"] + p["g1"] * 0.055 * v**2))


def _throttle(p: Parameters, place: str, slack: float) -> float:
    if not math.isnan(p["throttle_stuck"]):
        return p["throttle_stuck"]
    pressure = p[place] * (1.0 - p["short"] if place == "full" else 1.0)
    return max(0.0, pressure + ROD * (p["rod"] - slack))


def _lines(p: Parameters) -> dict[str, Reading]:
    if not math.isnan(p["line_stuck"]):
        names = ["line-drive-idle", "line-neutral-idle", "line-drive-1000", "line-reverse-idle"]
        names += ["line-reverse-1000", "line-stall", "line-cruise"]
        return {**dict.fromkeys(names, p["line_stuck"]), "line-drive-below-neutral": 0.0}
    idle, line = p["idle_line"] * p["line_idle"], p["line"] * p["line_revs"]
    return {
        "line-drive-idle": idle,
        "line-neutral-idle": idle,
        "line-drive-1000": line,
        "line-reverse-idle": idle * p["boost"],
        "line-reverse-1000": line * p["boost"],
        "line-stall": 1.05 * p["line"] * p["line_stall"],
        "line-cruise": 1.05 * line * p["line_cruise"],
        "line-drive-below-neutral": 0.0,
    }


def _shifts(p: Parameters, rng: Generator) -> dict[str, Reading]:
    g1 = _first_signal(p, SPEEDS)
    both = g1 + np.minimum(90.0, p["g2"] * 0.014 * SPEEDS**2)
    found: dict[str, Reading] = {}
    for name, place in (("light", "closed"), ("medium", "half"), ("full", "full")):
        throttle = _throttle(p, place, p["play"] * float(rng.random()) if p["play"] else 0.0)
        tacky = rng.normal(0.5, 0.5, 3) * p["tacky"] if p["tacky"] else (0.0, 0.0, 0.0)
        before: Reading = 0.0
        for shift, signal, spring, gain in (
            ("12", g1, "spring12", 0.30),
            ("23", both, "spring23", 1.06),
            ("34", both, "spring34", 1.71),
        ):
            over = signal > p[spring] + gain * throttle + tacky[int(shift[0]) - 1]
            speed = "never" if before == "never" else first_speed(over, p[f"stick{shift}"])
            if isinstance(speed, float) and isinstance(before, float):
                speed = max(speed, before + 0.5)
            found[f"upshift-{shift}-{name}"] = before = speed
    scale = {"21": 1.0, "32": 1.0, "43": 1.0}
    for shift in scale:
        weak = max(0.05, p["g1"] if shift != "43" else 0.8 * p["g1"] + 0.2 * p["g2"])
        found[f"coast-down-{shift}"] = min(80.0, p[f"down{shift}"] / math.sqrt(weak))
    return found
