"""Why a sentence is no finding here: another kind of box has it, or its unit measures something else."""

from __future__ import annotations

from collections.abc import Mapping

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.errors import BellhousingError, FindingError
from bellhousing.quantities.spans import find_quantity
from bellhousing.quantities.units import unit
from bellhousing.words.model import FindingShape, Understood
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary

Shapes = Mapping[str, FindingShape]


def of_another_kind(
    said: str,
    box: Box,
    catalogues: Mapping[str, Catalogue],
    shapes: Mapping[str, Shapes],
    vocabulary: Vocabulary,
) -> FindingError | None:
    """The reason where all of a sentence is a finding of another kind of box, None otherwise."""
    for kind, there in shapes.items():
        found = () if kind == box.kind else _found(said, there, vocabulary)
        if found and not any(item.finding in shapes[box.kind] for item in found):
            name = catalogues[kind].finding(found[0].finding).name
            return FindingError(
                f"“{said}” is nothing that {box.name} has",
                remedy=f"“{name}” goes with a box of the kind {kind}; look which box the car has",
            )
    return None


def in_another_unit(
    said: str, catalogue: Catalogue, shapes: Shapes, vocabulary: Vocabulary
) -> FindingError | None:
    """The reason where a sentence would be a reading but for a unit of something else, None otherwise."""
    for figure in find_quantity(said):
        if figure.unit is None:
            continue
        bare = f"{said[: figure.start]}{figure.value}{said[figure.end :]}"
        found = _found(bare, shapes, vocabulary)
        if len(found) != 1 or found[0].value is None or not found[0].value.unit_assumed:
            continue
        finding = catalogue.finding(found[0].finding)
        wrong, right = unit(figure.unit).dimension, unit(found[0].value.unit).dimension
        if wrong != right:
            return FindingError(
                f"“{said}”: {figure.unit} measures {wrong}, not {right}",
                remedy=f"{finding.name} is read in {found[0].value.unit}",
            )
    return None


def _found(said: str, shapes: Shapes, vocabulary: Vocabulary) -> tuple[Understood, ...]:
    """What a text says all of which is understood; nothing where some of it is not."""
    try:
        reading = understand(said, shapes, vocabulary)
    except BellhousingError:
        return ()
    return () if reading.notes else tuple(reading.found)
