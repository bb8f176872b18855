"""Hours and money of a job: three authorisations, variations, hours against estimate, totals with tax.

Functions that write take who did it, a key and what it corrects as those of the ledger do; each hands back
the whole account with what it `said`. What goes beyond the authorised sum is among the warnings at once.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Unpack

from bellhousing.errors import BellhousingError, InputFileError, RecordError
from bellhousing.tasks.account_shapes import AccountAnswer, ChargeAnswer, StageAnswer, YesAnswer
from bellhousing.tasks.ledger_answer import Said
from bellhousing.tasks.money import read_rate, read_sum, with_sign
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Book, Sender, one_of, read_book, write
from bellhousing.work.account import Account, Authority, Charge, StageHours, Terms, Variation, account
from bellhousing.work.entries import PRICED, STAGES, standing

JOB = "job"
HOURS = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?) ?(?:h|hr|hrs|hour|hours)?")
CLOCK = re.compile(r"(?:(\d{1,3}) ?(?:h|hr|hrs|hour|hours|:) ?)?(\d{1,3}) ?(?:m|min|mins|minutes)?")
RANGE = re.compile(r"(.+?) ?(?:-|–|to) ?(.+)")
HOURS_REMEDY = "write it like 2.5, 2:30 or 90 min"
MOST_HOURS = Decimal(500)
NAMES = {"diagnose": "diagnosis", "open": "opening up", "repair": "repair"}


def account_of_job(shop: Shop, job: int) -> AccountAnswer:
    """Return hours and money of a job; RecordError if there is none."""
    return _answer(read_book(shop, job))


def authorise(
    shop: Shop,
    job: int,
    stage: str,
    sum: str,
    *,
    by: str,
    how: str,
    when: str = "",
    hours: str = "",
    note: str = "",
    **sender: Unpack[Sender],
) -> AccountAnswer:
    """Note the owner's yes to a stage: diagnose, open or repair, up to a sum with tax; who, how, when.

    Without `hours` ("9-12") the estimate is that of the plan, where the findings give one.

    Raises
    ------
    RecordError : no such job, or nobody said yes in no way
    FindingError, InputFileError : no such stage, a sum or hours that cannot be read
    """
    book = read_book(shop, job)
    chosen = one_of(stage, STAGES, "stage")
    data: dict[str, Any] = {**_yes(book, sum, by, how, when), "note": note.strip()}
    low, high = read_range(hours) if hours.strip() else _planned(shop, job, chosen)
    if low is not None and high is not None:
        data |= {"hours_low": str(low), "hours_high": str(high)}
    entry = write(book, "authority", chosen, data, **sender)
    after = read_book(shop, job)
    said = f"{NAMES[chosen].capitalize()} is authorised up to {_money(Decimal(data['sum']), after)}"
    if low is not None:
        said += f", for {_span(low, high)}"
    return _answer(after, Said(f"{said}.", money_warnings(after), entry.id))


def vary(
    shop: Shop,
    job: int,
    sum: str,
    why: str,
    *,
    by: str,
    how: str,
    when: str = "",
    **sender: Unpack[Sender],
) -> AccountAnswer:
    """Note the owner's yes to so much more, and why; raises as `authorise`."""
    book = read_book(shop, job)
    if not why.strip():
        raise RecordError("a variation needs a reason", remedy="say what it is for")
    entry = write(book, "variation", JOB, {**_yes(book, sum, by, how, when), "why": why.strip()}, **sender)
    after = read_book(shop, job)
    said = f"{_money(sum_of(book, sum), after)} more is authorised: {why.strip()}."
    return _answer(after, Said(said, money_warnings(after), entry.id))


def _yes(book: Book, sum: str, by: str, how: str, when: str) -> dict[str, str]:
    if not by.strip() or not how.strip():
        raise RecordError(
            "a yes is somebody's, given somehow", remedy="say who (--by owner) and how (--how telephone)"
        )
    return {"sum": str(sum_of(book, sum)), "by": by.strip(), "how": how.strip(), "when": when.strip()}


