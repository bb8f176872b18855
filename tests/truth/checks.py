"""The published checks as their marks tell them."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

FIELDS = {"quantity", "source", "place", "code", "figures"}
KINDS = ("published", "from_memory", "other_program", "beside")
NAMING = {"other_program": "another program", "beside": "worked out another way"}
"""Marks that, with `code=`, name the code that a test of any folder holds, and what they are called."""


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


def held_by(item: pytest.Item, kind: str) -> list[Check]:
    """The pieces of code that a test holds against another program or another way, each a check.

    Raises UsageError for a mark that says neither what holds them nor which.
    """
    made = []
    for mark in item.iter_markers(kind):
        given = mark.kwargs.get("code", ())
        codes = (given,) if isinstance(given, str) else tuple(given)
        if len(mark.args) != 1 or not set(mark.kwargs) <= {"code"}:
            raise pytest.UsageError(f"{item.nodeid}: {kind}(what, code=)")
        test = item.nodeid.partition("[")[0]
        made += [Check(code, NAMING[kind], test, code, None, item.nodeid) for code in codes]
    return made
