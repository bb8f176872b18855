"""The plan in words and prices: what to do, why, what else there is, and what to ask the owner for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from bellhousing.diagnosis.covers import Bill
from bellhousing.diagnosis.further_tests import FurtherTests
from bellhousing.diagnosis.next_test import Test
from bellhousing.diagnosis.plan import Option, Plan
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.diagnosis.waiting import Waiting
from bellhousing.diagnosis.works import BOX_OUT, PAN_OFF, Work
from bellhousing.quantities.odds import in_100
from bellhousing.tasks.money import Rate
from bellhousing.tasks.plan_answers import (
    AuthorityAnswer,
    InPassingAnswer,
    LookAnswer,
    OptionAnswer,
    OutcomeAnswer,
    PlanAnswer,
    StepAnswer,
    WaitingAnswer,
    WatchAnswer,
    WorkAnswer,
)

WORTH_SAYING = 0.1
"""Hours that a test must save beyond its price before it stands above the work [h]."""

SHOWN_LOOKS = 3
NEEDED = 0.05
CALLED_FOR = 0.1
MUST_STAND, RATHER_STAND, WITH_CARE = 0.25, 0.05, 0.3


@dataclass(frozen=True)
class PlanTeller:
    """A plan with what it takes to tell it: names, tests, the rate (None: hours only), and the day."""

    prepared: Prepared
    plan: Plan
    waiting: Mapping[str, Waiting]
    further: FurtherTests
    tests: Mapping[str, Test]
    rate: Rate | None
    today: date

    def answer(self, *, notes: tuple[str, ...], assumed: tuple[str, ...], noted: bool) -> PlanAnswer:
        """The whole answer."""
        decision = self._decision(noted)
        headline, why = self._said(decision)
        proposed = self.plan.best.works
        return PlanAnswer(
            decision=decision,
            headline=headline,
            why=why,
            removal=self.plan.removal,
            proposed=tuple(self._work(work) for work in proposed),
            cautions=self._cautions(name for work in proposed for name in work.cautions),
            options=self._options() if noted else (),
            steps=self._steps() if noted else (),
            in_passing=self._in_passing(),
            waiting=self._waiting() if noted else None,
            looks=self._looks(),
            authorities=self._authorities() if noted else (),
            rate=None if self.rate is None else self.rate.amount,
            sign_before="" if self.rate is None else self.rate.before,
            sign_after="" if self.rate is None else self.rate.after,
            box=self.prepared.box.slug,
            box_name=self.prepared.box.name,
            notes=notes,
            assumed=assumed,
        )

    def _decision(self, noted: bool) -> str:
        if not noted or not self.plan.found.open_sets.any():
            return "nothing-found"
        if self.further.paying and max(worth.net for worth in self.further.paying) >= WORTH_SAYING:
            return "look-first"
        if not self.plan.best.works:
            return "leave"
        return "box-out" if self.plan.takes_box_out else "in-car"

    def _said(self, decision: str) -> tuple[str, str]:
        best = self.plan.best
        names, took = _names(best.works), f"{_hours(best.hours)} and parts"
        if decision == "nothing-found":
            return "Nothing to decide yet", "Nothing noted so far speaks for any work."
        called = f"Something calls for the box to come out: {in_100(self.plan.removal)}."
        if decision == "look-first":
            first = self.further.paying[0]
            test = self.tests[first.test]
            as_is = f"as things stand it would be: {names}" if names else "as things stand no work pays"
            return (
                f"Look once more before anything is undone: {test.ask}",
                f"{_minutes(test.minutes)} that save about {_time(first.saves)} on average, "
                f"{in_100(first.changes)} that something else is done afterwards; {as_is}. {called}",
            )
        if decision == "leave":
            return "Leave it and watch", f"On what is known no work pays for itself. {called}"
        cures = f"Nothing that the findings speak for is left afterwards: {in_100(best.cures)}."
        if decision == "box-out":
            return f"Take the box out: {names}", f"{took}. {called} {cures}"
        return f"Mend it in the car: {names}", f"{took}. {called} {cures}"

    def _price(self, hours: float) -> Decimal | None:
        """The price of some hours; they count to the tenth, as they are shown."""
        return None if self.rate is None else self.rate.of(round(hours, 1))

    def _cautions(self, names: Iterable[str]) -> tuple[str, ...]:
        known = self.prepared.catalogue.cautions
        return tuple(known[name] for name in dict.fromkeys(names))

    def _work(self, work: Work) -> WorkAnswer:
        depth = max((other.depth for other in self.plan.best.works), default=0)
        return WorkAnswer(
            work=work.id,
            name=work.name,
            access=work.access,
            hours=work.hours,
            now=work.hours_at(depth),
            parts=work.parts,
            parts_worth=work.parts_worth,
            come_back=work.come_back,
            cautions=self._cautions(work.cautions),
        )

    def _options(self) -> tuple[OptionAnswer, ...]:
        plan = self.plan
        rows: list[tuple[str, str, Option | None]] = [("proposed", _names(plan.best.works), plan.best)]
        if plan.in_car.works != plan.best.works:
            rows.append(("in-car", _names(plan.in_car.works), plan.in_car))
        if plan.removal >= NEEDED and plan.box_out is not None and plan.box_out.works != plan.best.works:
            rows.append(("box-out", _names(plan.box_out.works), plan.box_out))
        if plan.removal >= CALLED_FOR:
            rows.append(("exchange", "", plan.exchange))
        rows.append(("leave", "Leave it and watch", plan.leave))
        return tuple(
            self._option(kind, name or _names(option.works), option)
            for kind, name, option in rows
            if option is not None and (option.works or kind == "leave")
        )

    def _option(self, kind: str, name: str, option: Option) -> OptionAnswer:
        return OptionAnswer(
            kind=kind,
            name=name,
            works=tuple(work.id for work in option.works),
            hours=option.hours,
            parts_worth=option.parts,
            in_the_end=option.expected,
            cures=option.cures,
            needless=option.needless,
            price=self._price(option.hours + option.parts),
        )

    def _steps(self) -> tuple[StepAnswer, ...]:
        return tuple(
            StepAnswer(
                works=tuple(work.id for work in step.works),
                names=tuple(work.name for work in step.works),
                hours=step.hours,
                needed=min(1.0, step.needed),
                price=self._price(step.hours + step.parts),
            )
            for step in self.plan.steps
            if step.needed >= NEEDED
        )

    def _in_passing(self) -> tuple[InPassingAnswer, ...]:
        return tuple(
            InPassingAnswer(
                work=extra.work.id,
                name=extra.work.name,
                now=extra.now,
                later=extra.later,
                chance=extra.chance,
                why=extra.work.while_open,
                price_now=self._price(extra.now + extra.work.parts_worth),
                price_later=self._price(extra.later + extra.work.parts_worth),
            )
            for extra in self.plan.in_passing
        )

    def _waiting(self) -> WaitingAnswer:
        outlook, faults = self.plan.waiting, self.prepared.faults
        catalogue = self.prepared.catalogue.faults
        if outlook.must_stand >= MUST_STAND:
            drive = "Leave it parked until it is mended"
        elif outlook.must_stand >= RATHER_STAND:
            drive = "Better not driven until more is known"
        elif outlook.gently >= WITH_CARE:
            drive = "Gently: short, light drives, and stop when it gets worse"
        else:
            drive = "Yes, with an eye on what stands below"
        return WaitingAnswer(
            may_drive=drive,
            must_stand=outlook.must_stand,
            gently=outlook.gently,
            worse_in_a_month=outlook.worse_month,
            worse_in_a_season=outlook.worse_season,
            adds_hours=outlook.adds,
            recheck=(self.today + timedelta(days=outlook.recheck)).isoformat(),
            watch=tuple(
                WatchAnswer(
                    cause=faults[index],
                    name=catalogue[faults[index]].name,
                    text=self.waiting[faults[index]].text,
                    watch=self.waiting[faults[index]].watch,
                )
                for index in outlook.causes
            ),
            adds_price=self._price(outlook.adds),
        )

    def _looks(self) -> tuple[LookAnswer, ...]:
        return tuple(
            LookAnswer(
                finding=worth.test,
                ask=self.tests[worth.test].ask,
                minutes=self.tests[worth.test].minutes,
                saves_hours=worth.saves,
                changes=min(1.0, worth.changes),
                cautions=self.tests[worth.test].cautions,
            )
            for worth in self.further.paying[:SHOWN_LOOKS]
        )

    def _authorities(self) -> tuple[AuthorityAnswer, ...]:
        low, high = self.further.hours
        count = len(self.further.paying)
        text = (
            f"{count} more {'test pays' if count == 1 else 'tests may pay'} before anything is undone."
            if count
            else "No further test pays for itself."
        )
        asked = [self._authority("diagnose", "To diagnose", text, 1.0, (low, high), (0.0, 0.0))]
        opening = self._opening()
        return tuple(asked + ([] if opening is None else [opening]) + [self._repair()])

    def _authority(
        self,
        kind: str,
        name: str,
        text: str,
        chance: float,
        hours: tuple[float, float],
        parts: tuple[float, float],
        outcomes: tuple[OutcomeAnswer, ...] = (),
    ) -> AuthorityAnswer:
        return AuthorityAnswer(
            kind=kind,
            name=name,
            text=text,
            chance=min(1.0, chance),
            hours_low=hours[0],
            hours_high=hours[1],
            price_low=self._price(hours[0] + parts[0]),
            price_high=self._price(hours[1] + parts[1]),
            outcomes=outcomes,
        )

    def _opening(self) -> AuthorityAnswer | None:
        """Opening up: taken apart, looked at, and put back as it was if the owner says no."""
        plan = self.plan
        billed = [plan.found.works[index] for bill in plan.bills for index in bill.works]
        ways = [
            (depth, chance, [work.opening for work in (*plan.best.works, *billed) if work.depth == depth])
            for depth, chance in ((PAN_OFF, plan.pan_off), (BOX_OUT, plan.removal))
        ]
        reached = [
            (depth, min(hours), max(hours)) for depth, chance, hours in ways if hours and chance >= CALLED_FOR
        ]
        if not reached:
            return None
        what = {PAN_OFF: "the pan off", BOX_OUT: "the box out"}
        text = (
            f"{' or '.join(what[depth] for depth, _, _ in reached).capitalize()}, looked at, and back as it "
            "was if the owner says no. Gaskets and seals do not survive it, and it may not go back as it "
            "came."
        )
        hours = (min(low for _, low, _ in reached), max(high for _, _, high in reached))
        return self._authority("open", "To open up", text, plan.pan_off + plan.removal, hours, (0.0, 0.0))

    def _repair(self) -> AuthorityAnswer:
        outcomes = tuple(
            self._outcome(bill) for bill in self.plan.bills if bill.works or bill.chance >= 0.005
        )
        named = [bill for bill in self.plan.bills if bill.works]
        hours = (
            min((bill.hours[0] for bill in named), default=0.0),
            max((bill.hours[1] for bill in named), default=0.0),
        )
        parts = (
            min((bill.parts[0] for bill in named), default=0.0),
            max((bill.parts[1] for bill in named), default=0.0),
        )
        text = "; ".join(
            f"{in_100(entry.chance)}: {entry.name}" + (f", {_span(entry)}" if entry.works else "")
            for entry in outcomes
        )
        return self._authority("repair", "To repair", f"{text}.", 1.0, hours, parts, outcomes)

    def _outcome(self, bill: Bill) -> OutcomeAnswer:
        works = [self.plan.found.works[index] for index in bill.works]
        return OutcomeAnswer(
            name=_names(works) or "something else, or nothing of this",
            works=tuple(work.id for work in works),
            chance=min(1.0, bill.chance),
            hours_low=bill.hours[0],
            hours_high=bill.hours[1],
            price_low=self._price(bill.hours[0] + bill.parts[0]) if works else None,
            price_high=self._price(bill.hours[1] + bill.parts[1]) if works else None,
        )


def _names(works: Sequence[Work]) -> str:
    return "; ".join(work.name[:1].lower() + work.name[1:] for work in works)


def _hours(hours: float) -> str:
    """Hours to a tenth: "10.5 h", "0.4 h"."""
    return f"{hours:.1f} h"


def _time(hours: float) -> str:
    """Hours, or minutes where it is less than one."""
    return _hours(hours) if hours >= 1.0 else _minutes(60.0 * hours)


def _span(outcome: OutcomeAnswer) -> str:
    low, high = _hours(outcome.hours_low), _hours(outcome.hours_high)
    return high if low == high else f"{low.removesuffix(' h')}–{high}"


def _minutes(minutes: float) -> str:
    return f"{max(1.0, minutes):.0f} min"