def put_hours(
    shop: Shop, job: int, hours: str, what: str, *, stage: str = "", **sender: Unpack[Sender]
) -> AccountAnswer:
    """Put hours down: "2.5", "2:30", "90 min"; without a stage for the furthest one authorised.

    Raises
    ------
    RecordError, FindingError, InputFileError : no such job or stage, no words, hours that cannot be
    """
    book = read_book(shop, job)
    spent = read_hours(hours)
    if not what.strip():
        raise RecordError("say what was done in that time")
    now = account(book.entries, book.usual)
    furthest = now.authorities[-1].stage if now.authorities else STAGES[0]
    chosen = one_of(stage, STAGES, "stage") if stage.strip() else furthest
    entry = write(book, "hours", chosen, {"hours": str(spent), "what": what.strip()}, **sender)
    after = read_book(shop, job)
    return _answer(
        after, Said(f"{_hours(spent)}, {NAMES[chosen]}: {what.strip()}.", money_warnings(after), entry.id)
    )


def put_price(
    shop: Shop, job: int, kind: str, what: str, sum: str, **sender: Unpack[Sender]
) -> AccountAnswer:
    """Put something else on the bill, before tax: a part off the shelf, fluid, outside-work, other.

    What is ordered is there by its line of the order.  Raises as `put_hours`.
    """
    book = read_book(shop, job)
    chosen = one_of(kind, PRICED, "kind of line")
    if not what.strip():
        raise RecordError("say what it is for")
    amount = sum_of(book, sum)
    entry = write(book, "price", chosen, {"what": what.strip(), "sum": str(amount)}, **sender)
    after = read_book(shop, job)
    said = f"{what.strip()}: {_money(amount, after)}."
    return _answer(after, Said(said, money_warnings(after), entry.id))


def set_terms(
    shop: Shop, job: int, *, rate: str = "", tax: str = "", **sender: Unpack[Sender]
) -> AccountAnswer:
    """Say what an hour costs and the tax [%] of a job; they hold for later jobs until others are said.

    Raises
    ------
    RecordError, InputFileError : nothing is said, or it cannot be read
    """
    book = read_book(shop, job)
    data: dict[str, str] = {}
    if rate.strip():
        read = read_rate(rate)
        if read.amount != round(read.amount, 2):
            raise InputFileError(f"a rate of {rate} an hour cannot be", remedy="to the hundredth")
        data |= {"rate": str(round(read.amount, 2)), "before": read.before, "after": read.after}
    if tax.strip():
        data["tax"] = str(_percent(tax))
    if not data:
        raise RecordError("nothing is said", remedy="give --rate 80 or --tax 20")
    for name, value in (("rate", book.usual.rate), ("tax", book.usual.tax)):
        # What is not said again goes on holding, here and on later jobs.
        if name not in data and value is not None:
            data[name] = str(value)
            if name == "rate":
                data |= {"before": book.usual.before, "after": book.usual.after}
    entry = write(book, "terms", JOB, data, **sender)
    after = read_book(shop, job)
    found = account(after.entries, after.usual)
    return _answer(after, Said(f"{_terms_text(found.terms)}.", money_warnings(after), entry.id))


def sum_of(book: Book, text: str) -> Decimal:
    """Read a sum in the money of a job; raises InputFileError for no sum, or one in other money."""
    terms = account(book.entries, book.usual).terms
    return read_sum(text, terms.before or terms.after)


