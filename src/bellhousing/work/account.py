"""Money and hours of a job, exact: what was authorised, what it comes to, and what goes beyond.

All sums are decimals; each line is rounded to the hundredth, halves up, and totals are sums of lines. Sums
the owner authorises are with tax, because that is what the owner pays.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC
from decimal import ROUND_HALF_UP, Decimal

from bellhousing.work.entries import STAGES, WorkEntry, number_of, standing
from bellhousing.work.orders import BOUGHT, TO_ORDER, OrderLine, order_lines

CENT = Decimal("0.01")
HUNDRED = Decimal(100)
NOTHING = Decimal("0.00")


@dataclass(frozen=True)
class Terms:
    """What an hour costs, None if it was not said, the tax [%], and the sign of the currency."""

    rate: Decimal | None = None
    tax: Decimal = Decimal(0)
    before: str = ""
    after: str = ""


@dataclass(frozen=True)
class Authority:
    """A yes of the owner: for which stage, up to which sum, who, how, when, and the hours it was said for."""

    stage: str
    sum: Decimal
    by: str
    how: str
    when: str
    who: str
    entry: int
    hours_low: Decimal | None = None
    hours_high: Decimal | None = None


@dataclass(frozen=True)
class Variation:
    """A yes to more than was authorised: how much more, why, who, how, when."""

    sum: Decimal
    why: str
    by: str
    how: str
    when: str
    who: str
    entry: int


@dataclass(frozen=True)
class Charge:
    """One line of the bill: hours, part, fluid, outside work; `sum` is None where no rate is known."""

    kind: str
    what: str
    sum: Decimal | None
    hours: Decimal | None
    entry: int
    stage: str = ""


@dataclass(frozen=True)
class StageHours:
    """Hours put down for a stage against those it was said for."""

    stage: str
    hours: Decimal
    low: Decimal | None
    high: Decimal | None

    @property
    def over(self) -> Decimal:
        """How far the hours are beyond what was said [h]."""
        return max(Decimal(0), self.hours - self.high) if self.high is not None else Decimal(0)


@dataclass(frozen=True)
class Account:
    """The money of a job.

    Parameters
    ----------
    terms : rate, tax and currency
    authorities : the last yes for each stage
    variations : every yes to more
    charges : the lines of the bill
    stages : hours against estimate, for each stage that has either
    net, tax, total : of the lines that have a sum
    authorised : what the owner said yes to, all told
    to_come : prices of lines not ordered yet, with tax
    """

    terms: Terms
    authorities: tuple[Authority, ...]
    variations: tuple[Variation, ...]
    charges: tuple[Charge, ...]
    stages: tuple[StageHours, ...]
    net: Decimal
    tax: Decimal
    total: Decimal
    authorised: Decimal
    to_come: Decimal

    @property
    def over(self) -> Decimal:
        """How far the total is beyond what was authorised."""
        return max(NOTHING, self.total - self.authorised)

    @property
    def would_be_over(self) -> Decimal:
        """How far it would be beyond with what is still to be ordered."""
        return max(NOTHING, self.total + self.to_come - self.authorised)

    @property
    def unpriced(self) -> tuple[Charge, ...]:
        """Lines without a sum."""
        return tuple(charge for charge in self.charges if charge.sum is None)


def account(entries: Sequence[WorkEntry], usual: Terms | None = None) -> Account:
    """Return the money of a job from its book of work.

    Parameters
    ----------
    entries : the job's book of work
    usual : terms that hold where the job's own do not say
    """
    kept = standing(entries)
    terms = terms_of(kept, usual)
    authorities = _authorities(kept)
    variations = tuple(_variation(entry) for entry in kept if entry.kind == "variation")
    lines = order_lines(entries)
    charges = (*_worked(kept, terms, authorities), *_bought(lines))
    net = sum((charge.sum for charge in charges if charge.sum is not None), NOTHING)
    tax = tax_on(net, terms)
    later = sum((line.price for line in lines if line.status == TO_ORDER and line.price is not None), NOTHING)
    said = sum((one.sum for one in authorities), NOTHING) + sum((one.sum for one in variations), NOTHING)
    return Account(
        terms=terms,
        authorities=authorities,
        variations=variations,
        charges=charges,
        stages=_stages(charges, authorities),
        net=net,
        tax=tax,
        total=net + tax,
        authorised=said,
        # Tax on the whole less tax on what is there, so that the two add up to the cent.
        to_come=later + tax_on(net + later, terms) - tax,
    )


def terms_of(entries: Iterable[WorkEntry], usual: Terms | None = None) -> Terms:
    """Return the terms said last, each field by itself, the usual ones where none were said."""
    found = usual or Terms()
    for entry in entries:
        if entry.kind == "terms":
            rate, tax = entry.sum_of("rate"), entry.sum_of("tax")
            found = Terms(
                rate=found.rate if rate is None else rate,
                tax=found.tax if tax is None else tax,
                before=entry.text("before") if rate is not None else found.before,
                after=entry.text("after") if rate is not None else found.after,
            )
    return found


def tax_on(net: Decimal, terms: Terms) -> Decimal:
    """Return the tax on a sum, to the hundredth, halves up."""
    return rounded(net * terms.tax / HUNDRED)


def rounded(sum: Decimal) -> Decimal:
    """Return a sum to the hundredth, halves up."""
    return sum.quantize(CENT, rounding=ROUND_HALF_UP)


def _authorities(kept: Sequence[WorkEntry]) -> tuple[Authority, ...]:
    last = {entry.subject: entry for entry in kept if entry.kind == "authority"}
    return tuple(_authority(last[stage]) for stage in STAGES if stage in last)


def _authority(entry: WorkEntry) -> Authority:
    return Authority(
        stage=entry.subject,
        sum=entry.sum_of("sum") or NOTHING,
        by=entry.text("by"),
        how=entry.text("how"),
        when=_when(entry),
        who=entry.who,
        entry=number_of(entry),
        hours_low=entry.sum_of("hours_low"),
        hours_high=entry.sum_of("hours_high"),
    )


def _variation(entry: WorkEntry) -> Variation:
    return Variation(
        sum=entry.sum_of("sum") or NOTHING,
        why=entry.text("why"),
        by=entry.text("by"),
        how=entry.text("how"),
        when=_when(entry),
        who=entry.who,
        entry=number_of(entry),
    )


def _when(entry: WorkEntry) -> str:
    return entry.text("when") or f"{entry.at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


def _worked(kept: Sequence[WorkEntry], terms: Terms, authorities: Sequence[Authority]) -> Iterable[Charge]:
    furthest = authorities[-1].stage if authorities else STAGES[0]
    for entry in kept:
        if entry.kind == "hours":
            hours = entry.sum_of("hours") or Decimal(0)
            price = None if terms.rate is None else rounded(hours * terms.rate)
            stage = entry.subject if entry.subject in STAGES else furthest
            yield Charge("hours", entry.text("what"), price, hours, number_of(entry), stage)
        elif entry.kind == "price":
            yield Charge(entry.subject, entry.text("what"), entry.sum_of("sum"), None, number_of(entry))


def _bought(lines: Iterable[OrderLine]) -> Iterable[Charge]:
    for line in lines:
        if line.status in BOUGHT:
            called = f"{line.count} × {line.name}" if line.count != 1 else line.name
            yield Charge("part", called, line.price, None, line.entries[0])


def _stages(charges: Iterable[Charge], authorities: Iterable[Authority]) -> tuple[StageHours, ...]:
    spent: dict[str, Decimal] = {}
    for charge in charges:
        if charge.hours is not None:
            spent[charge.stage] = spent.get(charge.stage, Decimal(0)) + charge.hours
    said = {authority.stage: authority for authority in authorities}
    return tuple(
        StageHours(
            stage,
            spent.get(stage, Decimal(0)),
            said[stage].hours_low if stage in said else None,
            said[stage].hours_high if stage in said else None,
        )
        for stage in STAGES
        if stage in spent or stage in said
    )
