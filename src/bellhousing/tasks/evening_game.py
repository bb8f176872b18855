"""The guessing game of the evening view: invented cases told step by step, with the program's own guess."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any

from bellhousing.diagnosis.posterior import Diagnosis, diagnose
from bellhousing.diagnosis.prepare import CarFacts
from bellhousing.errors import FindingError
from bellhousing.tasks.evening_shapes import (
    EveningCase,
    EveningOption,
    EveningRanked,
    EveningStep,
    EveningTitle,
)
from bellhousing.tasks.hearing import Heard, hear
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.tries import combined

LEADING = 5


@cache
def _described() -> Sequence[Mapping[str, Any]]:
    from ruamel.yaml import YAML

    text = (resources.files("bellhousing.tasks") / "data" / "evening-cases.yaml").read_text("utf-8")
    loaded: Sequence[Mapping[str, Any]] = YAML(typ="safe", pure=True).load(text)["cases"]
    return loaded


def titles(shop: Shop) -> tuple[EveningTitle, ...]:
    """The cases there are to guess."""
    return tuple(
        EveningTitle(id=case["id"], title=case["title"], kind=shop.box(case["box"]).kind)
        for case in _described()
    )


def told(shop: Shop, name: str) -> EveningCase:
    """A case with what the program thinks after each step; of the shop it takes nothing but the models.

    Raises
    ------
    FindingError : no such case, or a step of which nothing is understood.
    """
    case = next((one for one in _described() if one["id"] == name), None)
    if case is None:
        known = ", ".join(one["id"] for one in _described())
        raise FindingError(f"there is no case '{name}'", remedy=f"one of {known}")
    box = shop.box(case["box"])
    prepared = shop.preparation.prepared(box, CarFacts())
    catalogue = shop.catalogue.of_family(box.kind)
    heard: list[Heard] = []
    steps = []
    for step in case["steps"]:
        new = hear(step["said"], shop.listener, box, heard)
        heard.extend(new)
        evidence = tuple(entry.evidence for entry in combined(heard, catalogue) if entry.evidence is not None)
        understood = "; ".join(entry.answer.understood or "" for entry in new if entry.evidence is not None)
        if not understood:
            raise FindingError(f"nothing was understood of '{step['said']}'", where=name)
        steps.append(_step(step, understood, diagnose(prepared, evidence), case["options"]))
    return EveningCase(
        id=name,
        title=case["title"],
        kind=box.kind,
        box=box.name,
        opening=case["opening"],
        options=tuple(EveningOption(fault=one["fault"], says=one["says"]) for one in case["options"]),
        steps=tuple(steps),
        truth=tuple(case["truth"]),
        reveal=case["reveal"],
    )


def _step(
    step: Mapping[str, str], understood: str, diagnosis: Diagnosis, options: Sequence[Mapping[str, str]]
) -> EveningStep:
    chances = {cause.id: round(min(1.0, max(0.0, float(cause.probability))), 4) for cause in diagnosis.causes}
    return EveningStep(
        tell=step["tell"],
        said=step["said"],
        understood=understood,
        options=tuple(chances.get(one["fault"], 0.0) for one in options),
        leading=tuple(
            EveningRanked(fault=cause.id, name=cause.name, chance=chances[cause.id])
            for cause in diagnosis.causes[:LEADING]
        ),
    )
