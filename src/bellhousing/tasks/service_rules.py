"""The rules of service: those that come with the program, changed by the shop's own file service.yaml."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

from pydantic import Field, ValidationError

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.errors import InputFileError
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.shop_settings import plain_yaml
from bellhousing.work.mileage import MILE
from bellhousing.work.service import MONTH, Rule

RULES = "service.yaml"
SHOP = "this shop’s own"
MOST_RULES = 60
REMEDY = (
    "a service has name, todo, months or days, miles or km, risk (1 to 3), season, minutes, kinds, "
    "words, why, after_work, opens_miles, or off: true"
)


class RuleFields(Shape):
    """One service as a file has it."""

    name: str = Field(min_length=1, max_length=80)
    todo: str = Field(default="", max_length=300)
    months: float | None = Field(default=None, gt=0.0, le=1200.0)
    days: float | None = Field(default=None, gt=0.0, le=36500.0)
    miles: float | None = Field(default=None, gt=0.0, le=1e6)
    km: float | None = Field(default=None, gt=0.0, le=1e6)
    opens_miles: float | None = Field(default=None, ge=0.0, le=1e6)
    risk: int = Field(default=2, ge=1, le=3)
    season: str = Field(default="", pattern="^(before-season|before-lay-up|)$")
    minutes: float = Field(default=60.0, gt=0.0, le=10000.0)
    kinds: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    why: str = Field(default="", max_length=300)
    source: str = Field(default="common practice", max_length=120)
    after_work: bool = False
    off: bool = False


def service_rules(shop: Shop) -> tuple[Rule, ...]:
    """The services of a shop in the order of its files.

    Raises
    ------
    InputFileError : the shop's file cannot be read, or holds something that cannot be.
    """
    path = shop.folder / RULES
    own = plain_yaml(path) or {}
    fields = {slug: dict(given) for slug, given in _shipped().items()}
    for slug, given in own.items():
        if not isinstance(given, Mapping):
            raise InputFileError(f"'{slug[:60]}' holds no fields", where=str(path), remedy=REMEDY)
        changed = {str(name): value for name, value in given.items()}
        # A time of another kind takes the place of the one that was there.
        for old, new in (("months", "days"), ("days", "months"), ("miles", "km"), ("km", "miles")):
            if new in changed and old not in changed:
                fields.get(slug, {}).pop(old, None)
        fields[slug] = {**fields.get(slug, {}), "source": SHOP, **changed}
    if len(fields) > MOST_RULES:
        raise InputFileError("too many services", where=str(path), remedy=f"at most {MOST_RULES}")
    found = (_rule(slug, given, str(path)) for slug, given in fields.items())
    return tuple(rule for rule in found if rule is not None)


@cache
def _shipped() -> dict[str, Any]:
    from ruamel.yaml import YAML

    text = (resources.files("bellhousing.tasks") / "data" / RULES).read_text("utf-8")
    found: dict[str, Any] = YAML(typ="safe", pure=True).load(text)
    return found


def _rule(slug: str, given: Mapping[str, Any], where: str) -> Rule | None:
    try:
        fields = RuleFields.model_validate(dict(given), strict=False)
    except ValidationError as error:
        first = error.errors()[0]
        name = ".".join(str(step) for step in first["loc"])
        raise InputFileError(
            f"the service '{slug[:60]}' cannot be: {name}: {first['msg']}", where=where, remedy=REMEDY
        ) from None
    if fields.off:
        return None
    months = fields.months if fields.days is None else fields.days / MONTH
    distance = fields.miles * MILE if fields.miles is not None else None
    if fields.km is not None:
        distance = fields.km * 1000.0
    if months is None and distance is None:
        raise InputFileError(f"the service '{slug[:60]}' is never due", where=where, remedy=REMEDY)
    unknown = set(fields.kinds) - set(FAMILIES)
    if unknown:
        raise InputFileError(
            f"there is no kind of box '{min(unknown)[:60]}'",
            where=where,
            remedy=f"kinds: {', '.join(FAMILIES)}",
        )
    return Rule(
        slug=slug,
        name=fields.name,
        todo=fields.todo,
        months=months,
        distance=distance,
        risk=fields.risk,
        season=fields.season,
        minutes=fields.minutes,
        why=fields.why,
        source=fields.source,
        opens=None if fields.opens_miles is None else fields.opens_miles * MILE,
        after_work=fields.after_work,
        kinds=fields.kinds,
        words=fields.words,
    )