def money_warnings(book: Book) -> tuple[str, ...]:
    """Return what goes beyond what was authorised, in sum or in hours."""
    found = account(book.entries, book.usual)
    told = []
    if found.over:
        ask = (
            "a variation needs a yes before more is done" if found.authorised else "nothing is authorised yet"
        )
        told.append(
            f"{_money(found.over, book)} beyond the authorised {_money(found.authorised, book)}: {ask}"
        )
    elif found.would_be_over and found.to_come:
        told.append(
            f"with what is still to be ordered it would be {_money(found.would_be_over, book)} beyond the "
            f"authorised {_money(found.authorised, book)}"
        )
    if not found.authorities and any(charge.hours for charge in found.charges) and not found.over:
        told.append("nothing is authorised yet")
    told += [
        f"{NAMES[one.stage]}: {_hours(one.over)} over the {_span(one.low, one.high)} that was said"
        for one in found.stages
        if one.over
    ]
    return tuple(told)


def _planned(shop: Shop, job: int, stage: str) -> tuple[Decimal | None, Decimal | None]:
    """The hours the plan foresees for a stage, None where nothing is found yet."""
    if not shop.store.current_findings(job):
        return None, None
    from bellhousing.tasks.plan import plan_of_job

    try:
        foreseen = {one.kind: one for one in plan_of_job(shop, job).authorities}
    except BellhousingError:
        return None, None
    if stage not in foreseen:
        return None, None
    low, high = foreseen[stage].hours_low, foreseen[stage].hours_high
    return _tenth(low), _tenth(high)


def _tenth(hours: float) -> Decimal:
    return Decimal(str(hours)).quantize(Decimal("0.1"), rounding=ROUND_HALF_UP)


def read_hours(text: str) -> Decimal:
    """Read hours: "2.5", "2,5 h", "2:30", "1 h 20 min", "90 min", to the hundredth.

    Raises
    ------
    InputFileError : no hours, none at all, or more than anybody works on one job
    """
    said = " ".join(text.lower().split())
    plain, clock = HOURS.fullmatch(said), CLOCK.fullmatch(said)
    if plain is not None:
        found = Decimal(plain[1].replace(",", "."))
    elif clock is not None and (clock[1] is None or int(clock[2]) < 60):
        minutes = 60 * int(clock[1] or 0) + int(clock[2])
        found = (Decimal(minutes) / 60).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
    else:
        raise InputFileError(f"'{text[:40]}' are no hours", remedy=HOURS_REMEDY)
    if not 0 < found <= MOST_HOURS:
        raise InputFileError(f"{text[:40]} cannot be", where="hours", remedy=HOURS_REMEDY)
    return found


def read_range(text: str) -> tuple[Decimal, Decimal]:
    """Read hours from and to: "9-12", "3 to 4.5", or one figure.

    Raises
    ------
    InputFileError : no hours, or from more to less
    """
    parted = RANGE.fullmatch(" ".join(text.lower().split()))
    low, high = (read_hours(parted[1]), read_hours(parted[2])) if parted else (read_hours(text),) * 2
    if low > high:
        raise InputFileError(f"'{text[:40]}' runs backwards", remedy="write it like 9-12")
    return low, high


def _percent(text: str) -> Decimal:
    said = text.strip().removesuffix("%").strip().replace(",", ".")
    if re.fullmatch(r"\d{1,2}(\.\d{1,3})?", said) is None:
        raise InputFileError(
            f"a tax of '{text[:20]}' cannot be", remedy="write it in per cent, like 20 or 8.25"
        )
    return Decimal(said)


def _answer(book: Book, said: Said | None = None) -> AccountAnswer:
    found = account(book.entries, book.usual)
    told = said or Said()
    own = any(entry.kind == "terms" for entry in standing(book.entries))
    terms = found.terms
    elsewhere = book.shop.store.last_work_entry("terms") is not None
    source = "as said last on another job" if elsewhere else "as the settings say"
    assumed = () if own or terms == Terms() else (f"{_terms_text(terms)}, {source}",)
    return AccountAnswer(
        job=book.job,
        rate=terms.rate,
        tax_percent=terms.tax,
        sign_before=terms.before,
        sign_after=terms.after,
        authorities=tuple(_authority(one, book) for one in found.authorities),
        variations=tuple(_variation(one, book) for one in found.variations),
        charges=tuple(_charge(one, book) for one in found.charges),
        stages=tuple(_stage(one) for one in found.stages),
        net=found.net,
        tax=found.tax,
        total=found.total,
        authorised=found.authorised,
        over=found.over,
        would_be_over=found.would_be_over,
        text=_text(found, book),
        assumed=assumed,
        said=told.text,
        warnings=told.warnings if said is not None else money_warnings(book),
        entry=told.entry,
    )


