"""Virtual cars: faults drawn by weight, and whatever is looked at answered by laws of the generator's own.

Nothing here knows the package: names, strengths and backgrounds come as data, figures from reduced models.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from benchmarks.diagnosis import four_speed, three_speed
from benchmarks.diagnosis.names import Look, Names
from benchmarks.diagnosis.reduced import Bend, Generator, Parameters, Reading

SCATTER = 0.7
"""Standard deviation of the log odds of a strength from car to car."""

FEWEST, MOST = 0.02, 0.95
"""Strengths of a car lie between these."""

BACKGROUND = 2.0
"""A background rate of a car lies within this factor of the catalogue's."""

MISREAD = 0.03
"""Share of answers that are simply wrong."""

COPIES = 0.25
"""Share of second looks at a place that repeat the first one's mistake."""

SHOWS = 0.3
"""A look is made to show a fault that it shows at least this often."""

FREEDOM = 4
"""Degrees of freedom of the error of a figure (Student's t)."""

HOLDS_95 = 2.776
"""Quantile of Student's t with four degrees of freedom that leaves 2.5 in 100 above it."""

LEANS = 2.0
"""Change of the log odds of a law from the mildest to the severest fault."""

CHANGES = {"shift-feel-12": "upshift-12-medium", "shift-feel-23": "upshift-23-medium"}
CHANGES |= {"shift-feel-34": "upshift-34-medium"}
STANDS = ("no-drive-forward", "nothing-drives")
STALLS = ("stall-drive", "stall-reverse", "line-stall")
STATEMENT = ("talk",)

Draw = Callable[[Generator], Parameters]
Read = Callable[[Parameters, Generator], dict[str, Reading]]
MODELS: Mapping[str, tuple[Draw, Mapping[str, tuple[Bend, ...]], Read]] = {
    "three-speed-vacuum": (three_speed.draw, three_speed.FAULTS, three_speed.readings),
    "four-speed-linkage": (four_speed.draw, four_speed.FAULTS, four_speed.readings),
}


@dataclass(frozen=True)
class Answer:
    """What a look says: a state, a word in place of a figure, or a figure in the finding's own unit."""

    state: str | None = None
    word: str | None = None
    value: float | None = None


@dataclass(frozen=True)
class VirtualCar:
    """A car: its faults with their severity, those that matter, and an answer to every look that can be had.

    A fault matters when it puts a finding outside its window: a state of its own other than the first, or,
    alone on this car, a figure outside the usual window that the car without it keeps.
    """

    number: int
    family: str
    faults: Mapping[str, float]
    matter: frozenset[str]
    answers: Mapping[str, Answer]


def draw_car(names: Names, seed: int, number: int, false_alarms: float = 1.0) -> VirtualCar:
    """One car; `false_alarms` multiplies the background of every look made to separate faults."""
    rng = np.random.default_rng([seed, number, len(names.weights)])
    chances = np.array(list(names.weights.values()))
    present = [
        name for name, hit in zip(names.weights, rng.random(len(chances)) < chances, strict=True) if hit
    ]
    faults = {name: float(rng.beta(1.6, 1.6)) for name in present}
    draw, laws, read = MODELS[names.family]
    sound = draw(rng)
    way = {name: float(rng.random()) for name in faults}
    bent = _bent(sound, laws, faults, way)
    figures = read(bent, rng)
    brought, seen = _states(names, faults, figures, rng, false_alarms)
    alone = {
        name: read(_bent(sound, laws, {name: s}, way), rng) for name, s in faults.items() if name in laws
    }
    plain = read(sound, rng)
    matter = frozenset(
        name
        for name in faults
        if brought[name] or any(_outside(names, alone.get(name, {}), plain, look) for look in plain)
    )
    return VirtualCar(number, names.family, faults, matter, _answers(names, faults, seen, figures, rng))


def _bent(
    sound: Parameters,
    laws: Mapping[str, tuple[Bend, ...]],
    faults: Mapping[str, float],
    way: Mapping[str, float],
) -> Parameters:
    bent = dict(sound)
    for name, severity in faults.items():
        for bend in laws.get(name, ()):
            bend(bent, severity, way[name])
    return bent


def _outside(names: Names, ill: Mapping[str, Reading], plain: Mapping[str, Reading], look: str) -> bool:
    if look not in ill or look not in names.looks or names.looks[look].usual is None:
        return False
    low, high = names.looks[look].usual or (0.0, 0.0)

    def inside(value: Reading) -> bool:
        return isinstance(value, float) and low <= value <= high

    return inside(plain[look]) and not inside(ill[look])


