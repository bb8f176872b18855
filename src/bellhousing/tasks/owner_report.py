"""The owner's report of a job: the estimate and the final report, gathered from the same records."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from bellhousing.records.entries import CLOSED
from bellhousing.tasks.account_shapes import AccountAnswer
from bellhousing.tasks.accounting import account_of_job
from bellhousing.tasks.answers import Answer
from bellhousing.tasks.bench_evidence import on_bench_of_job
from bellhousing.tasks.hearing import Heard
from bellhousing.tasks.money import Rate, read_rate
from bellhousing.tasks.on_job import OnJob, on_job
from bellhousing.tasks.photos import PhotoAnswer, photos_of_job
from bellhousing.tasks.plan import plan_of_heard
from bellhousing.tasks.plan_answers import PlanAnswer
from bellhousing.tasks.ranking import rank
from bellhousing.tasks.report_found import causes_told, changes_between, is_test, readings_of
from bellhousing.tasks.report_picture import Drawn, drawn_picture
from bellhousing.tasks.report_plan import estimate_plan, lower, watch_items
from bellhousing.tasks.report_shapes import OwnerReport, ReportCause, ReportFact, ReportPhoto
from bellhousing.tasks.report_units import day, distance
from bellhousing.tasks.report_words import report_told, teller
from bellhousing.tasks.report_work import (
    agreed,
    begun,
    figures,
    fluid_said,
    left_undone,
    parts_used,
    sums,
    total_said,
    work_done,
)
from bellhousing.tasks.service import next_due
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.shop_settings import ShopSettings, shop_settings
from bellhousing.tasks.work_book import Book, read_book

ESTIMATE, FINAL = "estimate", "report"
MOST_PHOTOS = 6
ROAD = (
    "This tells of the gearbox, from what was seen and measured. It replaces no inspection for the road, "
    "and it promises nothing: follow the car’s own manual and local rules."
)
HEED = "Stop and call when it slips, smells burnt, drips on the exhaust or will not hold in park."


@dataclass(frozen=True)
class Gathered:
    """A report with what does not fit into plain data: the picture as SVG, and whose photos it shows."""

    report: OwnerReport
    drawn: Drawn | None
    at: datetime


@dataclass(frozen=True)
class _Parts:
    """Everything a report is made of, read once."""

    now: OnJob
    book: Book
    account: AccountAnswer
    settings: ShopSettings
    units: str
    before: tuple[Heard, ...]
    after: tuple[Heard, ...]
    answer: Answer
    confirmed: tuple[str, ...]
    at: datetime
    plan: PlanAnswer
    drawn: Drawn | None
    photos: tuple[PhotoAnswer, ...]


def owner_report(
    shop: Shop, job: int, *, estimate: bool = False, units: str | None = None, rate: str | None = None
) -> Gathered:
    """The report of a job to its owner; an estimate tells what is proposed instead of what was done.

    It holds no day but those of the records, so that the same records give the same report.

    Parameters
    ----------
    units : "inch" or "metric", the shop's own where it is not said
    rate : what an hour costs, as "80/h"; the job's own where it is not said

    Raises
    ------
    RecordError : no such job.
    BoxFileError : the box of the car cannot be used.
    InputFileError : settings or a rate that cannot be read.
    """
    parts = _gather(shop, job, units, rate)
    say = teller(parts.settings.words, parts.units)
    report = report_told(_report(parts, ESTIMATE if estimate else FINAL, say), say)
    return Gathered(report, parts.drawn, parts.at)


def _gather(shop: Shop, job: int, units: str | None, rate: str | None) -> _Parts:
    settings = shop_settings(shop)
    chosen = units or settings.units
    now, book, account = on_job(shop, job), read_book(shop, job), account_of_job(shop, job)
    first = begun(book.entries)
    split = None if first is None else first.at
    bench = {entry.number for entry in on_bench_of_job(shop, job)}
    heard = [entry for entry in now.heard if entry.answer.number not in bench]
    after = tuple(entry for entry in heard if split is not None and entry.since(split))
    before = tuple(entry for entry in heard if entry not in after)
    # What the bench showed speaks of the car as it came, whenever it was measured.
    known = tuple(entry for entry in now.heard if entry not in after)
    closed = {kept.number: kept.causes for kept in shop.store.closed_jobs()}
    photos = photos_of_job(shop, job)
    at = _last_moment(shop, job, book, photos)
    answer = rank(now.prepared, known)
    leading = _leading(answer, closed.get(job, ()))
    plan = plan_of_heard(
        now.prepared, known, rate=_rate(account, rate), today=at.astimezone().date(), assumed=answer.assumed
    )
    return _Parts(
        now=now,
        book=book,
        account=account,
        settings=settings,
        units=chosen,
        before=before,
        after=after,
        answer=answer,
        confirmed=closed.get(job, ()),
        at=at,
        plan=plan,
        drawn=drawn_picture(now.prepared, before, after, leading, chosen),
        photos=photos,
    )


def _last_moment(shop: Shop, job: int, book: Book, photos: Sequence[PhotoAnswer]) -> datetime:
    """When the job was last written to, which is the moment the report speaks of."""
    moments = [shop.store.job(job).opened_at]
    moments += [change.at for change in shop.store.status_changes(job)]
    moments += [entry.at for entry in shop.store.findings(job)]
    moments += [entry.at for entry in book.entries]
    moments += [datetime.fromisoformat(photo.at) for photo in photos]
    return max(moments)


def _leading(answer: Answer, confirmed: Sequence[str]) -> str | None:
    if confirmed:
        return confirmed[0]
    likely = [c for c in answer.causes if c.cause != "sound" and c.probability >= 0.3]
    return likely[0].cause if likely else None


def _rate(account: AccountAnswer, rate: str | None) -> Rate | None:
    if rate is not None and rate.strip():
        return read_rate(rate)
    if account.rate is None:
        return None
    return Rate(account.rate, account.sign_before, account.sign_after)


def _report(parts: _Parts, kind: str, say: Callable[[str], str]) -> OwnerReport:
    catalogue, shop, job = parts.now.prepared.catalogue, parts.now.shop, parts.now.number
    causes, ruled_out = causes_told(parts.answer, parts.confirmed, catalogue)
    final = kind == FINAL
    kept = shop.store.job(job)
    settings, prepared = parts.settings, parts.now.prepared
    changes = changes_between(prepared, parts.before, parts.after, parts.units) if final else ()
    shown, more = parts.photos[:MOST_PHOTOS], max(0, len(parts.photos) - MOST_PHOTOS)
    return OwnerReport(
        job=job,
        kind=kind,
        title="Report on the gearbox" if final else "Estimate for the gearbox",
        shop=settings.name,
        shop_lines=settings.lines,
        paper=settings.paper,
        units=parts.units,
        as_of=day(parts.at),
        facts=_facts(parts),
        in_short=_in_short(parts, kind, causes),
        complaint=kept.complaint,
        tests=readings_of(prepared, parts.before, parts.units),
        causes=causes,
        ruled_out=ruled_out,
        plan=None if final else estimate_plan(parts.plan),
        work=work_done(parts.book, parts.account, say) if final else (),
        parts=parts_used(parts.book) if final else (),
        measurements=figures(shop, parts.book, parts.units) if final else (),
        changes=changes,
        proof="" if parts.drawn is None or not final else parts.drawn.verdict,
        picture="" if parts.drawn is None else parts.drawn.text,
        photos=tuple(_photo(photo) for photo in shown),
        more_photos=more,
        not_done=_not_done(parts, kind),
        watch=watch_items(parts.now.reckoning, parts.plan, causes, estimate=not final),
        next_due=next_due(shop, parts.now.car.slug, parts.at, parts.units) if final else (),
        fluid=fluid_said(parts.book) if final else "",
        money=sums(parts.account) if final else (),
        agreed=agreed(parts.account, final=final),
        warranty=settings.warranty if final else "",
        cautions=(ROAD, HEED),
        assumed=parts.plan.assumed if not final else (),
    )


def _facts(parts: _Parts) -> tuple[ReportFact, ...]:
    shop, car = parts.now.shop, parts.now.car
    kept = shop.store.job(parts.now.number)
    closed = [change.at for change in shop.store.status_changes(kept.number) if change.status == CLOSED]
    told = [
        ("Car", car.name),
        ("Owner", car.owner or ""),
        ("Gearbox", parts.now.prepared.box.name),
        ("Odometer", "" if kept.odometer_m is None else distance(kept.odometer_m, parts.units)),
        ("Job", f"{kept.number}, opened {day(kept.opened_at)}"),
        ("Closed", day(closed[-1]) if kept.status == CLOSED and closed else ""),
        ("As the book stood on", day(parts.at)),
    ]
    return tuple(ReportFact(name=name, value=value) for name, value in told if value)


def _in_short(parts: _Parts, kind: str, causes: Sequence[ReportCause]) -> tuple[str, ...]:
    """What the owner asks first: what is it, how sure, what was done or is proposed, what it costs."""
    told = [_what_it_is(causes)]
    if kind == ESTIMATE:
        told += [_ended(parts.plan.headline), *_likeliest(parts.plan)]
        if parts.plan.waiting is not None:
            told.append(f"May it be driven meanwhile? {parts.plan.waiting.may_drive}.")
        return tuple(told)
    if parts.drawn is not None and parts.drawn.verdict:
        told.append(parts.drawn.verdict)
    if begun(parts.book.entries) is None:
        told.append("Nothing was undone on the car so far.")
    if parts.account.total > Decimal(0):
        told.append(total_said(parts.account))
    return tuple(told)


def _likeliest(plan: PlanAnswer) -> tuple[str, ...]:
    """The likeliest way the repair goes, with its hours and price."""
    options = [one for one in estimate_plan(plan).options if one.hours]
    if not options:
        return ()
    first = options[0]
    price = f", {first.price}" if first.price else ""
    return (
        f"As things stand the repair would be: {lower(first.what)} ({first.odds}), {first.hours}{price}.",
    )


def _ended(text: str) -> str:
    return text if text.endswith((".", "?", "!")) else f"{text}."


def _what_it_is(causes: Sequence[ReportCause]) -> str:
    confirmed = [cause for cause in causes if cause.confirmed]
    if confirmed:
        odds = f" ({confirmed[0].confidence})" if confirmed[0].confidence else ""
        return f"What it was, confirmed by the work: {' and '.join(cause.name for cause in confirmed)}{odds}."
    if not causes:
        return "Nothing was found so far that stands out as the cause."
    rest = "; ".join(f"{cause.name.lower()}, {cause.confidence}" for cause in causes[1:3])
    beside = f" Also possible, instead or beside it: {rest}." if rest else ""
    return f"Most likely: {causes[0].name.lower()}, {causes[0].confidence}.{beside}"


def _not_done(parts: _Parts, kind: str) -> tuple[str, ...]:
    told = []
    if parts.answer.not_looked_at:
        told.append(f"Not looked at: {'; '.join(name.lower() for name in parts.answer.not_looked_at)}")
    if kind == ESTIMATE:
        told += [f"Would tell more: {look.ask}" for look in parts.plan.looks]
    else:
        told += left_undone(parts.book)
        if parts.drawn is not None and parts.drawn.not_tested:
            told.append(f"Not driven after the work: {', '.join(parts.drawn.not_tested)}")
        if begun(parts.book.entries) is not None and not any(_tested(parts)):
            told.append("No test was noted after the work")
        if begun(parts.book.entries) is not None and not fluid_said(parts.book):
            told.append("Which fluid went in, and how much, is not written down")
    notes = [
        entry.answer.said
        for entry in parts.before
        if entry.answer.finding is None and entry.answer.source != "owner"
    ]
    told += [f"Noted, and not weighed: “{text}”" for text in notes[:6]]
    return tuple(told)


def _tested(parts: _Parts) -> list[bool]:
    return [is_test(entry.answer, parts.now.prepared.catalogue) for entry in parts.after]


def _photo(photo: PhotoAnswer) -> ReportPhoto:
    of = [text for text in (photo.part, photo.step, photo.said or "") if text and text != photo.caption]
    caption = ". ".join(dict.fromkeys(text for text in (photo.caption, *of) if text))
    return ReportPhoto(
        number=photo.number,
        digest=photo.digest,
        caption=caption or photo.title,
        taken=(photo.taken or "")[:10].replace(":", "-"),
        width=photo.width,
        height=photo.height,
    )
