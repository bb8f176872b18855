"""The complaint as a handful of questions: one tap answers each, any may be skipped."""

from __future__ import annotations

from collections.abc import Mapping

from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.errors import FindingError
from bellhousing.tasks.answers import ChoiceAnswer, QuestionAnswer

QUESTIONS: Mapping[str, str] = {
    "complaint-kind": "What is the complaint?",
    "complaint-gear": "In which gear?",
    "complaint-temperature": "Cold, hot, or the same?",
    "complaint-throttle": "At which throttle?",
    "complaint-speed": "At which road speed?",
    "onset": "How did it begin?",
    "recent-work": "What was done to it lately?",
    "stood-over-a-year": "Has it stood for more than a year?",
    "towed-lately": "Has it been towed lately?",
}


def questions(catalogue: Catalogue, given: Mapping[str, str]) -> tuple[QuestionAnswer, ...]:
    """The questions of the interview in order, with the answers already on record."""
    asked = []
    for name, ask in QUESTIONS.items():
        finding = catalogue.findings.get(name)
        if finding is None:
            continue
        choices = tuple(
            ChoiceAnswer(answer=state, label=finding.state_names.get(state, state.replace("-", " ")))
            for state in finding.states
        )
        asked.append(QuestionAnswer(finding=name, ask=ask, choices=choices, given=given.get(name)))
    return tuple(asked)


def check_answer(catalogue: Catalogue, finding: str, answer: str) -> None:
    """Refuse an answer that the question does not offer.

    Raises
    ------
    FindingError : naming the question and the answers it takes.
    """
    if finding not in QUESTIONS or finding not in catalogue.findings:
        known = ", ".join(name for name in QUESTIONS if name in catalogue.findings)
        raise FindingError(f"there is no question '{finding}'", remedy=f"use one of: {known}")
    states = catalogue.findings[finding].states
    if answer not in states:
        raise FindingError(
            f"'{answer}' is not an answer to this question",
            where=QUESTIONS[finding],
            remedy=f"use one of: {', '.join(states)}",
        )
