"""The figures of a statement: which can be the reading of a finding, and what they come to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from bellhousing.errors import AmbiguousUnitError, QuantityError
from bellhousing.quantities.measured import Measured
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.units import unit
from bellhousing.words.item import Item, in_unit, number_of
from bellhousing.words.model import FindingShape
from bellhousing.words.vocabulary import ReadingRule

MEASURES = {
    "psi": ("pressure",), "inHg": ("vacuum", "inches"), "rpm": ("rotation",), "mph": ("speed",),
    "s": ("time",), "%": ("share",), "in": ("length", "inches"), "degF": ("temperature",),
}  # fmt: skip
USUAL = {"rotation": "rpm", "speed": "mph", "vacuum": "inHg", "temperature": "degF"}
# Units in which a reading may be below zero.
BELOW_ZERO = frozenset({"degF", "degC"})
_NO_MINUS = "look at the gauge again, or write it without the minus"
# What no gauge of a car shows [in the usual unit]: a figure beyond is a slip of the key.
_SENSIBLE = {
    "rotation": (0.0, 9000.0), "speed": (0.0, 200.0), "temperature": (-80.0, 600.0), "vacuum": (0.0, 30.0),
}  # fmt: skip


def hot_and_cold(items: Sequence[Item]) -> tuple[Item, Item] | None:
    """The two pressures of a statement, the hot one first: "60 psi but drops to 40 when hot".

    Each figure belongs to the word nearest to it, the one before it where both are as near.
    """
    row = [item for item in items if item.weight or item.kind == "figure"]
    places = [
        place
        for place, item in enumerate(row)
        if item.kind == "figure" and item.measure in {"pressure", None} and _stands(item)
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


def _stands(item: Item) -> bool:
    """Whether a pressure stood on the gauge: "drops 25 psi" is none, "falls from 60 to 40" are two."""
    return not item.amount or not item.concepts.isdisjoint({"in_fallen", "in_from"})


def sharing(item: Item, other: Item) -> Item:
    """A figure with the unit of the one beside it where it has none itself."""
    return item if item.measure else replace(item, unit=other.unit, measure=other.measure)


def is_value(item: Item, shape: FindingShape, rule: ReadingRule) -> bool:
    """Whether a figure can be the reading of a finding, by its unit."""
    usual = rule.figure_unit or shape.unit
    if (item.amount and not rule.difference) or (rule.difference and "in_fallen" in item.concepts):
        return False
    if item.unit is None:
        return usual != "%"  # a bare figure beside a pressure is a pressure
    if item.unit == "deg":
        return usual in {"degF", "degC"}
    measures = MEASURES.get(usual, ())
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


def check_held(held: Iterable[Item], where: str) -> None:
    """Refuse a speed, temperature or vacuum no car has among the conditions of a finding.

    Raises
    ------
    QuantityError : such a figure, or one below zero; it names the finding
    """
    for item in held:
        measure = item.measure or ""
        below = item.below_zero and measure not in {"temperature", "vacuum", "inches"}
        if measure in _SENSIBLE:
            low, high = _SENSIBLE[measure]
            if below or not low <= abs(in_unit(item, USUAL[measure])) <= high:
                raise QuantityError(
                    f"{item.said} is impossible here", where=where, remedy="look for a slip of the key"
                )
        elif below:
            raise QuantityError(f"{item.said} is below zero", where=where, remedy=_NO_MINUS)


def measures_of(unit_name: str) -> tuple[str, ...]:
    """The kinds of figure that are readings in some unit."""
    return MEASURES.get(unit_name, ())


def measure_of(unit_name: str) -> str:
    """The concept a figure in some unit carries: "psi" gives in_pressure."""
    return f"in_{MEASURES.get(unit_name, ('',))[0]}"


def fits(item: Item, shape: FindingShape, rule: ReadingRule) -> bool:
    """Whether a bare figure is possible in the finding's usual unit."""
    if item.unit is not None or shape.possible is None:
        return True
    usual = unit(rule.figure_unit or shape.unit)
    return shape.possible[0] <= usual.to_si(number_of(item)) <= shape.possible[1]
