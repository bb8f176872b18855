"""Proof of a repair: how surely a car now shifts as a sound one of its specification does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.errors import FindingError
from bellhousing.road.cars import Cars, draw_cars
from bellhousing.road.engine import INHG
from bellhousing.road.one_car.observed import Observed, foretold

FloatArray = NDArray[np.float64]

SOUND_DRAWS = 1500
BEFORE_THE_DRIVE = 0.5
"""Chance, before the drive is looked at, that a car that came in with a complaint is sound now; judgement, no
source."""

ENOUGH = 12.0
"""Effective draws from which the answer is that of the simulated cars."""

TAILS = 4.0
"""Degrees of freedom of the error of a reading: now and then one is well off; judgement, no source."""

LOST = 1e-4
"""Density, in standard deviations, of a shift that came though it never should, or the other way round."""

COVERED = 0.95

THROTTLES = {"light": (13.5, 99.0), "medium": (7.5, 11.5), "full": (-1.0, 2.0)}
"""Manifold vacuum from and to by which the trade names the throttle [inHg]; common practice, no source."""


@dataclass(frozen=True)
class ShiftVerdict:
    """One shift as driven, where 95 of 100 sound cars make it [m/s], and how surely this car does so too."""

    driven: Observed
    low: float
    high: float
    as_sound: float


@dataclass(frozen=True)
class Verdict:
    """All shifts of one drive.

    Parameters
    ----------
    as_sound : probability that every tested shift lies where those of 95 of 100 sound cars all lie together
    error : its Monte Carlo standard error
    known : whether sound cars, or cars with one known fault, shift like this at all
    """

    shifts: tuple[ShiftVerdict, ...]
    as_sound: float
    error: float
    known: bool


@dataclass(frozen=True)
class Proof:
    """Before and after, and what was not tested after."""

    before: Verdict | None
    after: Verdict
    not_tested: tuple[str, ...]


def prove(prepared: Prepared, before: Sequence[Observed], after: Sequence[Observed]) -> Proof:
    """Compare both drives with sound cars of this box and car and with every single physical fault.

    Raises
    ------
    FindingError : no shift was driven after, or one that this box does not make.
    """
    if not after:
        raise FindingError(
            "no shift was driven after the repair", remedy="note shifts with road speed and throttle"
        )
    cars, prior, sound = _cars(prepared)
    return Proof(
        before=judge(prepared, cars, prior, sound, before) if before else None,
        after=judge(prepared, cars, prior, sound, after),
        not_tested=not_tested(prepared, after),
    )


def _cars(prepared: Prepared) -> tuple[Cars, FloatArray, NDArray[np.bool_]]:
    """Sound cars and cars with one fault each, their prior weights, and which are sound."""
    model = prepared.model
    healthy = draw_cars(prepared.box, SOUND_DRAWS, np.random.default_rng(prepared.seed + 100))
    faults = prepared.sets.physical
    ill = model.afflicted([(fault,) for fault in faults])
    odds = np.exp(prepared.ln_odds[list(faults)])
    count = len(model.cars)
    weight = np.concatenate(
        [
            np.full(SOUND_DRAWS, BEFORE_THE_DRIVE / SOUND_DRAWS),
            np.repeat((1.0 - BEFORE_THE_DRIVE) * odds / odds.sum() / count, count),
        ]
    )
    values = {name: np.concatenate([healthy[name], ill[name]]) for name in healthy.values}
    sound = np.arange(len(weight)) < SOUND_DRAWS
    return Cars(values, healthy.layout), weight, sound


def judge(
    prepared: Prepared,
    cars: Cars,
    prior: FloatArray,
    sound: NDArray[np.bool_],
    driven: Sequence[Observed],
) -> Verdict:
    """Weigh the cars by what was driven, and ask how many of them shift as sound ones.

    P(as sound | drive) = Σ w over cars whose shifts all lie in the band, with weights
    w ∝ prior · Π t₄((driven - shown)/u).
    """
    shown = foretold(driven, cars, prepared.model.vehicle)
    low, high = together(shown[sound], COVERED)
    each = np.quantile(shown[sound], [0.5 - COVERED / 2, 0.5 + COVERED / 2], axis=0, method="inverted_cdf")
    ln_weight = np.log(prior) + _ln_likely(shown, driven).sum(axis=1)
    weight = np.exp(ln_weight - ln_weight.max())
    weight /= weight.sum()
    effective = 1.0 / float(weight @ weight)
    within = ((shown >= low) & (shown <= high)).all(axis=1)
    alone = weight @ ((shown >= each[0]) & (shown <= each[1]))
    if effective < ENOUGH or _far(shown, driven, weight):
        return _unknown(driven, each)
    overall = float(weight @ within)
    error = float(np.sqrt((weight**2) @ (within - overall) ** 2))
    verdicts = tuple(
        ShiftVerdict(row, float(each[0, i]), float(each[1, i]), float(alone[i]))
        for i, row in enumerate(driven)
    )
    return Verdict(verdicts, overall, error, known=True)


def together(shown: FloatArray, covered: float) -> tuple[FloatArray, FloatArray]:
    """Band of every column such that a share of the rows lies in all bands at once, like quantiles each.

    The tail of each column is halved until the share is reached; twenty halvings of the bracket.
    """
    least, most = (1.0 - covered) / 2.0 / shown.shape[1] / 4.0, (1.0 - covered) / 2.0
    for _ in range(20):
        tail = 0.5 * (least + most)
        low, high = np.quantile(shown, [tail, 1.0 - tail], axis=0, method="inverted_cdf")
        if ((shown >= low) & (shown <= high)).all(axis=1).mean() >= covered:
            least = tail
        else:
            most = tail
    low, high = np.quantile(shown, [least, 1.0 - least], axis=0, method="inverted_cdf")
    return low, high


def _ln_likely(shown: FloatArray, driven: Sequence[Observed]) -> FloatArray:
    """Logarithm of the chance of each reading on each car, (cars, rows), but for a constant."""
    columns = []
    for i, row in enumerate(driven):
        apart = (shown[:, i] - row.value) / row.uncertainty
        likely = (1.0 + apart * apart / TAILS) ** (-0.5 * (TAILS + 1.0))
        columns.append(np.log(np.maximum(likely, LOST)))
    return np.stack(columns, axis=1)


def _far(shown: FloatArray, driven: Sequence[Observed], weight: FloatArray) -> bool:
    """Whether even the cars that bear the weight lie beyond four deviations of some reading."""
    values = np.array([row.value for row in driven])
    spread = np.array([row.uncertainty for row in driven])
    return bool((np.abs(weight @ shown - values) > 4.0 * spread).any())


def _unknown(driven: Sequence[Observed], each: FloatArray) -> Verdict:
    """No car simulated shifts like this: each shift by itself, and the surest of doubts for all."""
    from bellhousing.diagnosis.windows import USUAL, Window, verdict

    verdicts = tuple(
        ShiftVerdict(
            row,
            float(each[0, i]),
            float(each[1, i]),
            verdict(Window(each[0, i], each[1, i], USUAL), row.value, row.uncertainty).inside,
        )
        for i, row in enumerate(driven)
    )
    return Verdict(verdicts, min(one.as_sound for one in verdicts), 0.0, known=False)


def not_tested(prepared: Prepared, driven: Sequence[Observed]) -> tuple[str, ...]:
    """Shifts of the road test that the drive does not hold, in words."""
    four = prepared.box.kind == FOUR_SPEED
    ups = ("1-2", "2-3", "3-4") if four else ("1-2", "2-3")
    seen = {(row.shift, throttle_of(row)) for row in driven}
    missing = [f"{up} at {name} throttle" for up in ups for name in THROTTLES if (up, name) not in seen]
    downs = {row.shift for row in driven if not row.floor}
    forced = {row.shift for row in driven if row.floor}
    missing += [f"{up[::-1]} on the coast" for up in reversed(ups) if up[::-1] not in downs]
    top = ups[-1][::-1]
    if top not in forced:
        missing.append(f"{top} with the pedal on its stop")
    return tuple(text.replace("-", "–", 1) for text in missing)


def throttle_of(row: Observed) -> str:
    """What the trade calls the throttle of a shift: light, medium, full, or nothing between them."""
    if row.floor:
        return "full"
    for name, (low, high) in THROTTLES.items():
        if low <= row.vacuum / INHG <= high:
            return name
    return ""
