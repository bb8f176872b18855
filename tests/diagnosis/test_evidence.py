"""Findings that cannot be taken are refused, each with what would be right."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.evidence import Evidence, check_evidence
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.errors import FindingError
from tests.diagnosis.by_hand import INHG, PSI, small
from tests.shipped import catalogue_as_shipped

BOX, CATALOGUE = load_box("box-a"), catalogue_as_shipped()


@pytest.mark.parametrize(
    ("entry", "says"),
    [
        (Evidence("no-such-finding", states=("yes",)), "no finding 'no-such-finding'"),
        (Evidence("brakes-hold", states=("perhaps",)), "'perhaps' is not something"),
        (Evidence("brakes-hold"), "'nothing' is not something"),
        (Evidence("brakes-hold", states=("sound", "maybe")), "'maybe' is not something"),
        (Evidence("brakes-hold", value=3.0), "not a figure"),
        (Evidence("manifold-vacuum-idle", value=40.0 * INHG), "cannot be"),
        (Evidence("line-drive-idle", value=-3.0 * PSI), "cannot be"),
        (Evidence("line-drive-idle", word="enormous"), "'enormous' is not an answer"),
        (Evidence("line-drive-idle"), "no figure"),
    ],
)
def test_refused_with_a_remedy(entry: Evidence, says: str) -> None:
    """The message names the finding and what would be right; the diagnosis refuses it too."""
    with pytest.raises(FindingError, match=says) as refused:
        check_evidence(entry, CATALOGUE, BOX)
    assert refused.value.remedy
    with pytest.raises(FindingError, match=says):
        diagnose(small(), [entry])


@pytest.mark.parametrize("not_a_number", [float("nan"), float("inf"), float("-inf")])
def test_a_figure_that_is_no_number_is_refused(not_a_number: float) -> None:
    """Nan and infinity are no readings."""
    with pytest.raises(FindingError):
        check_evidence(Evidence("line-drive-idle", value=not_a_number), CATALOGUE, BOX)


def test_finding_about_a_part_the_box_lacks() -> None:
    """A box without a modulator has no modulator readings."""
    without = replace(BOX, missing_parts=frozenset({"modulator"}))
    with pytest.raises(FindingError, match="has no modulator"):
        check_evidence(Evidence("modulator-vacuum-idle", value=10.0 * INHG), CATALOGUE, without)


def test_every_finding_takes_every_answer_it_offers() -> None:
    """Each state and each word of the catalogue passes, and both ends of what is possible."""
    here = [f for f in CATALOGUE.findings.values() if f.part not in BOX.missing_parts]
    assert len(here) > 0.9 * len(CATALOGUE.findings)
    for finding in here:
        for state in finding.states:
            check_evidence(Evidence(finding.id, states=(state,)), CATALOGUE, BOX)
        for word in finding.words:
            check_evidence(Evidence(finding.id, word=word), CATALOGUE, BOX)
        for end in finding.possible or ():
            if finding.kind == "reading":
                check_evidence(Evidence(finding.id, value=end), CATALOGUE, BOX)
