"""The posterior against plain enumeration: every set, every car, one finding at a time."""

from __future__ import annotations

import pytest

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.posterior import SOUND, diagnose
from tests.diagnosis.by_hand import INHG, MPH, PSI, by_hand, small, states, value

NOTHING: list[Evidence] = []
TABLES = [
    states("fluid-in-modulator-hose", "wet"),
    states("joint-output-seal", "wet"),
    states("pan-plastic", "none"),
    states("fluid-level", "low", "off-the-stick"),
    states("rear-drips", "running-only"),
]
FIGURES = [
    value("modulator-vacuum-idle", 5.0 * INHG),
    value("line-drive-idle", 108.0 * PSI),
    value("upshift-12-light", 34.0 * MPH),
]
WORDS = [
    Evidence("upshift-12-light", word="never"),
    Evidence("governor-20", word="low"),
    Evidence("line-drive-idle", word="normal"),
]
BOTH = [*FIGURES, *TABLES, states("onset", "overnight")]
SOUND_CAR = [
    value("line-drive-idle", 66.0 * PSI),
    value("upshift-23-light", 18.5 * MPH),
    states("spot-rear", "none"),
]
PHYSICAL_STATES = [
    states("engagement-harshness", "bang"),
    states("slip-third", "none"),
    states("deep-throttle-45", "answers", "sluggish"),
]

EXACT = {
    "nothing": NOTHING,
    "tables": TABLES,
    "figures": FIGURES,
    "words": WORDS,
    "figures and tables": BOTH,
    "a sound car": SOUND_CAR,
    "states by physics": PHYSICAL_STATES,
}


@pytest.mark.parametrize("name", EXACT)
def test_every_cause_as_by_hand(name: str) -> None:
    """Marginals agree as far as sets of three physical faults, expanded and not simulated, allow.

    A fault that changes what was found by less than a fiftieth is weighed apart from the others.
    """
    prepared, evidence = small(), EXACT[name]
    found = diagnose(prepared, evidence)
    for fault, wanted in by_hand().marginals(evidence).items():
        assert found.cause(fault).probability == pytest.approx(wanted, abs=1e-3 + 2.0 * found.unexplored_mass)


@pytest.mark.parametrize("name", EXACT)
def test_little_is_left_to_expansion(name: str) -> None:
    """What is weighed by expansion only is known, and small."""
    assert 0.0 <= diagnose(small(), EXACT[name]).unexplored_mass < 2e-3


@pytest.mark.parametrize("said", ["all-drive", "drives-in-neutral", "no-drive-forward"])
def test_physics_and_table_together(said: str) -> None:
    """A finding that physics and a table explain: the more conspicuous of the two is seen."""
    prepared = small()
    evidence = [states("dead-ranges", said), value("line-drive-idle", 64.0 * PSI)]
    found = diagnose(prepared, evidence)
    for fault, wanted in by_hand().marginals(evidence).items():
        assert found.cause(fault).probability == pytest.approx(wanted, abs=2e-3)


def test_sound_is_no_fault_that_bears_on_what_was_looked_at() -> None:
    """With the tail alone looked at, a fault elsewhere does not make the answer unsound."""
    prepared = small()
    evidence = [states("joint-tail-housing", "dry"), states("joint-output-seal", "dry")]
    posterior = by_hand().posterior(evidence)
    bearing = {"output-seal-hard", "tail-gasket-leaking"}
    wanted = sum(chance for faults, chance in posterior.items() if not bearing & set(faults))
    assert diagnose(prepared, evidence).cause(SOUND).probability == pytest.approx(wanted, abs=1e-5)


def test_of_two_entries_for_one_finding_the_last_counts() -> None:
    """A correction replaces what was noted before."""
    corrected = [states("fluid-in-modulator-hose", "wet"), states("fluid-in-modulator-hose", "dry")]
    alone = [states("fluid-in-modulator-hose", "dry")]
    found, wanted = diagnose(small(), corrected), diagnose(small(), alone)
    assert [(cause.id, cause.probability) for cause in found.causes] == [
        (cause.id, cause.probability) for cause in wanted.causes
    ]
    assert {influence.evidence for influence in found.causes[0].why} <= {1}
