"""What was measured on the bench as findings of the catalogue: inside its window, beyond it, or neither."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.fits.verdict import conformity
from bellhousing.road.bench import BenchNumber

SURE = 0.95
"""Probability at which a measurement counts as inside or beyond its window."""


@dataclass(frozen=True)
class Meaning:
    """The finding a measurement bears on, its state inside the window and beyond it; "" for a figure."""

    finding: str
    inside: str = ""
    beyond: str = ""


MEANINGS: Mapping[str, Meaning] = MappingProxyType(
    {
        "pump-face-clearance": Meaning("pump-gears", "sound", "worn"),
        "pump-body-clearance": Meaning("pump-gears", "sound", "worn"),
        "pump-crescent-clearance": Meaning("pump-gears", "sound", "worn"),
        "sealing-ring-gap": Meaning("hub-rings", "sound", "worn"),
        "sealing-ring-side": Meaning("hub-rings", "sound", "worn"),
        "pump-bush-clearance": Meaning("pump-bush", "sound", "worn"),
        "pump-ring-reach": Meaning("pump-face", "supple", "ring-flat"),
        "converter-hub-wear": Meaning("converter-hub", "polished", "grooved"),
        "front-end-play": Meaning("input-end-play"),
        "converter-hub-runout": Meaning("converter-runout"),
    }
)
"""Measurements that a finding of the catalogue asks for."""


@dataclass(frozen=True)
class BenchFinding:
    """A finding that was measured: its evidence, and which of the numbers decided it."""

    evidence: Evidence
    decided_by: str


def bench_findings(
    numbers: Iterable[BenchNumber], box: Box, catalogue: Catalogue
) -> tuple[BenchFinding, ...]:
    """What the numbers say of the catalogue's findings.

    A finding with a figure takes the number as it is. One with states is beyond as soon as one number is so
    with 95 in 100, inside when all that were measured are, and no finding where they cannot tell. The window
    is the box's, its upper end for clearances and wear; a seal's reach is judged by its lower end.
    """
    by_finding: dict[str, list[BenchNumber]] = {}
    for number in numbers:
        meaning = MEANINGS.get(number.id)
        if meaning is not None and meaning.finding in catalogue.findings:
            by_finding.setdefault(meaning.finding, []).append(number)
    found = []
    for name, taken in by_finding.items():
        finding = catalogue.finding(name)
        if finding.part is not None and finding.part in box.missing_parts:
            continue
        one = _figure(finding, taken) if not MEANINGS[taken[0].id].inside else _state(finding, taken, box)
        if one is not None:
            found.append(one)
    return tuple(found)


def _figure(finding: Finding, taken: Sequence[BenchNumber]) -> BenchFinding:
    last = taken[-1]
    evidence = Evidence(finding.id, value=last.value, standard_uncertainty=last.standard_uncertainty)
    return BenchFinding(evidence, last.id)


def _state(finding: Finding, taken: Sequence[BenchNumber], box: Box) -> BenchFinding | None:
    chances = {number.id: _inside(number, box) for number in taken}
    known = {name: chance for name, chance in chances.items() if chance is not None}
    if not known:
        return None
    worst = min(known, key=lambda name: known[name])
    meaning = MEANINGS[worst]
    if known[worst] <= 1.0 - SURE:
        return BenchFinding(Evidence(finding.id, states=(meaning.beyond,)), worst)
    if known[worst] >= SURE and len(known) == len(chances):
        return BenchFinding(Evidence(finding.id, states=(meaning.inside,)), worst)
    return None


def _inside(number: BenchNumber, box: Box) -> float | None:
    """Chance that a number is not beyond the end of its window that wear moves it to; None if unknown."""
    bench = box.measurements.get(number.id)
    if bench is None or bench.window is None:
        return None
    low, high = bench.window.low, bench.window.high
    if number.id.endswith("-reach"):
        return conformity(low, float("inf"), number.value, number.standard_uncertainty)
    return conformity(float("-inf"), high, number.value, number.standard_uncertainty)
