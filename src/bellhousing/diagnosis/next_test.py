"""What to look at next: information about the causes in play per minute, under hard preconditions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import Condition, Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.information import entropy, mutual_information
from bellhousing.diagnosis.likelihood import state_weights
from bellhousing.diagnosis.posterior import Diagnosis
from bellhousing.diagnosis.prepare import CELLS, Prepared
from bellhousing.diagnosis.tables import differences
from bellhousing.diagnosis.terms import COPIED, answered_normal
from bellhousing.diagnosis.windows import verdict, window

FloatArray = NDArray[np.float64]

MASS = 0.998
"""Share of belief whose sets are carried into the ranking."""

CARRIED = 1000
"""At most so many sets, the heaviest first."""

IN_PLAY = 0.01
"""A cause is in play when it is believed at least this much."""

SETTLED = 0.99
"""A cause believed more than this is as good as settled."""

SETTLED_ALONE = 0.9
"""Share of belief that one combination of causes must hold for a second cause to be out of the question."""

TELLS_NOTHING = "tells almost nothing now"
ONLY_CONFIRMS = "the cause is as good as settled; this would only confirm it or find a second one"

SPEED_LIMIT = 24.5872
"""Speed limit of the road loop [m/s] unless the shop sets another: 55 mph."""


@dataclass(frozen=True)
class Test:
    """A test worth doing, what it asks, costs and would tell; `first` names what it opens the way to.

    `in_words` is empty where the test by itself tells almost nothing and is only there to open the way.
    """

    finding: str
    ask: str
    minutes: float
    bits: float
    bits_per_minute: float
    in_words: str
    cautions: tuple[str, ...]
    first: str | None


@dataclass(frozen=True)
class Forbidden:
    """A test that must not be done now, and why."""

    finding: str
    ask: str
    why: str


@dataclass(frozen=True)
class NextTests:
    """Tests in order of information per minute, and those forbidden as things stand."""

    ranked: tuple[Test, ...]
    forbidden: tuple[Forbidden, ...]


def next_tests(
    prepared: Prepared,
    diagnosis: Diagnosis,
    evidence: Sequence[Evidence],
    *,
    speed_limit: float = SPEED_LIMIT,
) -> NextTests:
    """Rank every remaining test by mutual information with the causes in play, per minute.

    The information is I(finding; causes) = H(finding) - H(finding | causes) [bit] (Shannon 1948). A forbidden
    test is never ranked; where a precondition is not known yet, the finding that tells it is ranked in the
    test's stead with the better of its own rate and that of both together, so that it is asked first.
    """
    known = {entry.finding: entry for entry in evidence}
    remaining = [
        finding
        for finding in prepared.catalogue.findings.values()
        if finding.id not in known and not (finding.part and finding.part in prepared.box.missing_parts)
    ]
    carried = _carried(prepared, diagnosis)
    bits = _information(prepared, diagnosis, carried, remaining, known)
    opened = {prepared.catalogue.findings[name].setup for name in known}
    doubt = _Doubt.of(diagnosis, carried)
    forbidden: list[Forbidden] = []
    own: dict[str, Test] = {}
    raised: dict[str, tuple[float, str]] = {}
    for finding in remaining:
        test = _test(prepared, finding, bits[finding.id], opened, doubt)
        reason, missing = _precondition(prepared, finding, known, speed_limit)
        if reason is not None:
            forbidden.append(Forbidden(finding.id, finding.ask, reason))
        elif missing is not None:
            before = minutes_to_reach(prepared, prepared.catalogue.findings[missing], opened)
            rate = test.bits / (before + test.minutes)
            if rate > raised.get(missing, (0.0, ""))[0]:
                raised[missing] = (rate, f"opens the way to: {finding.name}")
        else:
            own[finding.id] = test
    ranked = sorted(own.values(), key=lambda test: (-_rate(test, raised), test.finding))
    return NextTests(
        tuple(_opening(test, raised[test.finding][1]) if test.finding in raised else test for test in ranked),
        tuple(forbidden),
    )


def _opening(test: Test, first: str) -> Test:
    told = "" if test.in_words == TELLS_NOTHING else test.in_words
    return replace(test, first=first, in_words=told)


def _rate(test: Test, raised: dict[str, tuple[float, str]]) -> float:
    return max(test.bits_per_minute, raised.get(test.finding, (0.0, ""))[0])


def minutes_to_reach(prepared: Prepared, finding: Finding, opened: Iterable[str]) -> float:
    """Minutes of a test with the set-ups it still needs."""
    total, setup = finding.minutes, prepared.catalogue.setups.get(finding.setup)
    while setup is not None and setup.id not in opened:
        total += setup.minutes
        setup = prepared.catalogue.setups.get(setup.under) if setup.under else None
    return total


def _test(prepared: Prepared, finding: Finding, bits: float, opened: set[str], doubt: _Doubt) -> Test:
    minutes = max(0.5, minutes_to_reach(prepared, finding, opened))
    return Test(
        finding=finding.id,
        ask=finding.ask,
        minutes=minutes,
        bits=bits,
        bits_per_minute=bits / minutes,
        in_words=_in_words(bits / doubt.bits, doubt.settled),
        cautions=tuple(prepared.catalogue.cautions[name] for name in finding.cautions),
        first=None,
    )


def _in_words(share: float, settled: bool) -> str:
    for least, text in (
        (0.7, "settles most of the doubt"),
        (0.4, "settles about half the doubt"),
        (0.2, "settles about a quarter of the doubt"),
        (0.07, "settles a little of the doubt"),
    ):
        if share >= least:
            return ONLY_CONFIRMS if settled else text
    return TELLS_NOTHING


def _precondition(
    prepared: Prepared, finding: Finding, known: dict[str, Evidence], speed_limit: float
) -> tuple[str | None, str | None]:
    """Why the test is forbidden, or the finding that must be known first."""
    if finding.top_speed is not None and finding.top_speed > speed_limit:
        limit = round(speed_limit / 0.44704)
        return f"It needs more than the loop's {limit} mph; governor pressure stands in for it.", None
    unknown: str | None = None
    for name in finding.needs:
        condition = prepared.catalogue.conditions[name]
        tells = prepared.catalogue.findings[condition.finding]
        if tells.id == finding.id or (tells.part and tells.part in prepared.box.missing_parts):
            continue
        entry = known.get(condition.finding)
        if entry is None:
            unknown = unknown or _root(prepared, condition, known)
        elif not _holds(prepared, condition, entry):
            return f"{condition.name} is not so: {condition.why}", None
    return None, unknown


def _root(prepared: Prepared, condition: Condition, known: dict[str, Evidence]) -> str:
    """The finding to ask for: of a chain of preconditions the first that is not known."""
    for name in prepared.catalogue.findings[condition.finding].needs:
        deeper = prepared.catalogue.conditions[name]
        if deeper.finding not in (*known, condition.finding):
            return _root(prepared, deeper, known)
    return condition.finding


def _holds(prepared: Prepared, condition: Condition, entry: Evidence) -> bool:
    finding = prepared.catalogue.findings[condition.finding]
    if finding.kind == "states":
        # Every state that may be meant must allow the test: an answer that may be bad opens nothing.
        weights = state_weights(finding, entry)
        states = {state for state, weight in zip(finding.states, weights, strict=True) if weight > 0.02}
        return states <= set(condition.holds) if condition.holds else not states & set(condition.forbids)
    if not condition.holds and not condition.forbids:
        return True  # it is enough that the reading was taken
    if entry.value is None:
        return finding.words.get(entry.word or "") == "inside"
    band = window(prepared, finding.id)
    return band is None or verdict(band, entry.value, finding.half_width / 2.0).inside >= 0.5


@dataclass(frozen=True)
class _Carried:
    """The sets that carry the belief, grouped by the causes in play that they hold."""

    members: NDArray[np.intp]
    rows: NDArray[np.intp]
    weights: FloatArray
    groups: NDArray[np.intp]
    group_weights: FloatArray


@dataclass(frozen=True)
class _Doubt:
    """What is left to learn: the entropy [bit] of the causes in play, and whether the cause is settled."""

    bits: float
    settled: bool

    @classmethod
    def of(cls, diagnosis: Diagnosis, carried: _Carried) -> _Doubt:
        known = any(cause.id != "sound" and cause.probability > SETTLED for cause in diagnosis.causes)
        settled = known and float(carried.group_weights.max()) > SETTLED_ALONE
        return cls(max(1e-9, float(entropy(carried.group_weights))), settled)


def _carried(prepared: Prepared, diagnosis: Diagnosis) -> _Carried:
    belief = diagnosis.belief
    weights, none = belief.weights, len(prepared.faults)
    top = np.argpartition(weights, -min(CARRIED, len(weights)))[-CARRIED:]
    order = top[np.argsort(-weights[top])]
    kept = order[: 1 + int(np.searchsorted(np.cumsum(weights[order]), MASS))]
    members, carried = belief.members[kept], weights[kept] / weights[kept].sum()
    in_play = np.append(_in_play(prepared, diagnosis), False)
    played = np.sort(np.where(in_play[members], members, none), axis=1)
    keys = played @ ((none + 1) ** np.arange(played.shape[1]))
    _, groups = np.unique(keys, return_inverse=True)
    group_weights = np.asarray(np.bincount(groups, carried), dtype=np.float64)
    return _Carried(members, belief.rows[kept], carried, groups, group_weights)


def _in_play(prepared: Prepared, diagnosis: Diagnosis) -> NDArray[np.bool_]:
    """Causes that the findings have raised above their prior, or all while nothing is known."""
    probability = {cause.id: cause.probability for cause in diagnosis.causes}
    believed = np.array([probability[fault] for fault in prepared.faults])
    prior = 1.0 / (1.0 + np.exp(-prepared.ln_odds))
    raised = (believed >= IN_PLAY) & (believed > 1.2 * prior)
    return raised if raised.sum() >= 2 else believed >= IN_PLAY


def _information(
    prepared: Prepared,
    diagnosis: Diagnosis,
    carried: _Carried,
    remaining: Sequence[Finding],
    known: Mapping[str, Evidence],
) -> dict[str, float]:
    """Mutual information [bit] of each remaining finding with the causes in play."""
    bits = dict.fromkeys((finding.id for finding in remaining), 0.0)
    for name, chances in _outcomes(prepared, diagnosis, carried, remaining, known):
        joint = np.stack(
            [
                np.bincount(carried.groups, carried.weights * chances[:, k], len(carried.group_weights))
                for k in range(chances.shape[1])
            ],
            axis=1,
            dtype=np.float64,
        )
        bits[name] = mutual_information(joint)
    return bits


@dataclass(frozen=True)
class Outcomes:
    """What tests would show: the sets that carry the belief, and for each test the chance of each outcome.

    `members` is (sets, size), `weights` (sets,), and each table of `chances` (sets, outcomes).
    """

    members: NDArray[np.intp]
    weights: FloatArray
    chances: Mapping[str, FloatArray]


def outcomes(
    prepared: Prepared, diagnosis: Diagnosis, evidence: Sequence[Evidence], tests: Iterable[str]
) -> Outcomes:
    """The chances of what each of some tests would show, for the sets that carry the belief."""
    known = {entry.finding: entry for entry in evidence}
    findings = [prepared.catalogue.findings[name] for name in tests]
    carried = _carried(prepared, diagnosis)
    told = dict(_outcomes(prepared, diagnosis, carried, findings, known))
    return Outcomes(carried.members, carried.weights, told)


def _outcomes(
    prepared: Prepared,
    diagnosis: Diagnosis,
    carried: _Carried,
    remaining: Sequence[Finding],
    known: Mapping[str, Evidence],
) -> Iterator[tuple[str, FloatArray]]:
    """Each finding that can tell something, with its chances for each carried set."""
    rows, place = np.unique(carried.rows, return_inverse=True)
    cars = diagnosis.belief.car_weights[rows]
    stacked = prepared.stacked.cumulative_of(carried.members)
    stacked *= prepared.stacked.cumulative_alone(diagnosis.belief.alone)
    for finding in remaining:
        span = prepared.stacked.spans.get(finding.id, slice(0))
        chances = _predictive(prepared, finding, stacked[:, span], rows, place, cars)
        if chances is None:
            continue
        if finding.repeats is not None and finding.repeats in known:
            normal = answered_normal(prepared.catalogue.findings[finding.repeats], known[finding.repeats])
            chances = (1.0 - COPIED) * chances
            chances[:, :2] += COPIED * np.array([normal, 1.0 - normal])
        yield finding.id, chances


def _predictive(
    prepared: Prepared,
    finding: Finding,
    cumulative: FloatArray,
    rows: NDArray[np.intp],
    place: NDArray[np.intp],
    cars: FloatArray,
) -> FloatArray | None:
    """Chance of each state (or cell of a reading) for each carried set."""
    shown = prepared.shown
    if finding.kind == "states":
        if finding.id in shown.chances:
            by_row = np.einsum("rc,rck->rk", cars, shown.chances[finding.id][rows])
            cumulative = cumulative * np.cumsum(by_row, axis=1)[place]
        return np.maximum(0.0, differences(cumulative))
    if finding.id not in shown.readings:
        return None
    cells = prepared.cells[finding.id][rows]
    flat = np.bincount(
        (np.arange(len(rows))[:, None] * CELLS + cells).ravel(), cars.ravel(), len(rows) * CELLS
    )
    return np.asarray(flat.reshape(len(rows), CELLS)[place])