def _states(
    names: Names,
    faults: Mapping[str, float],
    figures: Mapping[str, Reading],
    rng: Generator,
    false_alarms: float,
) -> tuple[dict[str, bool], dict[str, str]]:
    """Which faults bring a state of their own anywhere, and the most conspicuous state of each finding."""
    brought, seen = dict.fromkeys(faults, False), {}
    for look in names.looks.values():
        if look.kind != "states":
            continue
        place = _drawn(look, _background(look, rng, false_alarms), rng)
        for name, severity in faults.items():
            strengths = look.strengths.get(name)
            if strengths is None:
                continue
            lean = LEANS * (severity - 0.5) if look.id in LEANING[names.family] else 0.0
            own = _drawn(look, _scattered(strengths, lean, rng), rng)
            brought[name] |= own > 0 and look.setup not in STATEMENT
            place = max(place, own)
        never = look.id in CHANGES and figures.get(CHANGES[look.id]) == "never"
        seen[look.id] = "never" if never and "never" in look.states else look.states[place]
    return brought, seen


LEANING = {
    "three-speed-vacuum": frozenset(
        {
            "slip-first",
            "slip-second",
            "slip-third",
            "slip-reverse",
            "shift-feel-12",
            "shift-feel-23",
            "engagement-harshness",
            "kickdown",
        }
    ),
    "four-speed-linkage": frozenset(
        {
            "slip-first",
            "slip-second",
            "slip-third",
            "slip-fourth",
            "slip-reverse",
            "shift-feel-12",
            "shift-feel-23",
            "shift-feel-34",
            "engagement-harshness",
        }
    ),
}
"""Findings that a severe fault shows more often than a mild one."""


def _background(look: Look, rng: Generator, false_alarms: float) -> dict[str, float]:
    factor = math.exp(rng.uniform(-math.log(BACKGROUND), math.log(BACKGROUND)))
    if look.separates:
        factor *= false_alarms
    scaled = {state: factor * chance for state, chance in look.background.items() if state != look.states[0]}
    total = sum(scaled.values())
    return scaled if total < 0.9 else {state: 0.9 * chance / total for state, chance in scaled.items()}


def _scattered(strengths: Mapping[str, float], lean: float, rng: Generator) -> dict[str, float]:
    total = min(max(sum(strengths.values()), 1e-3), 0.999)
    odds = math.log(total / (1.0 - total)) + lean + rng.normal(0.0, SCATTER)
    new = min(MOST, max(FEWEST, 1.0 / (1.0 + math.exp(-odds))))
    return {state: new * chance / total for state, chance in strengths.items()}


def _drawn(look: Look, chances: Mapping[str, float], rng: Generator) -> int:
    pick, total = float(rng.random()), 0.0
    for state, chance in chances.items():
        total += chance
        if pick < total:
            return look.states.index(state)
    return 0


def _answers(
    names: Names,
    faults: Mapping[str, float],
    seen: Mapping[str, str],
    figures: Mapping[str, Reading],
    rng: Generator,
) -> dict[str, Answer]:
    answers: dict[str, Answer] = {}
    bias: dict[str, float] = {}
    mistaken: dict[str, bool] = {}
    drives = seen.get("dead-ranges") not in STANDS and figures.get("engagement-drive-hot") != "never"
    held = seen.get("brakes-hold", "sound") == "sound"
    for look in sorted(names.looks.values(), key=lambda look: look.repeats is not None):
        if (look.setup == "road" and not (drives and held)) or (
            look.id in STALLS and not _proved(names, figures)
        ):
            continue
        if look.kind == "states":
            state = seen[look.id]
            if look.repeats and mistaken.get(look.repeats) and rng.random() < COPIES:
                normal = answers[look.repeats].state == names.looks[look.repeats].states[0]
                state = look.states[0] if normal else (state if state != look.states[0] else look.states[1])
            if rng.random() < MISREAD:
                state = str(rng.choice([other for other in look.states if other != state]))
            answers[look.id] = Answer(state=state)
            mistaken[look.id] = _mistaken(look, state, faults)
        elif look.id in figures:
            answers[look.id] = _figure(look, figures[look.id], bias, rng)
    return answers


def _mistaken(look: Look, state: str, faults: Mapping[str, float]) -> bool:
    """Whether an answer misses a fault that the look is made to show, or shows what is not there."""
    bears = any(sum(look.strengths[name].values()) >= SHOWS for name in faults if name in look.strengths)
    return bears == (state == look.states[0])


def _proved(names: Names, figures: Mapping[str, Reading]) -> bool:
    """Line pressure inside its windows, without which nobody stalls a car."""
    for name in ("line-drive-idle", "line-drive-hose-off"):
        if name in figures and name in names.looks:
            value, usual = figures[name], names.looks[name].usual
            if usual and not (isinstance(value, float) and usual[0] - 5.0 <= value <= usual[1] + 5.0):
                return False
    return True


def _figure(look: Look, true: Reading, bias: dict[str, float], rng: Generator) -> Answer:
    if rng.random() < MISREAD:
        low, high = look.usual or (0.0, 100.0)
        return Answer(value=max(0.0, float(rng.uniform(low - 2.0 * (high - low), high + 2.0 * (high - low)))))
    if isinstance(true, str):
        return Answer(word=true)
    shared = bias.setdefault(look.instrument, float(rng.normal()))
    error = look.half_width * (0.25 * shared + float(rng.standard_t(FREEDOM)) / HOLDS_95)
    return Answer(value=true + error if look.id == "line-drive-below-neutral" else max(0.0, true + error))
