"""The published checks as their marks tell them."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

FIELDS = {"quantity", "source", "place", "code", "figures"}
KINDS = ("published", "from_memory", "other_program", "beside")


@dataclass(frozen=True)
class Check:
    """A printed figure: the quantity, where it is printed, the shipped code that gives ours, the tests."""

    quantity: str
    source: str
    place: str
    code: str
    figures: tuple[int, ...] | None
    test: str

    @property
    def key(self) -> tuple[str, str, str]:
        """What makes it one check: the quantity, the source and the place; a table counts once."""
        return self.quantity, self.source, self.place


def checks_of(item: pytest.Item) -> list[Check]:
    """The checks of one test. Raises UsageError for a mark that leaves something out."""
    made = []
    for mark in item.iter_markers("published"):
        given = dict(mark.kwargs)
        if mark.args or not FIELDS - {"figures"} <= set(given) <= FIELDS:
            raise pytest.UsageError(f"{item.nodeid}: published(quantity=, source=, place=, code=)")
        made.append(Check(**{"figures": None, **given}, test=item.nodeid))
    return made


def kind_of(item: pytest.Item) -> str:
    """Which mark says what a test of this folder is. Raises UsageError when none or two do."""
    found = [kind for kind in KINDS if item.get_closest_marker(kind) is not None]
    if len(found) != 1:
        raise pytest.UsageError(f"{item.nodeid}: one mark of {', '.join(KINDS)}; has {found or 'none'}")
    return found[0]
