"""How likely an observation is on each plausible car: robust for figures, soft for words, tables else."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.instruments import bias_share, shared_shift
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.tables import MISSEEN, carelessness
from bellhousing.diagnosis.windows import words_region
from bellhousing.errors import FindingError

FloatArray = NDArray[np.float64]

MISREAD = 0.03
"""Share of readings simply wrong (wrong tap, wrong range, slip of the pen); common practice, no source."""

MISREAD_RANGE = 6.0
"""Width over which a misreading may lie, in widths of the usual window; common practice, no source."""

KERNEL = 0.35
"""Share of the spread between plausible cars that is smoothed over, so that few cars stand for all."""


@dataclass(frozen=True)
class Observation:
    """One piece of evidence as the inference uses it.

    `on_cars` is its likelihood on each car of each physical set, (rows, cars), or None where no physics bears
    on it; `state_weights` are the weights of the states of a finding with states, or None for a reading.
    """

    finding: str
    on_cars: FloatArray | None
    state_weights: FloatArray | None


def observe(
    prepared: Prepared, evidence: Evidence, rows: NDArray[np.intp] | slice = slice(None)
) -> Observation:
    """Turn a finding into likelihoods over the physical sets at `rows`."""
    shown = prepared.shown
    finding = prepared.catalogue.finding(evidence.finding)
    if finding.kind == "states":
        weights = state_weights(finding, evidence)
        if finding.id not in shown.chances:
            return Observation(finding.id, None, weights)
        return Observation(
            finding.id, on_states(prepared, finding, weights, shown.chances[finding.id][rows]), weights
        )
    if finding.id not in shown.readings:
        raise FindingError("this box's model cannot use that reading yet", where=finding.name)
    return Observation(
        finding.id, on_readings(prepared, finding, evidence, shown.readings[finding.id][rows]), None
    )


def state_weights(finding: Finding, evidence: Evidence) -> FloatArray:
    """Weight of each state: 1 for what was said, or the chance that a figure falls to it.

    Of what is only told a share says nothing: w = (1 - h) w + h mean(w).
    """
    weights = _said_weights(finding, evidence)
    if not evidence.hearsay:
        return weights
    return np.asarray((1.0 - evidence.hearsay) * weights + evidence.hearsay * weights.mean())


def _said_weights(finding: Finding, evidence: Evidence) -> FloatArray:
    if evidence.value is None or finding.thresholds is None:
        return np.array([1.0 if state in evidence.states else 0.0 for state in finding.states])
    spread = evidence.standard_uncertainty or finding.thresholds.half_width / 2.0
    weights = np.zeros(len(finding.states))
    above_next = 0.0
    for state, edge in sorted(finding.thresholds.over.items(), key=lambda item: -item[1]):
        above = float(_step((evidence.value - edge) / spread))
        weights[finding.states.index(state)] = max(0.0, above - above_next)
        above_next = max(above, above_next)
    weights[0] = 1.0 - above_next
    return weights


def on_states(
    prepared: Prepared, finding: Finding, weights: FloatArray, chances: NDArray[np.float32]
) -> FloatArray:
    """Chance of what was said on each car, with nothing but the background beside the physics."""
    # With cumulative chances B(k) of the background, P(said) = sum over k of chance(k) * what follows k.
    steps = (weights - np.append(weights[1:], 0.0)) * prepared.tables[finding.id].background
    following = np.cumsum(steps[::-1])[::-1]
    said = np.dot(chances.reshape(-1, chances.shape[-1]), following.astype(np.float32))
    said = said.reshape(chances.shape[:-1])
    wrong = simply_wrong(prepared, finding)
    return np.asarray((1.0 - wrong) * said + wrong * weights.mean(), dtype=np.float64)


def simply_wrong(prepared: Prepared, finding: Finding) -> float:
    """Share of looks at what physics decides that may say any state, for this box."""
    return MISSEEN * prepared.strangeness * carelessness(finding)


def reported(cumulative: FloatArray, weights: FloatArray, wrong: float) -> FloatArray:
    """Chance that what was said is said, from P(state <= k) along the last axis: a few looks report anything.

    Summed by parts: sum of w(k) (F(k) - F(k-1)) = sum of (w(k) - w(k+1)) F(k).
    """
    steps = weights - np.append(weights[1:], 0.0)
    return np.asarray((1.0 - wrong) * (cumulative @ steps) + wrong * weights.mean())


def on_readings(
    prepared: Prepared, finding: Finding, evidence: Evidence, predicted: NDArray[np.float32]
) -> FloatArray:
    """Likelihood of a figure or a word on each car, relative to its highest possible value.

    A figure: Student's t with 5 degrees of freedom about the prediction (Lange, Little and Taylor, Robust
    statistical modeling using the t distribution, JASA 84, 1989), mixed with a misreading anywhere in the
    possible range. A word: the chance that the reading falls in the region it names, where outside means
    outside by more than the expanded uncertainty (ISO 14253-1: only then is a limit shown to be passed).

    Where the instrument is named, its error is no part of the spread: it moves the prediction of each car by
    one draw of the instrument's own, the same for all of its readings on that car.
    """
    never = ~np.isfinite(predicted)
    some_never = bool(never.any())
    values = np.where(never, np.float32(0.0), predicted) if some_never else predicted
    spread = reading_uncertainty(finding, evidence)
    if evidence.word is not None:
        wrong = max(evidence.hearsay, MISREAD * prepared.strangeness)
        return _word_on_readings(prepared, finding, evidence.word, values, never, spread, wrong)
    assert evidence.value is not None
    own = own_uncertainty(finding, evidence) if evidence.instruments else spread
    count = np.maximum(1, values.shape[1] - never.sum(axis=1, keepdims=True))
    mean = values.sum(axis=1, keepdims=True, dtype=np.float64) / count
    apart = values - mean.astype(np.float32)
    if some_never:
        apart[never] = 0.0
    variance = np.einsum("rc,rc->r", apart, apart)[:, None] / count
    wide = np.sqrt(own**2 + KERNEL**2 * variance)
    # Distances in units of `wide`, single precision: half a million of them are weighed at every question.
    apart *= (np.sqrt(1.0 - KERNEL**2) / wide).astype(np.float32)
    off = mean - evidence.value
    if evidence.instruments:
        off = off + shared_shift(evidence, prepared.seed, values.shape[1]) * shared_bias(finding)
    apart += (off / wide).astype(np.float32)
    apart *= apart
    apart *= np.float32(0.2)
    apart += np.float32(1.0)
    wrong = max(evidence.hearsay, MISREAD * prepared.strangeness)
    fit = ((1.0 - wrong) * spread / wide).astype(np.float32) / (apart * apart * apart)
    if some_never:
        fit[never] = 0.0
    return np.asarray(fit + wrong * floor(finding, spread), dtype=np.float64)


def floor(finding: Finding, spread: float) -> float:
    """Likelihood of a misreading relative to a perfect fit: it may lie anywhere in a plausible range."""
    low, high = finding.usual or finding.possible or (0.0, 100.0 * spread)
    return float(min(0.5, 2.5 * spread / max(MISREAD_RANGE * (high - low), 5.0 * spread)))


def reading_uncertainty(finding: Finding, evidence: Evidence) -> float:
    """Standard uncertainty of one reading [SI]: its own part and the instrument's, in quadrature."""
    return float(np.hypot(own_uncertainty(finding, evidence), bias_share(evidence) * shared_bias(finding)))


