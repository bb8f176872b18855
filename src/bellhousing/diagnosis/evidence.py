"""One finding as the inference takes it, and the check that it can be taken at all."""

from __future__ import annotations

from dataclasses import dataclass

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.errors import FindingError
from bellhousing.quantities.show import show


@dataclass(frozen=True)
class Evidence:
    """What was found: one of `states` (any of them may be meant), a `word` for a reading, or a value [SI].

    `standard_uncertainty` [SI] is the reading's own; `instruments` names what it was read with, each with the
    weight it has in the value (one of weight 1, or several for the mean of tries): their error is shared by
    all readings taken with them. `hearsay` is the share of such statements that say nothing of the car, for
    what was told and not yet looked at; it opens no test and is looked at again.
    """

    finding: str
    states: tuple[str, ...] = ()
    word: str | None = None
    value: float | None = None
    standard_uncertainty: float | None = None
    instruments: tuple[tuple[str, float], ...] = ()
    hearsay: float = 0.0


def check_evidence(evidence: Evidence, catalogue: Catalogue, box: Box) -> None:
    """Refuse a finding that is unknown, impossible, or about a part this box does not have.

    Raises
    ------
    FindingError : naming the finding and what would be right.
    """
    finding = catalogue.finding(evidence.finding)
    if finding.part is not None and finding.part in box.missing_parts:
        raise FindingError(
            f"{box.name} has no {finding.part.replace('-', ' ')}",
            where=finding.name,
            remedy="check which box this is, or note what was seen under another name",
        )
    if finding.kind == "states":
        _check_states(evidence, finding)
    else:
        _check_reading(evidence, finding)


def _check_states(evidence: Evidence, finding: Finding) -> None:
    if evidence.value is not None and finding.thresholds is None:
        raise FindingError(
            "this finding is not a figure",
            where=finding.name,
            remedy=f"say one of: {', '.join(finding.states)}",
        )
    unknown = [state for state in evidence.states if state not in finding.states]
    if unknown or (not evidence.states and evidence.value is None):
        said = ", ".join(unknown) or "nothing"
        raise FindingError(
            f"'{said}' is not something this finding can be",
            where=finding.name,
            remedy=f"say one of: {', '.join(finding.states)}",
        )


def _check_reading(evidence: Evidence, finding: Finding) -> None:
    if evidence.word is not None:
        if evidence.word not in finding.words:
            raise FindingError(
                f"'{evidence.word}' is not an answer to this reading",
                where=finding.name,
                remedy=f"give a figure in {finding.unit}, or one of: {', '.join(finding.words)}",
            )
        return
    if evidence.value is None:
        raise FindingError("no figure was given", where=finding.name, remedy=f"give it in {finding.unit}")
    if finding.possible is not None and not finding.possible[0] <= evidence.value <= finding.possible[1]:
        low, high = (show(end, finding.unit) for end in finding.possible)
        raise FindingError(
            f"{show(evidence.value, finding.unit)} cannot be",
            where=finding.name,
            remedy=f"between {low} and {high}",
        )
