"""Changing what a shop says of itself: checked, kept in its file with its comments, and who did it."""

from __future__ import annotations

import io
import json
import os
from collections.abc import Mapping
from typing import Any

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.hearing import need_letters
from bellhousing.tasks.measured_words import OWN_INSTRUMENTS, instruments_of
from bellhousing.tasks.money import read_rate
from bellhousing.tasks.settings_terms import read_percent
from bellhousing.tasks.shop import UNNAMED, Shop
from bellhousing.tasks.shop_settings import (
    SETTINGS,
    ShopSettings,
    checked_settings,
    plain_yaml,
    shop_settings,
)

CHANGES = "shop-changes.jsonl"
MOST_SHOWN = 20
ROOM_OR_RIGHT = "make room on the disk, or give the app's user the right to write there"
LINES, MONTHS = ("lines",), ("season", "lay_up")
CHOICES = {
    "units": ("inch", "metric"),
    "words": ("british", "american"),
    "theme": ("device", "light", "dark"),
    "paper": ("a4", "us-letter"),
}


class ChangeAnswer(Shape):
    """A change of the settings: when, who, and what was and is, by name."""

    at: str
    who: str
    changed: dict[str, tuple[str, str]]


class InstrumentAnswer(Shape):
    """An instrument measurements are judged with; `own` if the shop describes it itself."""

    id: str
    name: str
    own: bool


class SettingsAnswer(Shape):
    """What a shop says of itself, its instruments, and the last changes, newest first."""

    settings: ShopSettings
    file: str
    instruments: tuple[InstrumentAnswer, ...]
    instruments_file: str
    changes: tuple[ChangeAnswer, ...]
    problem: str | None = None


def settings_of_shop(shop: Shop) -> SettingsAnswer:
    """Everything the page of settings shows."""
    problems: list[str] = []
    try:
        settings = shop_settings(shop)
    except BellhousingError as error:
        settings = ShopSettings()
        problems.append(str(error))
    try:
        instruments = _instruments(shop)
    except BellhousingError as error:
        instruments = ()
        problems.append(str(error))
    return SettingsAnswer(
        settings=settings,
        file=str(shop.folder / SETTINGS),
        instruments=instruments,
        instruments_file=str(shop.folder / OWN_INSTRUMENTS),
        changes=_changes(shop),
        problem="; ".join(problems) or None,
    )


def change_settings(shop: Shop, said: Mapping[str, str]) -> SettingsAnswer:
    """Change some settings, each as typed; an empty one is as usual again. All or none are kept.

    Raises
    ------
    InputFileError : no such setting, or a value that cannot be; the file is as it was then.
    """
    path = shop.folder / SETTINGS
    before = plain_yaml(path) or {}
    wanted = {name: _value(name, text) for name, text in said.items()}
    after = {name: value for name, value in {**before, **wanted}.items() if value not in ("", [], None)}
    checked = checked_settings(after, path)
    if checked.rate:
        read_rate(checked.rate)
    if checked.tax:
        read_percent(checked.tax)
    old = checked_settings(before, path)
    changed = {
        name: (_shown(getattr(old, name)), _shown(getattr(checked, name)))
        for name in ShopSettings.model_fields
        if getattr(old, name) != getattr(checked, name)
    }
    if changed:
        _write(shop, wanted)
        try:
            write_change(shop, changed)
        except OSError as error:
            raise InputFileError(
                f"the settings are changed, but who did it cannot be written down: {error.strerror}",
                where=str(shop.folder / CHANGES),
                remedy=ROOM_OR_RIGHT,
            ) from None
        if shop.who == UNNAMED or shop.who == old.who:
            shop.who = checked.who or UNNAMED
    return settings_of_shop(shop)


def write_change(shop: Shop, changed: Mapping[str, tuple[str, str]]) -> None:
    """Write down who changed what, each by its name with what was and what is; raises OSError."""
    told = {"at": shop.clock().isoformat(timespec="seconds"), "who": shop.who, "changed": changed}
    with (shop.folder / CHANGES).open("a", encoding="utf-8") as stream:
        stream.write(json.dumps(told, ensure_ascii=False) + "\n")


def _value(name: str, text: str) -> Any:
    need_letters(text.replace("\r", " ").replace("\n", " "))
    plain = text.strip()
    if name not in ShopSettings.model_fields:
        known = ", ".join(ShopSettings.model_fields)
        raise InputFileError(f"there is no setting '{name[:40]}'", remedy=f"there are {known}")
    if name in LINES:
        return [line.strip() for line in plain.splitlines() if line.strip()]
    if name in MONTHS and plain:
        if not (plain.isascii() and plain.isdigit()):
            raise InputFileError(f"'{plain[:40]}' is no month", where=name, remedy="write it as 1 to 12")
        return int(plain)
    if name in CHOICES and plain and plain not in CHOICES[name]:
        raise InputFileError(
            f"'{plain[:40]}' cannot be", where=name, remedy=f"one of {', '.join(CHOICES[name])}"
        )
    return plain


def _write(shop: Shop, wanted: Mapping[str, Any]) -> None:
    """Put the values into the file, whose comments and order stay."""
    from ruamel.yaml import YAML

    path = shop.folder / SETTINGS
    yaml = YAML()
    held: Any = {}
    if path.exists():
        held = yaml.load(path.read_text("utf-8")) or {}
    for name, value in wanted.items():
        if value in ("", []):
            held.pop(name, None)
        else:
            held[name] = value
    text = io.StringIO()
    yaml.dump(held, text)
    beside = path.with_suffix(f".{os.getpid()}.new")
    try:
        beside.write_text(text.getvalue() if held else "", encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        raise InputFileError(
            f"the settings cannot be kept: {error.strerror}", where=str(path), remedy=ROOM_OR_RIGHT
        ) from None


def _instruments(shop: Shop) -> tuple[InstrumentAnswer, ...]:
    own = plain_yaml(shop.folder / OWN_INSTRUMENTS) or {}
    named = own.get("instruments", own)
    mine = set(named) if isinstance(named, Mapping) else set()
    found = instruments_of(shop).values()
    return tuple(InstrumentAnswer(id=one.id, name=one.name, own=one.id in mine) for one in found)


def _changes(shop: Shop) -> tuple[ChangeAnswer, ...]:
    try:
        lines = (shop.folder / CHANGES).read_text("utf-8").splitlines()[-MOST_SHOWN:]
    except OSError:
        return ()
    found = []
    for line in reversed(lines):
        try:
            found.append(ChangeAnswer.model_validate_json(line))
        except ValueError:
            continue
    return tuple(found)


def _shown(value: object) -> str:
    return "; ".join(str(one) for one in value) if isinstance(value, tuple) else str(value)