def own_uncertainty(finding: Finding, evidence: Evidence) -> float:
    """The part of a reading's standard uncertainty [SI] that is new each time: half the half-width."""
    return evidence.standard_uncertainty or finding.half_width / 2.0


def shared_bias(finding: Finding) -> float:
    """The part [SI] that the instrument brings to each reading: half the half-width, common practice."""
    return finding.half_width / 2.0


def _step(z: NDArray[np.floating] | float) -> FloatArray:
    """Smooth step with the spread of a normal distribution (logistic, scale 1/1.702)."""
    scaled = 1.702 * np.asarray(z, dtype=np.float64)
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(scaled, -60.0, 60.0))))


def _word_on_readings(
    prepared: Prepared,
    finding: Finding,
    word: str,
    values: NDArray[np.float32],
    never: NDArray[np.bool_],
    spread: float,
    wrong: float,
) -> FloatArray:
    low, high, at_never = words_region(prepared, finding, word)
    # A word is a verdict, and a figure is outside only when it is so by its expanded uncertainty, U = 2 u.
    slack = 2.0 * spread if isinstance(finding.words[word], str) else 0.0
    outside = -slack if finding.words[word] in ("below", "above") else slack
    low, high = low - outside, high + outside
    below_high = _step((high - values) / spread) if np.isfinite(high) else np.ones_like(values)
    above_low = _step((values - low) / spread) if np.isfinite(low) else np.ones_like(values)
    named = np.isfinite(low) or low < 0.0
    inside = np.maximum(0.0, below_high + above_low - 1.0) if named else np.zeros(values.shape)
    return np.asarray((1.0 - wrong) * np.where(never, at_never, inside) + wrong * 0.3)
