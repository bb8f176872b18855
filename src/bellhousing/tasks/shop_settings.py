"""What a shop says of itself in its file shop.yaml: name, paper, units, warranty, season."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError

from bellhousing.errors import InputFileError
from bellhousing.quantities.letters import can_be_written
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.shop import Shop

SETTINGS = "shop.yaml"
LARGEST = 100_000
REMEDY = (
    "it has name, lines, warranty, paper (a4, us-letter), units (inch, metric), season and lay_up (months), "
    "words (british, american), theme (device, light, dark), rate, tax and who"
)


class ShopSettings(Shape):
    """A shop's own words and habits; everything has a usual value.

    `warranty` stands in the final report as it is written, and there is none unless the shop writes one.
    `season` and `lay_up` are the months in which cars come out and are put away. `rate` is what an hour
    costs, as "£80/h", `tax` its tax in per cent; a job that says its own has its own. `who` is written beside
    what is noted where nobody is logged in. A browser may choose another theme and unit of speed for itself.
    """

    name: str = Field(default="", max_length=120)
    lines: tuple[str, ...] = Field(default=(), max_length=6)
    warranty: str = Field(default="", max_length=1500)
    paper: Literal["a4", "us-letter"] = "a4"
    units: Literal["inch", "metric"] = "inch"
    season: int = Field(default=4, ge=1, le=12)
    lay_up: int = Field(default=11, ge=1, le=12)
    words: Literal["british", "american"] = "british"
    theme: Literal["device", "light", "dark"] = "device"
    rate: str = Field(default="", max_length=40)
    tax: str = Field(default="", max_length=20)
    who: str = Field(default="", max_length=80)


def shop_settings(shop: Shop) -> ShopSettings:
    """What the shop's file says, the usual where there is no file.

    Raises
    ------
    InputFileError : a file that cannot be read or says something else.
    """
    path = shop.folder / SETTINGS
    try:
        changed = path.stat().st_mtime_ns
    except OSError:
        return ShopSettings()
    return _read(path, changed)


@lru_cache(maxsize=8)
def _read(path: Path, changed: int) -> ShopSettings:
    found = plain_yaml(path)
    if found is None:
        return ShopSettings()
    return checked_settings(found, path)


def checked_settings(found: Mapping[str, Any], path: Path) -> ShopSettings:
    """Names and values as the settings of a shop.

    Raises
    ------
    InputFileError : a name that is none, or a value that cannot be.
    """
    try:
        return ShopSettings.model_validate(found, strict=False)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"])
        raise InputFileError(
            f"the shop's settings cannot be used: {where}: {first['msg']}", where=str(path), remedy=REMEDY
        ) from None


def plain_yaml(path: Path) -> dict[str, Any] | None:
    """What a small text file of names and values holds, None where there is no such file.

    Raises
    ------
    InputFileError : a file that cannot be read, is too large, or holds something else.
    """
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    if not path.exists():
        return None
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
        if len(data) > LARGEST:
            raise InputFileError("the file is too large", where=str(path), remedy="at most 100 kB")
        found = YAML(typ="safe", pure=True).load(data.decode("utf-8"))
    except (OSError, UnicodeDecodeError, YAMLError, RecursionError, ValueError) as error:
        raise InputFileError(
            f"the file cannot be read: {str(error).splitlines()[0][:120]}", where=str(path)
        ) from None
    if found is None:
        return {}
    if not can_be_written(found):
        raise InputFileError("the file holds a sign that is no letter", where=str(path))
    if not isinstance(found, dict):
        raise InputFileError("the file holds no names with values", where=str(path))
    return {str(name): value for name, value in found.items()}
