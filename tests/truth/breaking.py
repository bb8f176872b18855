"""Breaks one function of a copy of the package: what it gives is multiplied by a number a little off one.

A copy of this file stands inside the broken copy of the package as `breaking.py`; each module that a check
names ends there with `break_here(globals())`. The environment says what is broken: `BROKEN_CODE` names
module, function and, after a colon, the field of what it gives; `BROKEN_BY` is the factor.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import is_dataclass, replace
from functools import cached_property, wraps
from typing import Any

import numpy as np


def scaled(value: Any, factor: float, field: str = "") -> Any:
    """The same value, or one field of it, multiplied; a yes is a no, a count one more, and a text stays.

    A field may be one of a field, such as `ends.low`; of several things, a number says which, as in `0.ends`.

    Raises SystemExit for a record without the field: a test must not fail because the breaking does.
    """
    if is_dataclass(value) and not isinstance(value, type):
        name, _, within = field.partition(".")
        if not hasattr(value, name):
            raise SystemExit(f"break which field of {type(value).__name__}, not {name!r}?")
        return replace(value, **{name: scaled(getattr(value, name), factor, within)})
    if isinstance(value, Mapping):
        return {key: scaled(entry, factor, field) for key, entry in value.items()}
    if isinstance(value, (tuple, list)):
        place, _, within = field.partition(".")
        if place.isdecimal():
            return type(value)(
                scaled(entry, factor, within) if index == int(place) else entry
                for index, entry in enumerate(value)
            )
        return type(value)(scaled(entry, factor, field) for entry in value)
    if isinstance(value, Iterator):
        return (scaled(entry, factor, field) for entry in value)
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, (bool, np.bool_)) or getattr(value, "dtype", None) == np.bool_:
        return np.logical_not(value) if isinstance(value, np.ndarray) else not value
    if isinstance(value, (int, np.integer)):
        return value + 1
    return value * factor


def broken(function: Callable[..., Any], factor: float, field: str) -> Callable[..., Any]:
    """A function that gives what the other gives, multiplied."""

    @wraps(function)
    def call(*args: Any, **options: Any) -> Any:
        return scaled(function(*args, **options), factor, field)

    return call


def break_here(names: dict[str, Any]) -> None:
    """Break what the environment names, if it is in this module. Raises KeyError when it is not there."""
    code, _, field = os.environ.get("BROKEN_CODE", "").partition(":")
    module = str(names["__name__"]).partition(".")[2]
    if not code.startswith(f"{module}."):
        return
    owner, _, name = code.removeprefix(f"{module}.").rpartition(".")
    factor = float(os.environ["BROKEN_BY"])
    if not owner:
        names[name] = broken(names[name], factor, field)
        return
    if owner not in names:
        return  # a module below this one, not a class in it
    found = vars(names[owner])[name]
    if isinstance(found, property):
        assert found.fget is not None
        setattr(names[owner], name, property(broken(found.fget, factor, field)))
    elif isinstance(found, cached_property):
        setattr(names[owner], name, property(broken(found.func, factor, field)))
    else:
        setattr(names[owner], name, broken(found, factor, field))
