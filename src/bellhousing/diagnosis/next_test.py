"""What to look at next: information about the causes in play per minute, under hard preconditions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bellhousing.diagnosis.catalogue import Condition, Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.information import entropy
from bellhousing.diagnosis.likelihood import state_weights
from bellhousing.diagnosis.outcomes import outcomes
from bellhousing.diagnosis.posterior import Diagnosis
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.windows import verdict, window
from bellhousing.diagnosis.works import Work

FloatArray = NDArray[np.float64]

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
    works: Sequence[Work] = (),
    speed_limit: float = SPEED_LIMIT,
) -> NextTests:
    """Rank every remaining test by mutual information with the causes in play, per minute.

    The information is I(finding; causes) = H(finding) - H(finding | causes) [bit] (Shannon 1948). With
    `works` it is about what to do: causes that one work puts right are not told apart. A forbidden
    test is never ranked; where a precondition is not known yet, the finding that tells it is ranked in the
    test's stead with the better of its own rate and that of both together, so that it is asked first.
    """
    evidence = [entry for entry in evidence if not entry.hearsay]  # what is only told is looked at again
    known = {entry.finding: entry for entry in evidence}
    remaining = [
        finding
        for finding in prepared.catalogue.findings.values()
        if finding.id not in known and not (finding.part and finding.part in prepared.box.missing_parts)
    ]
    foreseen = outcomes(prepared, diagnosis, evidence, [finding.id for finding in remaining], works)
    bits = foreseen.information()
    opened = {prepared.catalogue.findings[name].setup for name in known}
    doubt = _Doubt.of(diagnosis, foreseen.group_weights)
    forbidden: list[Forbidden] = []
    own: dict[str, Test] = {}
    raised: dict[str, tuple[float, str]] = {}
    for finding in remaining:
        test = _test(prepared, finding, bits.get(finding.id, 0.0), opened, doubt)
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
class _Doubt:
    """What is left to learn: the entropy [bit] of the causes in play, and whether the cause is settled."""

    bits: float
    settled: bool

    @classmethod
    def of(cls, diagnosis: Diagnosis, group_weights: FloatArray) -> _Doubt:
        known = any(cause.id != "sound" and cause.probability > SETTLED for cause in diagnosis.causes)
        settled = known and float(group_weights.max()) > SETTLED_ALONE
        return cls(max(1e-9, float(entropy(group_weights))), settled)
