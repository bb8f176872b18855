"""Several tries of one reading: which of them count, and what they say together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt

from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.instruments import bias_share
from bellhousing.diagnosis.likelihood import shared_bias
from bellhousing.diagnosis.usual import Usual, load_usual
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si, to_si
from bellhousing.tasks.answers import FindingAnswer
from bellhousing.tasks.hearing import HALF_WIDTH_IN_DEVIATIONS, UNDER_ADJUSTING, Heard, usable
from bellhousing.tasks.shipped import parsed_once


@dataclass(frozen=True)
class Together:
    """What several tries say: mean and standard uncertainty [SI] without the instruments' shared error.

    `scattered` when they differ more than such readings should.
    """

    mean: float
    standard_uncertainty: float
    scattered: bool


def together(values: Sequence[float], own: Sequence[float], between: float = 0.0) -> Together:
    """The mean of some tries [SI], each with the standard uncertainty of its own [SI].

    u = sqrt(sum of u_i^2) / n, enlarged by sqrt(chi^2 / (n - 1)) where that is above one (Birge, The
    calculation of errors by the method of least squares, Phys. Rev. 40, 1932; from memory). `between` is what
    besides its own error sets one try apart from another: the errors of different instruments.
    """
    count = len(values)
    mean = sum(values) / count
    alone = sqrt(sum(u**2 for u in own)) / count
    if count < 2:
        return Together(mean, alone, False)
    chi = sum((x - mean) ** 2 / (u**2 + between**2) for x, u in zip(values, own, strict=True))
    birge = sqrt(chi / (count - 1))
    return Together(mean, alone * max(1.0, birge), birge > 2.0)


def series(heard: Sequence[Heard]) -> dict[str, list[int]]:
    """Places of what counts of each finding: its last series of tries, or its last entry.

    A figure noted as a second or later try joins those before it; the same try noted again stands in for it;
    anything else begins anew. After a change of the adjustment the box is another, and so are its readings.
    """
    found: dict[str, list[int]] = {}
    closed: set[str] = set()
    for place, entry in enumerate(heard):
        if entry.evidence is None:
            if entry.answer.note == UNDER_ADJUSTING:
                closed = set(found)
            continue
        name = entry.evidence.finding
        tries = found.get(name, [])
        if name in closed or not _joins(entry, [heard[other] for other in tries]):
            found[name] = [place]
            closed.discard(name)
            continue
        number = entry.held.number
        found[name] = [*(other for other in tries if (heard[other].held.number or 1) != number), place]
    return found


def _joins(entry: Heard, tries: Sequence[Heard]) -> bool:
    number = entry.held.number
    if entry.evidence is None or entry.evidence.value is None or number is None:
        return False
    if any(other.evidence is None or other.evidence.value is None for other in tries):
        return False
    # The first of a series may be noted after the others, but after one of its own number it begins anew.
    return number > 1 or all((other.held.number or 1) > 1 for other in tries)


def combined(heard: Sequence[Heard], catalogue: Catalogue) -> tuple[Heard, ...]:
    """What was heard with each series of tries as one finding, in the place of its last.

    Every figure that carries the error of its instrument names it, so that readings of one share it.
    """
    usual = load_usual(parsed_once)
    whole = {places[-1]: places for places in series(heard).values() if len(places) > 1}
    left_out = {place for places in whole.values() for place in places[:-1]}
    found = []
    for place, entry in enumerate(heard):
        if place in left_out:
            continue
        if entry.evidence is None or entry.evidence.value is None:
            found.append(entry)
            continue
        finding = catalogue.finding(entry.evidence.finding)
        tries = [heard[other] for other in whole.get(place, [place])]
        found.append(_as_one(finding, tries, usual))
    return tuple(found)


def evidence_of_tries(finding: Finding, tries: Sequence[Heard], usual: Usual) -> tuple[Evidence, Together]:
    """One piece of evidence of some tries of a reading.

    Of a look with limits, whose error is not told apart into its own and the instrument's, half of the
    variance is taken to be the instrument's and does not average out (common practice, no source).
    """
    taken = [entry.evidence for entry in tries if entry.evidence is not None]
    names = [None if entry.held.instrument is None else entry.held.instrument.text for entry in tries]
    several = len(set(names)) > 1
    shares = usual.shares_bias(finding)
    values = [entry.value or 0.0 for entry in taken]
    own = [entry.standard_uncertainty or 0.0 for entry in taken]
    between = shared_bias(finding) if several and shares else 0.0
    found = (
        together(values, own, between) if min(own) > 0.0 else Together(sum(values) / len(values), 0.0, False)
    )
    spread = found.standard_uncertainty
    if finding.kind == "states":
        spread = hypot(spread, sqrt(sum(u**2 for u in own) / len(own))) / sqrt(2.0)
    counted = Counter(name for name in names if name is not None)
    known = sum(counted.values()) == len(names) and shares
    instruments = tuple((name, count / len(names)) for name, count in sorted(counted.items()))
    return (
        Evidence(
            finding.id,
            taken[-1].states,
            None,
            found.mean,
            spread or None,
            instruments if known else (),
        ),
        found,
    )


def _as_one(finding: Finding, tries: Sequence[Heard], usual: Usual) -> Heard:
    evidence, _ = evidence_of_tries(finding, tries, usual)
    last = tries[-1]
    if len(tries) == 1 and last.evidence is not None:
        return replace(last, evidence=replace(last.evidence, instruments=evidence.instruments))
    one = usable(
        said="; ".join(entry.answer.said for entry in tries),
        finding=finding,
        evidence=evidence,
        unit=last.answer.unit,
        number=last.answer.number,
        held=last.held,
    )
    shown = f"{_figure(evidence.value or 0.0, last)}, mean of {len(tries)} tries"
    return replace(one, answer=one.answer.model_copy(update={"shown": shown, "at": last.answer.at}))


def remarked(heard: Sequence[Heard], catalogue: Catalogue) -> tuple[FindingAnswer, ...]:
    """Every answer with whether it counts, and what became of it beside others of the same thing."""
    counting = series(heard)
    usual = load_usual(parsed_once)
    found = []
    for place, entry in enumerate(heard):
        counts, remark = False, None
        if entry.evidence is not None:
            places = counting[entry.evidence.finding]
            counts = place in places
            if counts and entry.evidence.value is not None:
                finding = catalogue.finding(entry.evidence.finding)
                remark = (
                    _of_series(finding, [heard[other] for other in places], usual)
                    if len(places) > 1
                    else _instead(heard, place)
                )
        found.append(entry.answer.model_copy(update={"counts": counts, "remark": remark}))
    return tuple(found)


def _of_series(finding: Finding, tries: Sequence[Heard], usual: Usual) -> str:
    evidence, found = evidence_of_tries(finding, tries, usual)
    spread = evidence.standard_uncertainty or 0.0
    if usual.shares_bias(finding):
        spread = hypot(spread, bias_share(evidence) * shared_bias(finding))
    unit = tries[-1].answer.unit or finding.unit
    width = abs(float(from_si(HALF_WIDTH_IN_DEVIATIONS * spread, unit)) - float(from_si(0.0, unit)))
    text = f"one of {len(tries)} tries taken together: {_figure(found.mean, tries[-1])} ± {width:.2g}"
    if usual.shares_bias(finding):
        text += ", the instrument's own error included, which more tries do not lessen"
    return f"{text}; they differ more than such readings should" if found.scattered else text


def _instead(heard: Sequence[Heard], place: int) -> str | None:
    entry = heard[place]
    assert entry.evidence is not None
    for earlier in reversed(heard[:place]):
        if earlier.answer.note == UNDER_ADJUSTING:
            return None
        if earlier.evidence is None or earlier.evidence.finding != entry.evidence.finding:
            continue
        if earlier.evidence.value is None:
            return None
        number = "" if earlier.answer.number is None else f" (entry {earlier.answer.number})"
        return (
            f"counts in place of {earlier.answer.shown} noted before{number}; where both were read and are "
            "to count together, say “second try”"
        )
    return None


def _figure(value: float, entry: Heard) -> str:
    """A mean in the unit of a reading, to one digit more than a reading is shown."""
    unit = entry.answer.unit or ""
    figure = f"{float(from_si(value, unit)):.4g}"
    decimals = 0 if "e" in figure else len(figure.partition(".")[2])
    return show(float(to_si(float(figure), unit)), unit, digits=decimals)
