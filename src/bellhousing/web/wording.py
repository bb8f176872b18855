"""The words of the shop's country on the pages: what the program says, never what somebody wrote."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Any

from jinja2 import Environment
from jinja2.ext import Extension
from jinja2.lexer import Token, TokenStream
from markupsafe import Markup
from pydantic import BaseModel

from bellhousing.quantities.turn import INCH, turned
from bellhousing.tasks.answers import CarAnswer
from bellhousing.tasks.building_shapes import GateAnswer
from bellhousing.tasks.photos import PhotoAnswer
from bellhousing.tasks.plan_answers import InPassingAnswer, PlanAnswer, WaitingAnswer, WatchAnswer
from bellhousing.tasks.road_kept import KeptReading
from bellhousing.tasks.road_shapes import ColumnAnswer
from bellhousing.tasks.service_shapes import DueAnswer, ServiceRuleAnswer
from bellhousing.tasks.shipped import parsed_once
from bellhousing.tasks.shop_settings import ShopSettings
from bellhousing.tasks.strip_shapes import StripBaseline, StripFlange, StripStep, StripTarget
from bellhousing.words.glossary import Glossary, glossary

SPOKEN = frozenset(
    [
        "name",
        "ask",
        "mechanism",
        "in_words",
        "cautions",
        "first",
        "headline",
        "understood",
        "shown",
        "verdict",
        "label",
        "without",
        "cannot",
        "problems",
        "remark",
        "fault_name",
        # Of the strip, the build and the service plan.
        "tools",
        "marks",
        "loose",
        "one_use",
        "may_be_found",
        "how",
        "fasteners",
        "fastener",
        "particular",
        "seen_from",
        "method",
        "todo",
        "torque",
        "would_tell",
        "flange_name",
        "opens",
        "instead",
        "holds",
        "hidden",
        "sealant",
        "washer",
    ]
)
"""Fields of answers that hold the program's own words."""

SPOKEN_IN: Mapping[type, frozenset[str]] = {
    StripStep: frozenset(["note"]),
    StripFlange: frozenset(["note", "jack"]),
    StripBaseline: frozenset(["why"]),
    StripTarget: frozenset(["why"]),
    GateAnswer: frozenset(["why"]),
    DueAnswer: frozenset(["why", "because"]),
    ServiceRuleAnswer: frozenset(["why"]),
    InPassingAnswer: frozenset(["why"]),
    PlanAnswer: frozenset(["why"]),
    WatchAnswer: frozenset(["text", "watch"]),
    WaitingAnswer: frozenset(["may_drive"]),
}
"""Fields that hold the program's own words in these answers and somebody's in others."""

WRITTEN = (CarAnswer, PhotoAnswer, ColumnAnswer, KeptReading, ShopSettings)
"""Answers whose words are somebody's own."""

Say = Callable[[str], str]


@cache
def words_of(country: str) -> Say:
    """What puts a text in the words of a country."""
    found: Glossary = glossary(parsed_once)
    return lambda text: found.say(text, country)


def in_words(value: Any, say: Say) -> Any:
    """An answer with its own words said in a country's; what somebody wrote stays as it was."""
    if isinstance(value, WRITTEN):
        return value
    if isinstance(value, BaseModel):
        named = {name: getattr(value, name) for name in type(value).model_fields}
        changed = _changed(named, say, SPOKEN_IN.get(type(value), frozenset()))
        return value.model_copy(update=changed) if changed else value
    if isinstance(value, tuple | list):
        parts = [in_words(part, say) for part in value]
        same = all(new is old for new, old in zip(parts, value, strict=True))
        return value if same or hasattr(value, "_fields") else type(value)(parts)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        named = {one.name: getattr(value, one.name) for one in dataclasses.fields(value) if one.init}
        changed = _changed(named, say)
        return dataclasses.replace(value, **changed) if changed else value
    return value


def _changed(named: dict[str, Any], say: Say, besides: frozenset[str] = frozenset()) -> dict[str, Any]:
    """The fields of an answer that read otherwise."""
    found = {}
    for name, value in named.items():
        new = _said(value, say) if name in SPOKEN or name in besides else in_words(value, say)
        if new is not value and new != value:
            found[name] = new
    return found


def _said(value: Any, say: Say) -> Any:
    if isinstance(value, Markup):
        return value
    if isinstance(value, str):
        return say(value)
    if isinstance(value, tuple) and all(isinstance(part, str) for part in value):
        return tuple(say(part) for part in value)
    return in_words(value, say)


class Worded(Extension):
    """Puts the sentences of the templates themselves in the words and units of their `environment`."""

    def filter_stream(self, stream: TokenStream) -> Iterable[Token]:
        """Every text of a template, once, when it is compiled."""
        say, units = words_of(country_of(self.environment)), units_of(self.environment)
        for token in stream:
            sentence = token.type == "data" or (token.type == "string" and " " in token.value)
            if not sentence:
                yield token
                continue
            # What stands between quotes here is an example of the program, not what somebody wrote.
            yield Token(token.lineno, token.type, turned(say(token.value), units, quoted=True))


def country_of(environment: Environment) -> str:
    """The country whose words an environment uses."""
    return str(getattr(environment, "country", ""))


def units_of(environment: Environment) -> str:
    """The units an environment shows figures in."""
    return str(getattr(environment, "units", INCH))
