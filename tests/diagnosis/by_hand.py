"""The whole inference again in plain Python, set by set and car by car, on a small catalogue."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import combinations

from scipy.stats import t as student

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.instruments import drawn_bias
from bellhousing.diagnosis.likelihood import KERNEL, MISREAD, floor
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.diagnosis.tables import MISNOTED, MISSEEN
from bellhousing.diagnosis.windows import words_region
from bellhousing.road.shown import Shown
from tests.shipped import catalogue_as_shipped, ready

PSI = 6894.757
INHG = 3386.389
MPH = 0.44704

FAULTS = (
    "vacuum-hose-off",
    "modulator-diaphragm-torn",
    "governor-gear-stripped",
    "pump-worn",
    "output-seal-hard",
    "tail-gasket-leaking",
    "selector-linkage-out",
)
"""Four that act on the model of the car, and three that only tables know."""

Set = tuple[str, ...]


def filtered(faults: Sequence[str], findings: Sequence[str] | None = None) -> Catalogue:
    """The shipped catalogue with nothing in it but these faults and findings."""
    whole = catalogue_as_shipped()
    return replace(
        whole,
        faults={name: whole.faults[name] for name in faults},
        findings=whole.findings if findings is None else {name: whole.findings[name] for name in findings},
        digest="small " + " ".join((*faults, "with", *(findings or ()))),
    )


@cache
def small(seed: int = 1, cars: int = 40, box: str = "box-a") -> Prepared:
    """A box with seven faults of the shipped catalogue and all of its findings."""
    return prepare(load_box(box), CarFacts(), filtered(FAULTS), seed=seed, cars=cars)


def box_a() -> Prepared:
    """Box A with every fault and finding of the catalogue."""
    return ready("box-a")


@dataclass(frozen=True)
class ByHand:
    """Posterior over every set of faults, found by adding up all of them."""

    prepared: Prepared
    shown: Mapping[Set, Shown]
    kept: dict[tuple[Set, Evidence], list[float]] = field(default_factory=dict)

    def chances(self, faults: Set, finding: Finding, car: int) -> list[float]:
        """Chance of each state: the most conspicuous of what background, physics and each fault bring."""
        below = self._table(faults, finding)
        physics = self.shown[faults].chances.get(finding.id)
        if physics is not None:
            of_car = [float(chance) for chance in physics[0, car]]
            below = [b * sum(of_car[: k + 1]) for k, b in enumerate(below)]
        return [now - before for now, before in zip(below, [0.0, *below[:-1]], strict=True)]

    def _table(self, faults: Set, finding: Finding) -> list[float]:
        below = []
        for k in range(len(finding.states)):
            later = finding.states[k + 1 :]
            # What the model shows is misseen as a whole, what tables show row by row.
            held = sum(finding.background.values()) < 0.01
            usual = MISNOTED * (0.1 if held else 1.0)
            misseen = 0.0 if finding.id in self.shown[()].chances else usual
            wrong = misseen / len(finding.states)
            product = 1.0 - sum(
                (1.0 - misseen) * finding.background.get(state, 0.0) + wrong for state in later
            )
            for fault in faults:
                strengths = finding.strengths.get(fault, {})
                product *= 1.0 - (1.0 - misseen) * sum(strengths.get(state, 0.0) for state in later)
            below.append(product)
        return below

    def on_cars(self, faults: Set, entry: Evidence) -> list[float]:
        """Likelihood of one finding on each car with this set of faults."""
        if (faults, entry) not in self.kept:
            finding = self.prepared.catalogue.finding(entry.finding)
            cars = range(len(self.prepared.model.cars))
            self.kept[faults, entry] = (
                self._reading(faults, finding, entry)
                if finding.kind == "reading"
                else [self._state(faults, finding, entry, car) for car in cars]
            )
        return self.kept[faults, entry]

    def _state(self, faults: Set, finding: Finding, entry: Evidence, car: int) -> float:
        each = self.chances(faults, finding, car)
        seen = sum(
            chance for chance, state in zip(each, finding.states, strict=True) if state in entry.states
        )
        if finding.id not in self.shown[faults].chances:
            return seen
        wrong = MISSEEN * (0.1 if sum(finding.background.values()) < 0.01 else 1.0)
        return (1.0 - wrong) * seen + wrong * len(entry.states) / len(finding.states)

    def _reading(self, faults: Set, finding: Finding, entry: Evidence) -> list[float]:
        values = [float(value) for value in self.shown[faults].readings[finding.id][0]]
        # The reading's own error and the instrument's, each half the half-width.
        half = finding.half_width / 2.0
        own = entry.standard_uncertainty or finding.half_width / 2.0
        brought = math.sqrt(sum(weight**2 for _, weight in entry.instruments) if entry.instruments else 1.0)
        error = math.hypot(own, brought * finding.half_width / 2.0)
        if entry.word is not None:
            return [self._word(finding, entry.word, value, error) for value in values]
        misread = MISREAD * floor(finding, error)
        alone = own if entry.instruments else error
        finite = [value for value in values if math.isfinite(value)]
        if not finite:
            return [misread] * len(values)
        middle = sum(finite) / len(finite)
        variance = sum((value - middle) ** 2 for value in finite) / len(finite)
        wide = math.sqrt(alone**2 + KERNEL**2 * variance)
        centre = [
            middle + math.sqrt(1.0 - KERNEL**2) * (value - middle) + half * self._bias(entry, car)
            for car, value in enumerate(values)
        ]
        density = student.pdf(entry.value, 5, loc=centre, scale=wide) / student.pdf(0.0, 5, scale=error)
        return [
            float((1.0 - MISREAD) * fit + misread) if math.isfinite(value) else misread
            for fit, value in zip(density, values, strict=True)
        ]

    def _bias(self, entry: Evidence, car: int) -> float:
        """What the instruments of a reading add on one car, in standard deviations: one draw for each."""
        cars, seed = len(self.prepared.model.cars), self.prepared.seed
        return sum(
            weight * float(drawn_bias(instrument, seed, cars)[car])
            for instrument, weight in entry.instruments
        )

    def _word(self, finding: Finding, word: str, value: float, error: float) -> float:
        low, high, at_never = words_region(self.prepared, finding, word)
        # Outside the window means outside by more than twice the reading's uncertainty.
        if finding.words[word] in ("below", "above"):
            low, high = low + 2.0 * error, high - 2.0 * error
        elif isinstance(finding.words[word], str):
            low, high = low - 2.0 * error, high + 2.0 * error

        def step(z: float) -> float:
            return 1.0 / (1.0 + math.exp(-max(-60.0, min(60.0, 1.702 * z))))

        if math.isfinite(value):
            below = step((high - value) / error) if math.isfinite(high) else 1.0
            above = step((value - low) / error) if math.isfinite(low) else float(low < 0.0)
            inside = max(0.0, below + above - 1.0)
        else:
            inside = at_never
        return (1.0 - MISREAD) * inside + MISREAD * 0.3

    def together(self, faults: Set, evidence: Sequence[Evidence]) -> list[float]:
        """Likelihood of all findings on each car."""
        each = [self.on_cars(faults, entry) for entry in evidence]
        return [math.prod(findings[car] for findings in each) for car in range(len(self.prepared.model.cars))]

    def likelihood(self, faults: Set, evidence: Sequence[Evidence]) -> float:
        """Likelihood of all findings: the mean over cars of their product."""
        each = self.together(faults, evidence)
        return sum(each) / len(each)

    def weight(self, faults: Set) -> float:
        """Prior of a set, relative to none: the product of its members' odds."""
        each = [self.prepared.catalogue.faults[fault].weight / 1000.0 for fault in faults]
        return math.prod(share / (1.0 - share) for share in each)

    def sets(self) -> list[Set]:
        """Every set of faults, whatever its size."""
        names = self.prepared.faults
        return [chosen for size in range(len(names) + 1) for chosen in combinations(names, size)]

    def posterior(self, evidence: Sequence[Evidence]) -> dict[Set, float]:
        """Chance of every set."""
        joint = {faults: self.weight(faults) * self.likelihood(faults, evidence) for faults in self.sets()}
        total = sum(joint.values())
        return {faults: value / total for faults, value in joint.items()}

    def marginals(self, evidence: Sequence[Evidence]) -> dict[str, float]:
        """Chance of every fault."""
        posterior = self.posterior(evidence)
        return {
            fault: sum(chance for faults, chance in posterior.items() if fault in faults)
            for fault in self.prepared.faults
        }

    def ln_evidence(self, evidence: Sequence[Evidence]) -> float:
        """ln P(evidence), up to the constant that readings carry."""
        prior = sum(self.weight(faults) for faults in self.sets())
        return math.log(
            sum(self.weight(faults) * self.likelihood(faults, evidence) for faults in self.sets()) / prior
        )


@cache
def by_hand(seed: int = 1, cars: int = 40) -> ByHand:
    """The plain counterpart of `small`; every set is simulated by itself."""
    prepared = small(seed, cars)
    physical = {prepared.faults[fault] for fault in prepared.sets.physical}
    shown: dict[Set, Shown] = {}
    rows: dict[tuple[int, ...], Shown] = {}
    for size in range(len(prepared.faults) + 1):
        for faults in combinations(prepared.faults, size):
            row = tuple(prepared.faults.index(fault) for fault in faults if fault in physical)
            if row not in rows:
                rows[row] = prepared.model.simulate([row])
            shown[faults] = rows[row]
    return ByHand(prepared, shown)


def states(finding: str, *said: str) -> Evidence:
    """A finding with states."""
    return Evidence(finding, states=said)


def value(finding: str, figure: float) -> Evidence:
    """A figure [SI]."""
    return Evidence(finding, value=figure)


def read_with(instrument: str, finding: str, figure: float) -> Evidence:
    """A figure [SI] read with an instrument of that name."""
    return Evidence(finding, value=figure, instruments=((instrument, 1.0),))