def _text(found: Account, book: Book) -> str:
    if not (found.authorised or found.total or found.unpriced):
        return "nothing is authorised and nothing is on the bill yet"
    total = _money(found.total, book)
    if found.terms.tax:
        taxed = f"{found.terms.tax.normalize():f} % tax {_money(found.tax, book)}"
        total = f"{_money(found.net, book)} + {taxed} = {total}"
    left = found.authorised - found.total
    rest = f"{_money(left, book)} left" if left >= 0 else f"{_money(-left, book)} beyond"
    said = f"{total} of {_money(found.authorised, book)} authorised, {rest}"
    missing = len(found.unpriced)
    if not missing:
        return said
    why = "no rate was said" if found.terms.rate is None else "no price was said"
    return f"{said}; {missing} {'line is' if missing == 1 else 'lines are'} not in it, {why}"


def _authority(one: Authority, book: Book) -> YesAnswer:
    hours = f", for {_span(one.hours_low, one.hours_high)}" if one.hours_low is not None else ""
    return _given(one, f"{NAMES[one.stage]} up to {_money(one.sum, book)}{hours}", stage=one.stage)


def _variation(one: Variation, book: Book) -> YesAnswer:
    return _given(one, f"{_money(one.sum, book)} more for {one.why}", why=one.why)


def _given(one: Authority | Variation, said: str, *, stage: str = "", why: str = "") -> YesAnswer:
    return YesAnswer(
        kind="authority" if isinstance(one, Authority) else "variation",
        stage=stage,
        sum=one.sum,
        by=one.by,
        how=one.how,
        when=one.when,
        who=one.who,
        why=why,
        entry=one.entry,
        text=f"{said}: {one.by}, {one.how}, {one.when}",
    )


def _charge(one: Charge, book: Book) -> ChargeAnswer:
    price = "no price yet" if one.sum is None else _money(one.sum, book)
    hours = f" {_hours(one.hours)}," if one.hours is not None else ""
    return ChargeAnswer(
        kind=one.kind,
        what=one.what,
        stage=one.stage,
        hours=one.hours,
        sum=one.sum,
        entry=one.entry,
        text=f"{one.kind.replace('-', ' ')}:{hours} {one.what}: {price}",
    )


def _stage(one: StageHours) -> StageAnswer:
    said = f" of {_span(one.low, one.high)} said" if one.high is not None else ", nothing was said"
    over = f", {_hours(one.over)} over" if one.over else ""
    return StageAnswer(
        stage=one.stage,
        hours=one.hours,
        low=one.low,
        high=one.high,
        over=one.over,
        text=f"{NAMES[one.stage]}: {_hours(one.hours)}{said}{over}",
    )


def _money(amount: Decimal, book: Book) -> str:
    terms = account(book.entries, book.usual).terms
    return with_sign(amount, terms.before, terms.after)


def _terms_text(terms: Terms) -> str:
    rate = "no rate" if terms.rate is None else f"{with_sign(terms.rate, terms.before, terms.after)} an hour"
    return f"{rate}, {terms.tax.normalize():f} % tax"


def _hours(hours: Decimal) -> str:
    return f"{hours.normalize():f} h"


def _span(low: Decimal | None, high: Decimal | None) -> str:
    ends: Sequence[Decimal] = [end for end in (low, high) if end is not None]
    if len(ends) == 2 and ends[0] != ends[1]:
        return f"{ends[0].normalize():f}–{ends[1].normalize():f} h"
    return _hours(ends[0]) if ends else "no hours"
