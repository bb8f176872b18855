"""The service plan: what is due on which car, from what was done and what the odometer showed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from difflib import get_close_matches

from bellhousing.errors import FindingError, InputFileError
from bellhousing.quantities.parse import parse_measured
from bellhousing.records.entries import CLOSED, Car, Job
from bellhousing.records.service_book import ServiceDone
from bellhousing.tasks.days import read_day
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.opening import FURTHEST, find_car
from bellhousing.tasks.report_shapes import ReportDue
from bellhousing.tasks.report_units import day as in_words
from bellhousing.tasks.report_units import distance as shown_distance
from bellhousing.tasks.service_rules import service_rules
from bellhousing.tasks.service_shapes import (
    CarDueAnswer,
    DueAnswer,
    ServiceDoneAnswer,
    ServicePlanAnswer,
    ServiceRuleAnswer,
)
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.shop_settings import ShopSettings, shop_settings
from bellhousing.work.entries import WorkEntry, standing
from bellhousing.work.mileage import Habit, Reading, habit_of
from bellhousing.work.service import MONTH, Done, Due, Rule, due, in_order, lay_up_advice

UNDONE = frozenset({"part-on", "bolts-back", "one-use-replaced"})
PRESSING = ("overdue", "soon", "cannot tell")
EARLIEST = date(1950, 1, 1)


@dataclass(frozen=True)
class _Planned:
    """One car with what is due on it."""

    car: Car
    habit: Habit
    due: tuple[Due, ...]
    done: tuple[ServiceDone, ...]
    seen: date | None


def service_plan(
    shop: Shop, car: str | None = None, *, units: str | None = None, said: str = ""
) -> ServicePlanAnswer:
    """What is due in the shop, or on one car; `units` is inch or metric, the shop's own where not said.

    Raises
    ------
    RecordError : no such car.
    InputFileError : settings or rules that cannot be used.
    """
    settings, rules, now = shop_settings(shop), service_rules(shop), shop.clock().astimezone()
    chosen = units or settings.units
    cars = shop.store.cars() if car is None else (find_car(shop, car),)
    planned = [_planned(shop, one, rules, now, settings) for one in cars]
    names = {rule.slug: rule.name for rule in rules}
    pressing = [
        (plan.car, item) for plan in planned for item in plan.due if item.state in PRESSING and item.last
    ]
    by_item = {id(item): owner for owner, item in pressing}
    order = in_order(
        [item for _, item in pressing], now.date(), season=settings.season, lay_up=settings.lay_up
    )
    return ServicePlanAnswer(
        today=now.date().isoformat(),
        cars=tuple(_car_answer(plan, names, chosen, settings, now.date()) for plan in planned),
        order=tuple(_answer(by_item[id(item)], item, chosen) for item in order),
        rules=tuple(_rule_answer(rule, chosen) for rule in rules),
        said=said,
    )


def next_due(shop: Shop, car: str, at: datetime, units: str) -> tuple[ReportDue, ...]:
    """What comes next on a car, as it stood at a moment, for the report to its owner.

    Services of which nobody knows when they were last done are told in one line.
    """
    settings, rules = shop_settings(shop), service_rules(shop)
    plan = _planned(shop, shop.store.car(car), rules, at.astimezone(), settings)
    told = [
        ReportDue(what=one.name, by=one.by, state=one.state)
        for one in (_answer(plan.car, item, units) for item in plan.due if item.last is not None)
    ]
    unknown = [item.rule.name.lower() for item in plan.due if item.last is None]
    if unknown and told:
        told.append(
            ReportDue(
                what=", ".join(unknown).capitalize(), by="when last done is not known", state="cannot tell"
            )
        )
    return tuple(told)


def note_service(
    shop: Shop,
    car: str,
    rule: str,
    *,
    day: str = "today",
    odometer: str = "",
    note: str = "",
    who: str = WHO,
    key: str | None = None,
) -> ServicePlanAnswer:
    """Note that a service was done, on which day ("2024-05-01", "today") and at which reading.

    Raises
    ------
    RecordError : no such car.
    FindingError : no such service.
    InputFileError, QuantityError : a day or a reading that cannot be.
    """
    owned, rules = find_car(shop, car), service_rules(shop)
    found = _find_rule(rules, rule)
    today = shop.clock().astimezone().date()
    when = read_day(day or "today", today)
    if not EARLIEST <= when <= today:
        raise InputFileError(f"on {when} nothing can have been done yet", remedy="say a day up to today")
    shown = _odometer(odometer)
    done = ServiceDone(car=owned.slug, rule=found.slug, day=when, odometer_m=shown, note=note.strip()[:2000])
    shop.store.services.add(done, at=shop.clock(), who=shop.signed(who), key=key)
    if shown is not None and not _noted(owned, when, shown):
        shop.store.add_odometer(owned.slug, at=_midday(shop, when), distance_m=shown, who=shop.signed(who))
    return service_plan(shop, owned.slug, said=f"{found.name} done on {in_words(when)}.")


def withdraw_service(
    shop: Shop, car: str, number: int, *, reason: str = "withdrawn", who: str = WHO
) -> ServicePlanAnswer:
    """Take back a service noted by mistake; raises RecordError if there is none of that number."""
    owned = find_car(shop, car)
    shop.store.services.withdraw(number, at=shop.clock(), who=shop.signed(who), reason=reason)
    return service_plan(shop, owned.slug, said=f"Entry {number} is taken back.")


def note_odometer(shop: Shop, car: str, odometer: str, *, day: str = "today") -> ServicePlanAnswer:
    """Note what an odometer showed on a day; raises as `note_service`."""
    owned, shown = find_car(shop, car), _odometer(odometer)
    if shown is None:
        raise InputFileError("no reading is said", remedy="write it like 61,900 miles")
    today = shop.clock().astimezone().date()
    when = read_day(day or "today", today)
    if not EARLIEST <= when <= today:
        raise InputFileError(f"{when} is no day to have read it", remedy="say a day up to today")
    if not _noted(owned, when, shown):
        shop.store.add_odometer(owned.slug, at=_midday(shop, when), distance_m=shown, who=shop.who)
    return service_plan(shop, owned.slug, said=f"Odometer {shown_distance(shown, 'inch')}.")


def _noted(car: Car, when: date, shown: float) -> bool:
    return any(
        reading.at.astimezone().date() == when and abs(reading.distance_m - shown) < 1.0
        for reading in car.odometer
    )


def _midday(shop: Shop, when: date) -> datetime:
    """The middle of a day, or now if that is today."""
    now = shop.clock().astimezone()
    return now if when == now.date() else datetime(when.year, when.month, when.day, 12).astimezone()


def _odometer(text: str) -> float | None:
    if not text.strip():
        return None
    return float(parse_measured(text, usual_unit="mile", possible=(0.0, FURTHEST)).value)


def _find_rule(rules: Sequence[Rule], said: str) -> Rule:
    wanted = " ".join(said.casefold().replace("-", " ").split())
    named = {rule.slug.replace("-", " "): rule for rule in rules}
    named |= {rule.name.casefold(): rule for rule in rules}
    if wanted in named:
        return named[wanted]
    near = get_close_matches(wanted, list(named), n=1) or list(named)[:1]
    raise FindingError(
        f"there is no service '{said[:60]}'",
        remedy=f"did you mean {near[0]}? They are: {', '.join(rule.slug for rule in rules)}",
    )


def _planned(shop: Shop, car: Car, rules: Sequence[Rule], now: datetime, settings: ShopSettings) -> _Planned:
    habit = habit_of([Reading(one.at, one.distance_m) for one in car.odometer])
    typed = shop.store.services.standing(car.slug)
    jobs = shop.store.jobs(car=car.slug)
    written = shop.store.books_of([job.number for job in jobs])
    books = {job.number: standing(written.get(job.number, ())) for job in jobs}
    kind = shop.kind_of(car.slug)
    items = []
    for rule in rules:
        if rule.kinds and kind not in rule.kinds:
            continue
        if rule.after_work:
            last = _work_done(shop, rule, jobs, books, typed)
            if last is not None:
                items.append(due(rule, last, habit, now))
            continue
        items.append(due(rule, _last(rule, jobs, books, typed), habit, now))
    ordered = in_order(items, now.date(), season=settings.season, lay_up=settings.lay_up)
    return _Planned(car, habit, ordered, typed, _seen(car, jobs, typed))


def _last(
    rule: Rule,
    jobs: Sequence[Job],
    books: Mapping[int, Sequence[WorkEntry]],
    typed: Sequence[ServiceDone],
) -> Done | None:
    """When a service was last done, by what was typed in and by the book of work."""
    found = [Done(one.day, one.odometer_m, "typed in") for one in typed if one.rule == rule.slug]
    for job in jobs:
        days = [entry.at.astimezone().date() for entry in books[job.number] if _tells(rule, entry)]
        if days:
            found.append(Done(max(days), job.odometer_m, f"job {job.number}"))
    return max(found, key=lambda one: (one.day, one.odometer or 0.0), default=None)


def _tells(rule: Rule, entry: WorkEntry) -> bool:
    """Whether an entry of the book says that a service was done: something new, or hours put down for it."""
    if not rule.words:
        return False
    if entry.kind == "one-use-replaced":
        if not entry.data.get("count"):
            return False
        said = entry.text("what")
    elif entry.kind == "order-status" and entry.text("status") == "fitted":
        said = entry.subject
    elif entry.kind in ("hours", "price"):
        said = entry.text("what")
    else:
        return False
    said = said.casefold().replace("-", " ")
    return any(all(word in said for word in phrase.casefold().split()) for phrase in rule.words)


def _work_done(
    shop: Shop,
    rule: Rule,
    jobs: Sequence[Job],
    books: Mapping[int, Sequence[WorkEntry]],
    typed: Sequence[ServiceDone],
) -> Done | None:
    """The last work on a closed job that nobody has looked after since."""
    worked = []
    for job in jobs:
        undone = [entry for entry in books[job.number] if entry.kind in UNDONE]
        if job.status == CLOSED and undone:
            closed = [one.at for one in shop.store.status_changes(job.number) if one.status == CLOSED]
            worked.append((closed[-1].astimezone().date(), job))
    if not worked:
        return None
    day, job = max(worked, key=lambda one: one[0])
    later_job = any(other.opened_at.astimezone().date() > day for other in jobs)
    looked = any(one.rule == rule.slug and one.day >= day for one in typed)
    return None if later_job or looked else Done(day, job.odometer_m, f"work on job {job.number}")


def _seen(car: Car, jobs: Sequence[Job], typed: Sequence[ServiceDone]) -> date | None:
    days = [reading.at.astimezone().date() for reading in car.odometer]
    days += [job.opened_at.astimezone().date() for job in jobs] + [one.day for one in typed]
    return max(days, default=None)


def _car_answer(
    plan: _Planned, names: Mapping[str, str], units: str, settings: ShopSettings, today: date
) -> CarDueAnswer:
    last = plan.habit.last
    return CarDueAnswer(
        car=plan.car.slug,
        name=plan.car.name,
        owner=plan.car.owner or "",
        odometer=""
        if last is None
        else f"{shown_distance(last.distance, units)} on {in_words(last.at.astimezone().date())}",
        habit=_habit(plan.habit, units),
        due=tuple(_answer(plan.car, item, units) for item in plan.due),
        done=tuple(
            ServiceDoneAnswer(
                number=one.id,
                rule=one.rule,
                name=names.get(one.rule, one.rule),
                day=one.day.isoformat(),
                odometer="" if one.odometer_m is None else shown_distance(one.odometer_m, units),
                note=one.note,
                who=one.who,
            )
            for one in reversed(plan.done)
        ),
        advice=lay_up_advice(today, plan.seen, season=settings.season, lay_up=settings.lay_up),
    )


def _habit(habit: Habit, units: str) -> str:
    low, middle, high = (habit.distance(1.0, part) for part in (0.05, 0.5, 0.95))
    span = f"{shown_distance(low, units).split(' ')[0]} and {shown_distance(high, units)}"
    ahead = f"in the next year about {shown_distance(middle, units)}, 9 in 10 between {span}"
    if not habit.known:
        return f"Too few readings to know its habit; as such cars go, {ahead}."
    fell = " The odometer fell once, and only what came after counts." if habit.fell else ""
    told = f"{shown_distance(habit.driven, units)} in {habit.years:.1f} years"
    return f"{told}; {ahead}.{fell}"


def _answer(car: Car, item: Due, units: str) -> DueAnswer:
    rule, last = item.rule, item.last
    odometer = None if item.by_odometer is None else shown_distance(item.by_odometer, units)
    by = [text for text in ("" if item.by_day is None else in_words(item.by_day), odometer or "") if text]
    if rule.after_work and rule.opens is not None and last is not None and last.odometer is not None:
        by[-1] += f" (best after {shown_distance(last.odometer + rule.opens, units)})"
    early, _, late = item.expected
    expected = ""
    # Where the day comes long before the distance can, the distance is not worth a word.
    if rule.distance is not None and early is not None and (item.by_day is None or early <= item.by_day):
        end = f"and {in_words(late)}" if late is not None else "and a day beyond all planning"
        expected = f"the distance is used up between {in_words(early)} {end}, 9 in 10"
    told = ""
    if last is not None:
        shown = "" if last.odometer is None else f" at {shown_distance(last.odometer, units)}"
        told = f"{in_words(last.day)}{shown}, {last.source}"
    return DueAnswer(
        car=car.slug,
        car_name=car.name,
        rule=rule.slug,
        name=rule.name,
        todo=rule.todo,
        state=item.state,
        day=None if item.day is None else item.day.isoformat(),
        by=" or ".join(by),
        by_day=None if item.by_day is None else item.by_day.isoformat(),
        by_odometer=odometer,
        expected=expected,
        passed=item.passed,
        first=item.first,
        last=told,
        last_day=None if last is None else last.day.isoformat(),
        why=item.why,
        would_tell=item.would_tell,
        risk=rule.risk,
        season=rule.season,
        minutes=rule.minutes,
        because=rule.why,
    )


def _rule_answer(rule: Rule, units: str) -> ServiceRuleAnswer:
    told = []
    if rule.months is not None:
        whole = abs(rule.months - round(rule.months)) < 1e-9
        told.append(f"{rule.months:.0f} months" if whole else f"{rule.months * MONTH:.0f} days")
    if rule.distance is not None:
        told.append(shown_distance(rule.distance, units))
    return ServiceRuleAnswer(
        rule=rule.slug,
        name=rule.name,
        todo=rule.todo,
        every=" or ".join(told) + (", whichever comes first" if len(told) > 1 else ""),
        why=rule.why,
        source=rule.source,
    )
