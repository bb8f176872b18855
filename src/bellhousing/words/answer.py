"""From the best candidates for a statement to the findings it is answered with."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.errors import QuantityError
from bellhousing.quantities.measured import Measured
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import to_si
from bellhousing.words.conditions import WARMTH
from bellhousing.words.figures import check_held, measured
from bellhousing.words.item import Item, in_unit, number_of
from bellhousing.words.match import Candidate, Context
from bellhousing.words.model import Alternative, FindingShape, Understood
from bellhousing.words.pattern import Give
from bellhousing.words.vocabulary import ReadingRule

_NEAR = 0.35
_RANGES = {
    "drive": "D", "reverse": "R", "neutral": "N", "park": "P", "secondrange": "second", "lowrange": "low",
}  # fmt: skip
# Names of a condition and of the words that stand for it where no figure does.
_IN_WORDS = (("temperature", WARMTH), ("rpm", ("idle",)), ("vacuum", ("hoseon", "hoseoff")))
_HOSE = {"hoseon": "hose on", "hoseoff": "hose off"}
_Answer = tuple[str, tuple[str, ...], str | None]


def understood(ranked: Sequence[Candidate], said: str, context: Context) -> list[Understood]:
    """The findings of the best candidate, each with the other things its words could mean."""
    best = ranked[0]
    given = [
        (give, answer) for give in best.pattern.gives if (answer := _answer(give, best, context)) is not None
    ]
    others = _alternatives(ranked, [answer for _, answer in given], context)
    confidence = _confidence(best, bool(others))
    found: list[Understood] = []
    for give, answer in given:
        shape = context.findings[answer[0]]
        check_held(best.held, shape.name)
        rule = context.vocabulary.rules.get(answer[0], ReadingRule())
        value = _value(give, best, shape, rule)
        states = answer[1] or _states_of(value, shape, rule)
        assumed = _assumed(best, rule, value, give)
        taken = best.conditions if value is None else _conditions(best)
        found.append(
            Understood(said, answer[0], states, answer[2], value, taken, confidence, tuple(others), assumed)
        )
    return found


def _conditions(candidate: Candidate) -> dict[str, str]:
    """How a reading was taken: the figures that stand for it, else the words, where only one does."""
    said = dict(candidate.conditions)
    ranges = [name for concept, name in _RANGES.items() if concept in candidate.concepts]
    if len(ranges) == 1:
        said["range"] = ranges[0]
    for name, concepts in _IN_WORDS:
        there = [concept for concept in concepts if concept in candidate.concepts]
        if name not in said and len(there) == 1:
            said[name] = _HOSE.get(there[0], there[0])
    return said


def _answer(give: Give, candidate: Candidate, context: Context) -> _Answer | None:
    shape = context.findings.get(give.finding)
    if shape is None:
        return None
    if give.word is not None:
        return (give.finding, (), give.word) if give.word in shape.words else None
    if give.states:
        states = tuple(state for state in shape.states if (state in give.states) != candidate.turned)
        return (give.finding, states, None) if states else None
    return give.finding, (), None


def _value(give: Give, candidate: Candidate, shape: FindingShape, rule: ReadingRule) -> Measured | None:
    if give.value is not None:
        return parse_measured(give.value, usual_unit=shape.unit)
    if give.of_two == "share" and candidate.figure is not None and candidate.cold is not None:
        return _share(candidate.figure, candidate.cold, shape)
    if give.reads and candidate.figure is not None:
        return measured(candidate.figure, shape, rule)
    return None


def _share(hot: Item, cold: Item, shape: FindingShape) -> Measured:
    """Hot over cold as a per cent reading.

    Raises
    ------
    QuantityError : nothing to divide by, or a share that is impossible; it names the finding
    """
    below = in_unit(cold, hot.unit or "")
    if below <= 0:
        raise QuantityError("a share of nothing", where=shape.name, remedy="look for a slip of the key")
    share = 100 * number_of(hot) / below
    try:
        return parse_measured(f"{share:.4g} %", usual_unit=shape.unit, possible=shape.possible)
    except QuantityError as error:
        raise QuantityError(error.what, where=shape.name, remedy=error.remedy) from error


def _states_of(value: Measured | None, shape: FindingShape, rule: ReadingRule) -> tuple[str, ...]:
    """The state a figure falls in: the last whose limit it is over."""
    if value is None or not rule.figure_states:
        return ()
    state = rule.base_state
    for name, limit in rule.figure_states:
        if value.value > to_si(limit, rule.figure_unit):
            state = name
    return (state,) if state in shape.states else ()


def _alternatives(
    ranked: Sequence[Candidate], answers: Sequence[_Answer], context: Context
) -> list[Alternative]:
    """Near ties that say something else, the likeliest first."""
    seen = set(answers)
    found: list[Alternative] = []
    for candidate in ranked[1:]:
        if ranked[0].worth - candidate.worth > _NEAR or len(found) == 3:
            break
        for give in candidate.pattern.gives[:1]:
            answer = _answer(give, candidate, context)
            if answer is None or answer in seen or _weaker(answer, answers):
                continue
            seen.add(answer)
            found.append(Alternative(*answer, round(_confidence(candidate, True), 3)))
    return found


def _weaker(answer: _Answer, answers: Sequence[_Answer]) -> bool:
    """Whether an answer only says less than one that is given: the same finding with more states."""
    return any(answer[0] == given[0] and set(given[1]) < set(answer[1]) for given in answers if given[1])


def _confidence(candidate: Candidate, tied: bool) -> float:
    """Share of the meaning explained, less for a corrected spelling, a turned "not" or a near tie."""
    share = candidate.coverage
    share *= 0.93 if candidate.corrected else 1.0
    share *= 0.95 if candidate.turned else 1.0
    share *= 0.8 if tied else 1.0
    share *= 1.0 if candidate.plausible else 0.7
    return round(min(share, 0.99), 3)


def _assumed(candidate: Candidate, rule: ReadingRule, value: Measured | None, give: Give) -> tuple[str, ...]:
    said: list[str] = []
    there = candidate.concepts
    for unless, sentence in rule.assume:
        if unless.isdisjoint(there):
            said.append(sentence)
    if value is not None and value.unit_assumed:
        said.append(f"taken as {value.unit}")
    if give.value is not None:
        said.append(f"taken as {give.value}")
    figure, cold = candidate.figure, candidate.cold
    if give.of_two and figure is not None and cold is not None:
        said.append(f"{figure.said} hot, {cold.said} cold")
    elif figure is not None and figure.below_zero and value is not None and not value.text.startswith("-"):
        said.append("a minus on a vacuum gauge taken as vacuum")
    return tuple(said)
