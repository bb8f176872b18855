"""How well a piece of text says what a pattern says, and which figure in it is the reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from bellhousing.errors import AmbiguousUnitError, QuantityError
from bellhousing.quantities.measured import Measured
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import unit
from bellhousing.words.items import LEAST_RPM, Item, in_unit, number_of
from bellhousing.words.model import FindingShape
from bellhousing.words.pattern import KEPT, Give, Pattern
from bellhousing.words.vocabulary import ReadingRule, Vocabulary

ENOUGH, ENOUGH_ALONE = 0.5, 0.75
INHERITED = 0.25
# What it is worth that the very word of a pattern was used, rather than one of like meaning.
EXACT = 1.5
# What it is worth that a "not" stands before the word the pattern denies.
NEGATED = 3.0
# What it costs that one word has to stand for two of a pattern.
DOUBLED = 2.0
_CONDITION_NAMES = {
    "rotation": "rpm", "speed": "speed", "temperature": "temperature", "vacuum": "vacuum",
    "duration": "after", "distance": "after", "time": "time", "since": "since",
    "volume": "amount",
}  # fmt: skip
_MEASURES = {
    "psi": ("pressure",), "inHg": ("vacuum", "inches"), "rpm": ("rotation",), "mph": ("speed",),
    "s": ("time",), "%": ("share",), "in": ("length", "inches"), "degF": ("temperature",),
}  # fmt: skip
_USUAL = {"rotation": "rpm", "speed": "mph", "vacuum": "inHg", "temperature": "degF"}
# Units in which a reading may be below zero.
BELOW_ZERO = frozenset({"degF", "degC"})
_NO_MINUS = "look at the gauge again, or write it without the minus"
# What no gauge of a car shows [in the usual unit]: a figure beyond is a slip of the key.
_SENSIBLE = {
    "rotation": (0.0, 9000.0), "speed": (0.0, 200.0), "temperature": (-80.0, 600.0), "vacuum": (0.0, 30.0),
}  # fmt: skip
# The share of a condition's weight that counts towards a finding that does not depend on it.
_LOOSE = 0.7


@dataclass(frozen=True)
class Candidate:
    """A pattern that fits a piece of text, with the figure it takes and how much of the text it explains."""

    pattern: Pattern
    figure: Item | None
    conditions: Mapping[str, str]
    turned: bool
    explained: float
    left: float
    needed: float
    bearing: int
    unexplained: tuple[Item, ...]
    corrected: bool
    concepts: frozenset[str]
    plausible: bool = True
    held: Mapping[Item, str] = field(default_factory=dict)
    cold: Item | None = None

    @property
    def enough(self) -> bool:
        """Whether enough of the text is explained; more is asked where a single word carries it."""
        return self.coverage >= (ENOUGH if self.bearing > 1 or self.figure is not None else ENOUGH_ALONE)

    @property
    def coverage(self) -> float:
        """Share of the meaning in the text that the pattern explains."""
        total = self.explained + self.left
        return self.explained / total if total else 0.0

    @property
    def worth(self) -> float:
        """What is explained less what is not: the higher, the better the reading of the text."""
        doubt = (0.3 if self.turned else 0.0) + (0.0 if self.plausible else 2.0)
        return self.explained - self.left - doubt + 0.05 * self.needed


@dataclass(frozen=True)
class Context:
    """What matching needs besides the text: the vocabulary and the findings this box can have."""

    vocabulary: Vocabulary
    findings: Mapping[str, FindingShape]

    def fitting(self, items: Sequence[Item]) -> list[Pattern]:
        """Patterns whose every needed concept is somewhere in some items."""
        there = frozenset().union(*(item.concepts for item in items))
        return [
            pattern
            for pattern in self.vocabulary.patterns
            if all(not choice.isdisjoint(there) for choice in pattern.required)
        ]

    def candidates(self, items: Sequence[Item], patterns: Sequence[Pattern], own: int = 0) -> list[Candidate]:
        """Candidates among some patterns, best first; items before place `own` are borrowed."""
        there = frozenset().union(*(item.concepts for item in items))
        negative = any(item.kind == "not" for item in items)
        found: list[Candidate] = []
        for pattern in patterns:
            if not pattern.forbidden.isdisjoint(there) or (pattern.negative and not negative):
                continue
            if any(choice.isdisjoint(there) for choice in pattern.required):
                continue
            found += self._fitted(pattern, items, negative, own)
        return sorted(found, key=lambda candidate: (-candidate.worth, candidate.pattern.phrase))

    def _fitted(self, pattern: Pattern, items: Sequence[Item], negative: bool, own: int) -> list[Candidate]:
        give = pattern.gives[0]
        if give == KEPT:
            kept = self._scored(pattern, items, own, False, ReadingRule(), ())
            return [kept] if kept is not None else []
        shape = self.findings.get(give.finding)
        if shape is None:
            return []
        if give.of_two:
            return self._of_two(pattern, items, own)
        turned = negative and not pattern.negative and not (give.reads and _only_judged(pattern, items))
        if turned and (
            give.reads or give.value is not None or len(pattern.gives) > 1 or not can_turn(shape, give)
        ):
            return []
        rule = self.vocabulary.rules.get(give.finding, ReadingRule())
        figures = [item for item in items if item.kind == "figure"]
        if give.reads:
            values = [item for item in figures if is_value(item, shape, rule)]
            fitted = [self._scored(pattern, items, own, turned, rule, (value,)) for value in values]
            return [
                replace(candidate, plausible=candidate.figure is None or fits(candidate.figure, shape, rule))
                for candidate in fitted
                if candidate is not None
            ]
        candidate = self._scored(pattern, items, own, turned, rule, ())
        return [candidate] if candidate is not None else []

    def _of_two(self, pattern: Pattern, items: Sequence[Item], own: int) -> list[Candidate]:
        """The candidate of a pattern that takes a hot figure and a cold one."""
        pair = hot_and_cold(items)
        if pair is None:
            return []
        rule = self.vocabulary.rules.get(pattern.gives[0].finding, ReadingRule())
        candidate = self._scored(pattern, items, own, False, rule, pair)
        hot, cold = pair
        if candidate is None:
            return []
        return [replace(candidate, figure=sharing(hot, cold), cold=sharing(cold, hot))]

    def _scored(
        self,
        pattern: Pattern,
        items: Sequence[Item],
        own: int,
        turned: bool,
        rule: ReadingRule,
        values: tuple[Item, ...],
    ) -> Candidate | None:
        alone = len(pattern.gives) == 1 and not pattern.whole
        conditions = self._conditions(items, rule, values, alone)
        if conditions is None:
            return None
        concepts = pattern.concepts
        held = {item: name for item, (name, _) in conditions.items()}
        explained = left = 0.0
        unexplained: list[Item] = []
        for place, item in enumerate(items):
            share = INHERITED if place < own else 1.0
            if item in values or item.kind == "not":
                explained += item.weight * share
            elif item in conditions:
                explained += item.weight * share * conditions[item][1]
            elif not item.concepts.isdisjoint(concepts) and (item.kind != "figure" or not values):
                own_figure = item.kind == "figure" and self._is_reading(pattern.gives[0], item)
                explained += item.weight * share * (_LOOSE if own_figure else 1.0)
                if own_figure:
                    held[item] = "reading"
            elif item.weight:
                left += item.weight * share * (2.0 if item.kind == "figure" and item.weight > 1 else 1.0)
                unexplained.append(item)
        there = frozenset().union(*(item.concepts for item in items))
        carrying = [
            item for item in items if any(not choice.isdisjoint(item.concepts) for choice in pattern.required)
        ]
        bearing = len(carrying)
        if bearing == 1 < len(pattern.required) and carrying[0].words == 1:
            return None
        said = {name: item.said for item, (name, _) in conditions.items()}
        corrected = any(item.corrected and not item.concepts.isdisjoint(concepts) for item in items)
        return Candidate(
            pattern,
            values[0] if values else None,
            said,
            turned,
            explained,
            left,
            self._needed(pattern, items, there, bearing),
            bearing,
            tuple(unexplained),
            corrected,
            there | frozenset(f"given_{name}" for name in said),
            held=held,
        )

    def _is_reading(self, give: Give, item: Item) -> bool:
        """Whether a figure could be the reading of a finding that is answered in words."""
        shape = self.findings.get(give.finding)
        return give.word is not None and shape is not None and item.measure in _MEASURES.get(shape.unit, ())

    def _needed(self, pattern: Pattern, items: Sequence[Item], there: frozenset[str], bearing: int) -> float:
        """How telling the words are that the pattern needs, which decides between equal explanations."""
        exact = frozenset().union(*(item.exact for item in items))
        needed = sum(self.vocabulary.weight(choice & there) for choice in pattern.required)
        needed -= DOUBLED * max(0, len(pattern.required) - bearing)
        needed += NEGATED * sum(_follows_not(choice, items) for choice in pattern.negated)
        return needed + EXACT * sum(not choice.isdisjoint(exact) for choice in pattern.required)

    @staticmethod
    def _conditions(
        items: Sequence[Item], rule: ReadingRule, values: tuple[Item, ...], alone: bool
    ) -> dict[Item, tuple[str, float]] | None:
        """Figures that are conditions of the finding, or None where one says that it is another finding."""
        found: dict[Item, tuple[str, float]] = {}
        met: set[str] = set()
        for item in items:
            if item.kind != "figure" or item in values:
                continue
            measure = item.measure
            if measure == "inches" and "vacuum" in rule.conditions:
                measure = "vacuum"
            if measure is None and (values or item.after_at):
                measure = _bare_measure(item, rule)
            if measure is not None and measure in rule.conditions:
                (low, high), _ = rule.conditions[measure]
                if not low <= in_unit(item, _USUAL.get(measure, "")) <= high:
                    return None
                found[item] = (_CONDITION_NAMES.get(measure, measure), 1.0)
                met.add(measure)
            elif item.measure is None and item.after_at and not values:
                found[item] = ("at", _LOOSE)
            elif item.measure in _CONDITION_NAMES and not (not values and item.measure == "time"):
                found[item] = (_CONDITION_NAMES[item.measure], _LOOSE)
        if alone and any(needed and measure not in met for measure, (_, needed) in rule.conditions.items()):
            return None
        return found


def _follows_not(wanted: frozenset[str], items: Sequence[Item]) -> bool:
    """Whether a "not" stands directly before one of some meanings."""
    after_not = False
    for item in items:
        if item.kind == "not":
            after_not = True
        elif item.weight:
            if after_not and not item.concepts.isdisjoint(wanted):
                return True
            after_not = False
    return False


def _bare_measure(item: Item, rule: ReadingRule) -> str | None:
    """What a condition without a unit measures, where only one thing is likely."""
    figure = number_of(item)
    if figure >= LEAST_RPM:
        return "rotation" if "rotation" in rule.conditions else None
    for measure in ("speed", "vacuum", "rotation"):
        if measure in rule.conditions:
            return measure
    return None


def hot_and_cold(items: Sequence[Item]) -> tuple[Item, Item] | None:
    """The two pressures of a statement, the hot one first: "60 psi but drops to 40 when hot".

    Each figure belongs to the word nearest to it, the one before it where both are as near.
    """
    row = [item for item in items if item.weight or item.kind == "figure"]
    places = [
        place
        for place, item in enumerate(row)
        if item.kind == "figure" and item.measure in {"pressure", None}
    ]
    hot = [place for place, item in enumerate(row) if "hot" in item.concepts]
    cold = [place for place, item in enumerate(row) if "cold" in item.concepts]
    if len(places) != 2 or not hot:
        return None

    def apart(figure: int, words: Sequence[int]) -> float:
        return min((abs(word - figure) - 0.1 * (word > figure) for word in words), default=0.0)

    first, second = places
    if apart(first, hot) + apart(second, cold) < apart(second, hot) + apart(first, cold):
        first, second = second, first
    return row[second], row[first]


def sharing(item: Item, other: Item) -> Item:
    """A figure with the unit of the one beside it where it has none itself."""
    return item if item.measure else replace(item, unit=other.unit, measure=other.measure)


def _only_judged(pattern: Pattern, items: Sequence[Item]) -> bool:
    """Whether every "not" denies a word that only judges the figure: "not high, 44 psi"."""
    after_not = False
    for item in items:
        if item.kind == "not":
            after_not = True
        elif item.weight and after_not:
            if item.concepts.isdisjoint(pattern.judging):
                return False
            after_not = False
    return not after_not


def can_turn(shape: FindingShape, give: Give) -> bool:
    """Whether "not" in front of what a pattern says leaves some other state of the finding."""
    return shape.kind == "states" and bool(give.states) and len(give.states) < len(shape.states)


def is_value(item: Item, shape: FindingShape, rule: ReadingRule) -> bool:
    """Whether a figure can be the reading of a finding, by its unit."""
    usual = rule.figure_unit or shape.unit
    if item.unit is None:
        return usual != "%"  # a bare figure beside a pressure is a pressure
    if item.unit == "deg":
        return usual in {"degF", "degC"}
    measures = _MEASURES.get(usual, ())
    return item.measure in measures


def measured(item: Item, shape: FindingShape, rule: ReadingRule) -> Measured:
    """The reading a figure gives for a finding.

    Raises
    ------
    AmbiguousUnitError, QuantityError : the figure is impossible there; the error names the finding
    """
    usual = rule.figure_unit or shape.unit
    name = (
        "" if item.unit is None else (usual if item.unit == "deg" or item.measure == "inches" else item.unit)
    )
    if item.measure == "inches" and usual != "inHg":
        name = "in"
    below = item.below_zero and usual != "inHg"  # a vacuum gauge counts down: -17 inHg is 17 of vacuum
    text = f"{'-' if below else ''}{item.value} {name}".strip()
    if below and usual not in BELOW_ZERO:
        raise QuantityError(f"{text} is below zero", where=shape.name, remedy=_NO_MINUS)
    try:
        return parse_measured(text, usual_unit=usual, possible=shape.possible)
    except AmbiguousUnitError as error:
        raise AmbiguousUnitError(
            error.what, candidates=error.candidates, where=shape.name, remedy=error.remedy
        ) from error
    except QuantityError as error:
        raise QuantityError(error.what, where=shape.name, remedy=error.remedy) from error


def check_held(candidate: Candidate, where: str) -> None:
    """Refuse a speed, temperature or vacuum no car has among the conditions of a finding.

    Raises
    ------
    QuantityError : such a figure, or one below zero; it names the finding
    """
    for item in candidate.held:
        measure = item.measure or ""
        below = item.below_zero and measure not in {"temperature", "vacuum", "inches"}
        if measure in _SENSIBLE:
            low, high = _SENSIBLE[measure]
            if below or not low <= abs(in_unit(item, _USUAL[measure])) <= high:
                raise QuantityError(
                    f"{item.said} is impossible here", where=where, remedy="look for a slip of the key"
                )
        elif below:
            raise QuantityError(f"{item.said} is below zero", where=where, remedy=_NO_MINUS)


def measures_of(unit_name: str) -> tuple[str, ...]:
    """The kinds of figure that are readings in some unit."""
    return _MEASURES.get(unit_name, ())


def measure_of(unit_name: str) -> str:
    """The concept a figure in some unit carries: "psi" gives in_pressure."""
    return f"in_{_MEASURES.get(unit_name, ('',))[0]}"


def fits(item: Item, shape: FindingShape, rule: ReadingRule) -> bool:
    """Whether a bare figure is possible in the finding's usual unit."""
    if item.unit is not None or shape.possible is None:
        return True
    usual = unit(rule.figure_unit or shape.unit)
    return shape.possible[0] <= usual.to_si(number_of(item)) <= shape.possible[1]
