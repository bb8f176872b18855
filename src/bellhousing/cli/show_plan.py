"""The plan as plain text."""

from __future__ import annotations

import textwrap
from decimal import Decimal
from typing import TYPE_CHECKING

from bellhousing.cli.lines import WIDTH
from bellhousing.cli.show import figure
from bellhousing.quantities.odds import in_100
from bellhousing.tasks.money import with_sign

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bellhousing.tasks.plan_answers import (
        AuthorityAnswer,
        InPassingAnswer,
        OptionAnswer,
        PlanAnswer,
        StepAnswer,
        WaitingAnswer,
    )

KINDS = {
    "proposed": "Proposed",
    "in-car": "In the car only",
    "box-out": "With the box out",
    "exchange": "In exchange",
    "leave": "Nothing for now",
}


def plan(entry: PlanAnswer) -> str:
    """The whole plan: what to do and why, cautions, order, choices, waiting, and what to ask for."""
    return "\n".join(_Page(entry).lines())


class _Page:
    """A plan being written down; each caution stands in full where it is first needed."""

    def __init__(self, entry: PlanAnswer) -> None:
        self.entry = entry
        self.warned: set[str] = set()

    def lines(self) -> list[str]:
        """The whole plan, line by line."""
        entry = self.entry
        lines = [entry.box_name, "", *_wrap(entry.headline), *_wrap(entry.why, "  ")]
        for look in entry.looks:
            saved = f"saves {60.0 * look.saves_hours:.0f} on average"
            text = f"- {look.ask} {figure(look.minutes)} min, {saved}"
            lines += [*_wrap(text, "  "), *self._cautions(look.cautions)]
        lines += self._work()
        if len(entry.steps) > 1:
            lines += ["", "In this order, driving the car after each step"]
            lines += [line for number, step in enumerate(entry.steps, 1) for line in self._step(number, step)]
        for heading, rows in (
            ("While the way is open", [self._extra(extra) for extra in entry.in_passing]),
            ("What the owner may choose", [self._option(option) for option in entry.options]),
            ("If it waits", [] if entry.waiting is None else [self._waiting(entry.waiting)]),
            ("To ask the owner for", [self._authority(asked) for asked in entry.authorities]),
        ):
            if rows:
                lines += ["", heading, *(line for row in rows for line in row)]
        return lines + self._foot()

    def _cautions(self, cautions: Sequence[str]) -> list[str]:
        new = [text for text in cautions if text not in self.warned]
        self.warned |= set(new)
        return [line for text in new for line in _wrap(f"Before this: {text}", "      ")]

    def _work(self) -> list[str]:
        entry = self.entry
        if not entry.proposed:
            return []
        total = next(option for option in entry.options if option.kind == "proposed")
        title = "As things stand" if entry.decision == "look-first" else "Work"
        lines = ["", f"{title}: {total.hours:.1f} h and parts{self._price(total.price)}"]
        for work in entry.proposed:
            lines += _wrap(f"- {work.name}; parts: {', '.join(work.parts) or 'none'}", "  ")
        return lines + self._cautions(entry.cautions)

    def _step(self, number: int, step: StepAnswer) -> list[str]:
        needed = "" if number == 1 else f", needed {in_100(step.needed)}"
        names = "; ".join(step.names)
        return _wrap(f"{number}. {names}: {step.hours:.1f} h{self._price(step.price)}{needed}", "  ")

    def _extra(self, extra: InPassingAnswer) -> list[str]:
        now, later = self._price(extra.price_now), self._price(extra.price_later)
        text = f"- {extra.name}: {extra.now:.1f} h now{now}, {extra.later:.1f} h later{later}"
        return [*_wrap(text, "  "), *_wrap(f"{extra.why} Due already: {in_100(extra.chance)}.", "      ")]

    def _option(self, option: OptionAnswer) -> list[str]:
        name = KINDS[option.kind]
        end = f"comes to about {option.in_the_end:.0f} h in the end"
        if option.kind == "leave":
            return _wrap(f"- {name}: {end}", "  ")
        needless = f"; box out for nothing: {in_100(option.needless)}" if option.needless >= 0.005 else ""
        parts = f"{option.hours:.1f} h and parts worth {option.parts_worth:.1f} h{self._price(option.price)}"
        text = f"{parts}; cures what was found: {in_100(option.cures)}{needless}; {end}"
        return [*_wrap(f"- {name}: {option.name}", "  "), *_wrap(text, "      ")]

    def _waiting(self, waiting: WaitingAnswer) -> list[str]:
        lines = _wrap(f"May it be driven? {waiting.may_drive}.", "  ")
        lines += _wrap(
            f"Worse within a month: {in_100(waiting.worse_in_a_month)}; within a season: "
            f"{in_100(waiting.worse_in_a_season)}, which adds about {waiting.adds_hours:.1f} h"
            f"{self._price(waiting.adds_price)} on average. Look again by {waiting.recheck}.",
            "  ",
        )
        for row in waiting.watch:
            lines += _wrap(f"- {row.name}: {row.text} Watch: {row.watch[:1].lower() + row.watch[1:]}", "  ")
        return lines

    def _authority(self, asked: AuthorityAnswer) -> list[str]:
        if asked.hours_high == 0.0:
            return _wrap(f"- {asked.name}: {asked.text}", "  ")
        low, high = f"{asked.hours_low:.1f}", f"{asked.hours_high:.1f}"
        hours, price = f"{low}–{high} h", self._price(asked.price_low, asked.price_high)
        if low in ("0.0", high):
            hours = f"{high} h" if low == high else f"up to {high} h"
            price = self._price(asked.price_high)
        return _wrap(f"- {asked.name}: {hours}{price}. {asked.text}", "  ")

    def _price(self, low: Decimal | None, high: Decimal | None = None) -> str:
        if low is None:
            return ""
        before, after = self.entry.sign_before, self.entry.sign_after
        if high is None or high == low:
            return f" ({with_sign(low, before, after)})"
        return f" ({with_sign(low, before)} to {with_sign(high, before, after)})"

    def _foot(self) -> list[str]:
        entry, lines = self.entry, [""]
        if entry.assumed:
            lines += _wrap(f"Assumed: {'; '.join(entry.assumed)}.")
        if entry.rate is not None:
            rate = with_sign(entry.rate, entry.sign_before, entry.sign_after)
            lines += _wrap(f"Prices at {rate} an hour, parts at what they usually cost in hours of labour.")
        return lines + _wrap(
            "Hours and parts are common practice, not a quotation. A plan is not an inspection: follow the "
            "vehicle's own manual, local rules and licensed practice."
        )


def _wrap(text: str, margin: str = "") -> list[str]:
    hang = margin + ("  " if text.startswith("- ") else "")
    return textwrap.wrap(text, WIDTH, initial_indent=margin, subsequent_indent=hang)
