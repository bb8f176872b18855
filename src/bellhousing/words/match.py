"""How well a piece of text says what a pattern says, and which figure in it is the reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from bellhousing.words.conditions import LOOSE, conditions_of, warmth_of
from bellhousing.words.denial import can_turn, denied, denied_here, denies, follows_not, only_judged
from bellhousing.words.figures import MEASURES, fits, hot_and_cold, is_value, measure_of, sharing
from bellhousing.words.item import WEIGHT_FIGURE, Item
from bellhousing.words.model import FindingShape
from bellhousing.words.pattern import KEPT, Give, Pattern
from bellhousing.words.vocabulary import ReadingRule, Vocabulary

ENOUGH, ENOUGH_ALONE = 0.5, 0.75
INHERITED = 0.25
# What it is worth that the very word of a pattern was used, rather than one of like meaning.
EXACT = 1.5
# What it is worth that a "not" stands before the word the pattern denies.
NEGATED = 3.0
_BUT_FOR = frozenset({"except", "apart", "excepting"})
# What it costs that one word has to stand for two of a pattern.
DOUBLED = 2.0
# Answers in words that find nothing wrong; of the states of a finding it is the first.
_CLEAN = frozenset({"normal", "prompt"})


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
    _known: dict[frozenset[str], tuple[Pattern, ...]] = field(default_factory=dict, repr=False, compare=False)

    def fitting(self, items: Sequence[Item]) -> tuple[Pattern, ...]:
        """Patterns whose every needed concept is somewhere in some items, looked up once for each set."""
        there = frozenset().union(*(item.concepts for item in items))
        if there not in self._known:
            fit = (p for p in self.vocabulary.patterns if all(not c.isdisjoint(there) for c in p.required))
            self._known[there] = tuple(fit)
        return self._known[there]

    def candidates(self, items: Sequence[Item], patterns: Sequence[Pattern], own: int = 0) -> list[Candidate]:
        """Candidates among some patterns, best first; items before place `own` are borrowed."""
        there = frozenset().union(*(item.concepts for item in items))
        negative = any(item.kind == "not" for item in items)
        if any(item.said.lower() in _BUT_FOR for item in items):
            return []  # "no leaks except at the rear" says less than it seems to
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
        turned = negative and not pattern.negative and not (give.reads and only_judged(pattern, items))
        if turned and not denied(pattern, items):
            return []
        if pattern.negative and not (denies if pattern.negated else denied_here)(pattern, items):
            return []
        if turned and (
            give.reads or give.value is not None or len(pattern.gives) > 1 or not can_turn(shape, give)
        ):
            return []
        rule = self.vocabulary.rules.get(give.finding, ReadingRule())
        figures = [item for item in items if item.kind == "figure"]
        if give.reads:
            values = [item for item in figures if is_value(item, shape, rule)]
            if len(values) > 1 and shape.unit != "rpm":  # "hose off 1000 D 155": the larger is the engine's
                values = [item for item in values if item.measure or "in_rotation" not in item.concepts]
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
        conditions = conditions_of(items, rule, values, alone, pattern.required if pattern.whole else ())
        if conditions is None:
            return None
        if values and not self._alone(pattern, items, rule, values):
            return None
        concepts = pattern.concepts
        held = {item: name for item, (name, _) in conditions.items()}
        when = "" if values or self._clean(pattern.gives[0], turned) else warmth_of(pattern, items)
        explained = left = 0.0
        unexplained: list[Item] = []
        for place, item in enumerate(items):
            share = INHERITED if place < own else 1.0
            if item in values or item.kind == "not":
                explained += item.weight * share
            elif item in conditions:
                explained += item.weight * share * conditions[item][1]
            elif not item.concepts.isdisjoint(concepts) and (
                item.kind != "figure" or not values or item.concepts & concepts - {self._measure(pattern)}
            ):
                own_figure = item.kind == "figure" and self._is_reading(pattern.gives[0], item)
                explained += item.weight * share * (LOOSE if own_figure else 1.0)
                if own_figure:
                    held[item] = "reading"
            elif when in item.concepts:
                explained += item.weight * share * LOOSE
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
        if when:
            said.setdefault("temperature", when)
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

    def _alone(
        self, pattern: Pattern, items: Sequence[Item], rule: ReadingRule, values: tuple[Item, ...]
    ) -> bool:
        """Whether no other figure could as well be the reading, and none says that it is another's."""
        shape = self.findings[pattern.gives[0].finding]
        if "in_fallen" in pattern.concepts and any("in_fallen" in value.concepts for value in values):
            return False
        for item in items:
            told = item.concepts & pattern.concepts - {self._measure(pattern)}
            if item.kind != "figure" or item in values or told:
                continue
            if shape.unit != "rpm" and not item.measure and "in_rotation" in item.concepts:
                continue
            if shape.unit == "psi" and item.measure == "speed" and "speed" not in rule.conditions:
                return False
            if is_value(item, shape, rule) and not item.after_at and item.weight >= WEIGHT_FIGURE:
                return False
        return True

    def _clean(self, give: Give, turned: bool) -> bool:
        """Whether it is said that nothing is wrong, which at one temperature says nothing of another."""
        shape = self.findings.get(give.finding)
        if shape is None or give.word is not None:
            return give.word in _CLEAN
        return bool(shape.states) and (shape.states[0] in give.states) != turned

    def _measure(self, pattern: Pattern) -> str:
        """The concept that a figure which could be the reading carries by its unit."""
        shape = self.findings.get(pattern.gives[0].finding)
        return "" if shape is None else measure_of(shape.unit)

    def _is_reading(self, give: Give, item: Item) -> bool:
        """Whether a figure could be the reading of a finding that is answered in words."""
        shape = self.findings.get(give.finding)
        return give.word is not None and shape is not None and item.measure in MEASURES.get(shape.unit, ())

    def _needed(self, pattern: Pattern, items: Sequence[Item], there: frozenset[str], bearing: int) -> float:
        """How telling the words are that the pattern needs, which decides between equal explanations."""
        exact = frozenset().union(*(item.exact for item in items))
        needed = sum(self.vocabulary.weight(choice & there) for choice in pattern.required)
        needed += self.vocabulary.asks(pattern.gives[0].finding)  # what was asked for is given
        needed -= DOUBLED * max(0, len(pattern.required) - bearing)
        needed += NEGATED * sum(follows_not(choice, items) for choice in pattern.negated)
        return needed + EXACT * sum(not choice.isdisjoint(exact) for choice in pattern.required)
