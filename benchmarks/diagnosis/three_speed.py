"""Reduced model of a three-speed with vacuum modulator: normalised governor, load signal and line.

Speeds v [mph], pressures [psi], vacuum V [inHg], at the calibration of a 3.1 axle and a 6 to 7 litre engine:
governor g = 0.055 v^2 below 20 mph, 18.4 + 0.009 v^2 above; load m = max(0, 85 max(0, 1 - V/16) - 0.5 g);
line = 65 + 1.06 m, times 1.58 in reverse, at least 142 in second range; 1-2 when g > 7 + 0.49 m, 2-3 when
g > 18 + 1.14 m; back at g < 2.0 and g < 9.3. Common practice; invented laws of what faults do to it.
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
    last_speed,
    put,
    times,
)

DETENT = 62.0
"""What the detent signal adds to the load side of a shift valve at least [psi]."""


def draw(rng: Generator) -> Parameters:
    """A sound car; half widths of good cars taken as two standard deviations."""

    def about(middle: float, spread: float) -> float:
        return float(rng.normal(middle, spread))

    return {
        "governor": about(1.0, 0.05),
        "residual": 0.0,
        "base": about(65.0, 4.0),
        "full": about(85.0, 4.0),
        "closes": about(16.0, 0.4),
        "spring12": about(7.0, 0.5),
        "spring23": about(18.0, 1.3),
        "down21": about(2.0, 0.15),
        "down32": about(9.3, 0.6),
        "boost": about(1.58, 0.03),
        "second": about(142.0, 4.0),
        "vacuum": about(18.5, 0.6),
        "idle": about(600.0, 20.0),
        "stall": about(2025.0, 55.0),
        "drive": about(0.95, 0.09),
        "reverse": about(1.25, 0.12),
        "cold": about(1.35, 0.12),
        "hot_ratio": about(0.95, 0.025),
        "load": 1.0,
        "hose": 1.0,
        "capsule": 1.0,
        "ported": 0.0,
        "lag": 0.0,
        "stuck_load": math.nan,
        "floor_vacuum": 0.0,
        "detent": 0.0,
        "early_full": 1.0,
        "line_idle": 1.0,
        "line_revs": 1.0,
        "line_stall": 1.0,
        "line_stuck": math.nan,
        "drive_loss": 0.0,
        "reverse_loss": 0.0,
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
        "tacky": 0.0,
        "dead": 0.0,
    }


FAULTS: Mapping[str, tuple[Bend, ...]] = {
    **SHARED,
    "modulator-diaphragm-torn": (times("capsule", 0.3, 0.0), add("vacuum", -0.1, -0.8)),
    "vacuum-hose-off": (times("hose", 0.35, 0.0), add("vacuum", -0.3, -2.0)),
    "vacuum-pipe-restricted": (put("lag", 1.0, 4.0),),
    "vacuum-source-wrong": (put("ported", 1.0, 1.0),),
    "modulator-set-wrong": (either(0.55, times("full", 0.88, 0.7), times("closes", 1.1, 1.25)),),
    "modulator-valve-stuck": (either(0.6, put("stuck_load", 6.0, 0.0), put("stuck_load", 55.0, 85.0)),),
    "modulator-stem-bent": (times("load", 0.55, 0.1),),
    "idle-too-high": (add("idle", 180.0, 500.0),),
    "throttle-not-opening-fully": (put("floor_vacuum", 2.0, 6.0),),
    "kickdown-stuck-on": (put("detent", 1.0, 1.0),),
    "kickdown-dead": (put("early_full", 0.97, 0.93),),
    "kickdown-solenoid-leaking": (put("detent", 0.55, 1.0),),
    "governor-valve-stuck-shut": (times("governor", 0.12, 0.0),),
    "governor-valve-stuck-open": (add("residual", 4.0, 14.0), times("governor", 0.95, 0.6)),
    "governor-weights-stiff": (either(0.7, times("governor", 0.82, 0.5), times("governor", 1.15, 1.35)),),
    "governor-gear-stripped": (times("governor", 0.0, 0.0),),
    "governor-bore-worn": (times("governor", 0.84, 0.55),),
    "governor-feed-blocked": (times("governor", 0.7, 0.2),),
    "fluid-overfilled": (times("line_revs", 1.0, 0.93), times("line_stall", 1.0, 0.9)),
    "pickup-drawing-air": (
        times("line_idle", 0.97, 0.8),
        times("line_revs", 0.95, 0.75),
        times("line_stall", 0.9, 0.6),
        add("late_drive", 0.0, 0.9),
        add("late_reverse", 0.0, 0.9),
        add("cold_all", 0.2, 1.6),
    ),
    "pump-worn": (
        times("line_idle", 0.82, 0.45),
        times("line_revs", 0.97, 0.8),
        times("line_stall", 0.97, 0.8),
        times("hot_ratio", 0.85, 0.55),
        add("late_drive", 0.2, 1.4),
        add("late_reverse", 0.2, 1.5),
    ),
    "regulator-stuck-low": (
        put("line_stuck", 50.0, 25.0),
        add("late_drive", 0.2, 1.4),
        add("late_reverse", 0.2, 1.4),
        add("cold_all", 0.1, 1.0),
    ),
    "regulator-stuck-high": (put("line_stuck", 115.0, 200.0),),
    "boost-valve-worn": (
        times("boost", 0.85, 0.64),
        times("second", 0.85, 0.5),
        add("late_reverse", 0.2, 1.2),
    ),
    "forward-clutch-burnt": (
        times("stall_drive", 1.05, 1.45),
        add("late_drive", 0.0, 1.2),
        add("drive_loss", 0.0, 6.0),
    ),
    "forward-seals-hard": (
        add("cold_drive", 1.0, 5.5),
        add("late_drive", 0.0, 0.6),
        add("drive_loss", 1.0, 14.0),
    ),
    "direct-clutch-burnt": (times("stall_reverse", 1.05, 1.4), add("late_reverse", 0.1, 1.8)),
    "direct-circuit-leaking": (
        add("reverse_loss", 4.0, 30.0),
        add("late_reverse", 0.1, 1.5),
        times("stall_reverse", 1.0, 1.2),
    ),
    "low-reverse-band-faulty": (
        times("stall_reverse", 1.05, 1.4),
        add("late_reverse", 0.0, 1.2),
        add("reverse_loss", 0.0, 10.0),
    ),
    "hub-rings-worn": (
        add("drive_loss", 3.0, 16.0),
        add("reverse_loss", 3.0, 18.0),
        add("late_drive", 0.0, 0.9),
        add("late_reverse", 0.0, 0.9),
        times("hot_ratio", 0.95, 0.72),
    ),
    "snap-ring-misfitted": (add("late_drive", 0.0, 1.6), add("drive_loss", 0.0, 8.0)),
    "converter-drain-back": (add("drained", 1.2, 7.0), add("cold_reverse", 0.0, 0.5)),
    "stator-slipping": (times("stall_drive", 0.7, 0.65), times("stall_reverse", 0.7, 0.65)),
    "shift-valve-12-stuck-down": (put("stick12", -1.0, -1.0),),
    "shift-valve-12-stuck-up": (put("stick12", 1.0, 1.0),),
    "shift-valve-23-stuck-down": (put("stick23", -1.0, -1.0),),
    "shift-valve-23-stuck-up": (put("stick23", 1.0, 1.0),),
    "check-ball-missing": (add("late_drive", -0.2, 0.5),),
}


def readings(p: Parameters, rng: Generator) -> dict[str, Reading]:
    """What instruments would show on this car if they were perfect; `rng` only for what varies by itself."""
    idle_vacuum = p["vacuum"] * p["hose"] * (1.0 - 0.9 * p["ported"])
    found: dict[str, Reading] = {
        "idle-speed": p["idle"],
        "manifold-vacuum-idle": p["vacuum"],
        "modulator-vacuum-idle": max(0.0, idle_vacuum),
        "stall-drive": p["stall"] * p["stall_drive"],
        "stall-reverse": p["stall"] * p["stall_reverse"],
        "governor-at-rest": p["residual"],
        "line-hot-against-cold": 100.0 * p["hot_ratio"],
        "cut-back": 1.06 * float(_load(p, 0.0, _governor(p, 10.0)) - _load(p, 0.0, _governor(p, 21.0))),
    }
    found.update({f"governor-{v}": float(_governor(p, v)) for v in (10, 20, 30, 50)})
    found.update(_lines(p, idle_vacuum))
    found.update(engaging(p))
    found.update(_shifts(p, rng))
    return found


def _governor(p: Parameters, v: float | np.ndarray) -> np.ndarray:
    v = np.asarray(v, dtype=float)
    return p["residual"] * (v >= 0.0) + p["governor"] * np.where(v < 20.0, 0.055 * v**2, 18.4 + 0.009 * v**2)


def _load(p: Parameters, vacuum: float, governor: np.ndarray | float) -> np.ndarray:
    if not math.isnan(p["stuck_load"]):
        return np.full(np.shape(governor), p["stuck_load"])
    signal = p["load"] * p["full"] * max(0.0, 1.0 - vacuum * p["capsule"] / p["closes"])
    return np.maximum(0.0, signal - 0.5 * np.asarray(governor))


def _lines(p: Parameters, idle_vacuum: float) -> dict[str, Reading]:
    def line(vacuum: float, share: float, factor: float = 1.0, least: float = 0.0) -> float:
        if not math.isnan(p["line_stuck"]):
            return p["line_stuck"]
        return max(p["base"] + 1.06 * float(_load(p, vacuum, 0.0)), least) * share * factor

    raised = min(idle_vacuum + 0.8, 21.0)
    if p["ported"]:
        raised = 5.0
    neutral = line(raised, p["line_idle"])
    drive = max(0.0, line(idle_vacuum, p["line_idle"]) - p["drive_loss"])
    return {
        "line-drive-idle": drive,
        "line-neutral-idle": neutral,
        "line-drive-1000": max(0.0, line(raised, p["line_revs"]) - p["drive_loss"]),
        "line-drive-hose-off": max(0.0, line(0.0, p["line_revs"]) - p["drive_loss"]),
        "line-reverse-idle": max(0.0, line(idle_vacuum, p["line_idle"], p["boost"]) - p["reverse_loss"]),
        "line-reverse-hose-off": max(0.0, line(0.0, p["line_revs"], p["boost"]) - p["reverse_loss"]),
        "line-second-range": max(0.0, line(raised, p["line_revs"], 1.0, p["second"]) - p["drive_loss"]),
        "line-stall": max(0.0, line(0.0, p["line_stall"]) - p["drive_loss"]),
        "line-drive-below-neutral": neutral - drive,
    }


def _shifts(p: Parameters, rng: Generator) -> dict[str, Reading]:
    g = _governor(p, SPEEDS)
    found: dict[str, Reading] = {}
    for name, vacuum in (("light", 16.0), ("medium", 10.0), ("full", p["floor_vacuum"])):
        seen = vacuum * p["hose"] + (rng.normal(0.0, p["lag"]) if p["lag"] and name != "full" else 0.0)
        load = _load(p, seen, g)
        detent = p["detent"] * DETENT
        if name == "full":
            load = load * p["early_full"]
        load = np.maximum(load, detent)
        tacky = rng.normal(0.5, 0.5, 2) * p["tacky"] if p["tacky"] else (0.0, 0.0)
        first = first_speed(g > p["spring12"] + 0.49 * load + tacky[0], p["stick12"])
        second = first_speed(g > p["spring23"] + 1.14 * load + tacky[1], p["stick23"])
        if first == "never":
            second = "never"
        elif isinstance(first, float) and isinstance(second, float):
            second = max(second, first + 0.5)
        found[f"upshift-12-{name}"], found[f"upshift-23-{name}"] = first, second
    found["coast-down-32"] = last_speed(g < p["down32"])
    found["coast-down-21"] = last_speed(g < p["down21"])
    return found
