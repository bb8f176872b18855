"""What an estimate proposes, and what to watch, in the owner's words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from bellhousing.quantities.odds import in_100
from bellhousing.tasks.money import with_sign
from bellhousing.tasks.plan_answers import PlanAnswer
from bellhousing.tasks.reckoning import Reckoning
from bellhousing.tasks.report_shapes import ReportCause, ReportOption, ReportPlan
from bellhousing.tasks.report_units import day

MOST_WATCHED = 5


def estimate_plan(plan: PlanAnswer) -> ReportPlan:
    """The plan as an owner reads it; parts stand in the prices as hours of the same worth."""
    repair = next((one for one in plan.authorities if one.kind == "repair"), None)
    outcomes = () if repair is None else repair.outcomes
    waiting = plan.waiting
    told = []
    if waiting is not None:
        worse = waiting.worse_in_a_month, waiting.worse_in_a_season
        told.append(f"Worse within a month: {in_100(worse[0])}; within a season: {in_100(worse[1])}.")
        cost = f", about {_price(plan, waiting.adds_price)}" if waiting.adds_price is not None else ""
        told.append(f"A season’s wait adds {waiting.adds_hours:.1f} h of work on average{cost}.")
        told.append(f"If you wait, have it looked at again by {day(date.fromisoformat(waiting.recheck))}.")
    return ReportPlan(
        headline=plan.headline,
        why=plan.why,
        options=tuple(
            ReportOption(
                odds=in_100(one.chance),
                what=_capital(one.name),
                hours=_span(one.hours_low, one.hours_high) if one.works else "",
                price=_prices(plan, one.price_low, one.price_high),
            )
            for one in outcomes
        ),
        stages=tuple(
            ReportOption(
                odds="" if one.chance > 0.99 else in_100(one.chance),
                what=f"{one.name}. {one.text}" if one.kind != "repair" else one.name,
                hours=_span(one.hours_low, one.hours_high),
                price=_prices(plan, one.price_low, one.price_high),
            )
            for one in plan.authorities
        ),
        may_drive="" if waiting is None else waiting.may_drive,
        waiting=tuple(told),
    )


def watch_items(
    reckoning: Reckoning, plan: PlanAnswer, causes: Sequence[ReportCause], *, estimate: bool
) -> tuple[str, ...]:
    """What to keep an eye on: in an estimate all that waits, else what the findings left possible."""
    if estimate:
        watched = () if plan.waiting is None else plan.waiting.watch
        return tuple(f"{one.name}: {one.watch}" for one in watched[:MOST_WATCHED])
    names = {
        fault.name: waits
        for slug, waits in reckoning.waiting.items()
        if (fault := reckoning.prepared.catalogue.faults.get(slug)) is not None
    }
    confirmed = any(cause.confirmed for cause in causes)
    told = []
    for cause in causes if confirmed else causes[1:]:
        if cause.confirmed:
            continue
        watch = names[cause.name].watch if cause.name in names else "Tell us when anything of it shows."
        told.append(f"{cause.name}, {cause.confidence} before the work: {lower(watch)}")
    return tuple(told[:MOST_WATCHED])


def _span(low: float, high: float) -> str:
    if f"{low:.1f}" == f"{high:.1f}":
        return f"{high:.1f} h"
    return f"{low:.1f}–{high:.1f} h" if low >= 0.05 else f"up to {high:.1f} h"


def _prices(plan: PlanAnswer, low: Decimal | None, high: Decimal | None) -> str:
    if low is None or high is None:
        return ""
    if low == high:
        return _price(plan, high)
    return f"{_price(plan, low)} to {_price(plan, high)}" if low else f"up to {_price(plan, high)}"


def _price(plan: PlanAnswer, amount: Decimal | None) -> str:
    return "" if amount is None else with_sign(amount, plan.sign_before, plan.sign_after)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def lower(text: str) -> str:
    """A sentence within another one."""
    return text[:1].lower() + text[1:]
