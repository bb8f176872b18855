"""What the owner's report tells of the work: what was done, parts, figures, money, what was left."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal

from bellhousing.errors import BellhousingError
from bellhousing.quantities.units import from_si
from bellhousing.tasks.account_shapes import AccountAnswer
from bellhousing.tasks.fits_shapes import MeasuredAnswer
from bellhousing.tasks.measuring import measured_on_job
from bellhousing.tasks.money import with_sign
from bellhousing.tasks.report_shapes import ReportPart, ReportReading, ReportSum
from bellhousing.tasks.report_units import reading
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import Book
from bellhousing.work.build import Build, GateState, build
from bellhousing.work.entries import WorkEntry, standing
from bellhousing.work.ledger import ledger
from bellhousing.work.naming import plain
from bellhousing.work.orders import order_lines

UNDOING = frozenset({"part-off", "part-on", "bolts-out", "ball-out", "one-use-replaced", "gate", "torque"})
STATES = {"reuse": "used again", "replace": "renewed", "machine": "machined and used again"}
DECLINED = {
    "no-access": "it could not be reached",
    "no-instrument": "there was no instrument for it",
    "already-apart": "it was apart already",
    "not-worth-it": "it was not worth the time",
    "owner-declined": "the owner did not want it",
}
MOST_MEASURED = 24
FLUID = "fluid"


def begun(entries: Iterable[WorkEntry]) -> WorkEntry | None:
    """The first entry with which something was undone, None while nothing was."""
    return min(
        (entry for entry in standing(entries) if entry.kind in UNDOING),
        key=lambda entry: entry.at,
        default=None,
    )


def work_done(book: Book, account: AccountAnswer, say: Callable[[str], str]) -> tuple[str, ...]:
    """What was done: hours with what they went into as written, then what came off and is back, by `say`."""
    lines = [
        f"{charge.what} ({charge.hours.normalize():f} h)"
        for charge in account.charges
        if charge.hours is not None
    ]
    if book.tree is None:
        return tuple(lines)
    tree, held = book.tree, ledger(book.tree, book.entries)
    back = [tree.parts[p.slug].name for p in held.parts.values() if p.ever_off and not p.off]
    off = [tree.parts[p.slug].name for p in held.parts.values() if p.off]
    if back:
        lines.append(say(f"Taken off and put back: {_listed(back)}"))
    if off:
        lines.append(say(f"Still off the car: {_listed(off)}"))
    return tuple(lines)


def parts_used(book: Book) -> tuple[ReportPart, ...]:
    """Parts new, used again, machined or returned."""
    told = [_seal(book, entry) for entry in standing(book.entries) if entry.kind == "one-use-replaced"]
    told = [part for part in told if part.count]
    lines = order_lines(book.entries)
    for line in lines:
        if line.status == "fitted":
            told.append(
                ReportPart(name=_sentence(line.name), count=line.count, state="new", note=_sentence(line.why))
            )
        elif line.status == "returned":
            told.append(ReportPart(name=line.name, count=line.count, state="sent back", note=line.check_note))
    fitted = {line.part for line in lines if line.status == "fitted"}
    for entry in standing(book.entries):
        # What was renewed stands there already as the new part.
        if entry.kind == "part-finding" and not (
            entry.data["decision"] == "replace" and entry.subject in fitted
        ):
            note = ", ".join(text for text in (entry.text("condition"), _why(entry)) if text)
            told.append(
                ReportPart(
                    name=_part(book, entry.subject),
                    count=1,
                    state=STATES[entry.text("decision")],
                    note=note,
                )
            )
    return tuple(told)


def _why(entry: WorkEntry) -> str:
    return ", ".join(text for text in (entry.text("reason"), entry.text("number")) if text)


def _seal(book: Book, entry: WorkEntry) -> ReportPart:
    slug, name = entry.text("what"), ""
    if book.tree is not None:
        found = [seal.name for part in book.tree.parts.values() for seal in part.seals if seal.slug == slug]
        flange = book.tree.flanges.get(entry.subject)
        name = found[0] if found else f"Sealing washers of the {flange.name}" if flange is not None else ""
    return ReportPart(
        name=_sentence(name or plain(slug)),
        count=int(entry.data["count"]),
        state="new",
        note=entry.text("note"),
    )


def _part(book: Book, slug: str) -> str:
    part = None if book.tree is None else book.tree.parts.get(slug)
    return part.name if part is not None else plain(slug)


def figures(shop: Shop, book: Book, units: str) -> tuple[ReportReading, ...]:
    """Measurements that mattered: those with a window, at the bench and at the gates of the build."""
    try:
        measured = [entry for entry in measured_on_job(shop, book.job) if entry.counts]
    except BellhousingError:
        measured = []
    told = [_measured(entry, units) for entry in measured]
    told += [_gate(state, units) for state in _build(book).gates if state.passed != "open"]
    return tuple(told[:MOST_MEASURED])


def _build(book: Book) -> Build:
    return build(book.tree, book.entries) if book.tree is not None else Build((), ())


def _measured(entry: MeasuredAnswer, units: str) -> ReportReading:
    return reading(
        _sentence(entry.name),
        entry.value,
        entry.unit,
        units,
        spread=entry.expanded,
        low=entry.low,
        high=entry.high,
        source=entry.source,
        verdict=entry.verdict or (entry.outcome or ""),
    )


def _gate(state: GateState, units: str) -> ReportReading:
    gate = state.gate
    verdict = "as it should be" if state.passed == "passed" else "not as it should be"
    if state.value is None or gate.kind != "number":
        return ReportReading(name=gate.name, value=state.text, window="", source="", verdict=verdict)
    window = gate.window
    return reading(
        gate.name,
        float(from_si(state.value, gate.unit)),
        gate.unit,
        units,
        low=None if window is None else _finite(from_si(window.low, gate.unit)),
        high=None if window is None else _finite(from_si(window.high, gate.unit)),
        source="" if window is None else "to pass the build",
        verdict=("inside" if window is not None else verdict) if state.passed == "passed" else "outside",
    )


def _finite(value: float) -> float | None:
    return float(value) if abs(float(value)) < 1e12 else None


def left_undone(book: Book) -> tuple[str, ...]:
    """What the book says was passed over, declined, or closed by a written reason."""
    told = []
    for entry in standing(book.entries):
        if entry.kind == "baseline-declined":
            why = DECLINED.get(entry.text("reason"), plain(entry.text("reason")))
            measure = plain(entry.text("measure"))
            told.append(f"{_part(book, entry.subject)}: {measure} was not measured, because {why}")
        elif entry.kind == "reason":
            told.append(f"{_sentence(entry.text('covers'))}: {entry.text('text')}")
    built = _build(book)
    reasons = {entry.subject for entry in standing(book.entries) if entry.kind == "reason"}
    for state in built.gates:
        if state.reason and f"gate:{state.gate.slug}" not in reasons:
            told.append(f"{state.gate.name} was passed over: {state.reason}")
        elif state.passed == "failed" and not state.reason:
            told.append(f"{state.gate.name} is not as it should be: {state.text}")
    asked = built.gates if built.box_out else tuple(state for step in built.steps for state in step.gates)
    open_gates = [state.gate.name for state in asked if state.passed == "open" and not state.reason]
    if open_gates:
        told.append(f"Not measured or checked: {_listed(open_gates)}")
    return tuple(dict.fromkeys(told))


def fluid_said(book: Book) -> str:
    """Which fluid went in, as the bill says it, empty where it says nothing."""
    return "; ".join(
        entry.text("what")
        for entry in standing(book.entries)
        if entry.kind == "price" and entry.subject == FLUID
    )


def sums(account: AccountAnswer) -> tuple[ReportSum, ...]:
    """The lines of the bill with tax and total, nothing where there is no line."""
    if not account.charges:
        return ()
    amounts = [charge.sum for charge in account.charges if charge.sum is not None]
    # One sum with hundredths, and all have them: a column that is added up by eye.
    exact = any(amount % 1 for amount in (*amounts, account.tax or 0, account.total))
    told = [
        ReportSum(
            what=charge.what + (f", {charge.hours.normalize():f} h" if charge.hours is not None else ""),
            sum=charge.sum,
            text="no price yet" if charge.sum is None else _money(account, charge.sum, exact=exact),
        )
        for charge in account.charges
    ]
    if account.tax_percent:
        rate = f"{account.tax_percent.normalize():f} %"
        tax = _money(account, account.tax, exact=exact)
        told.append(ReportSum(what=f"Tax, {rate}", sum=account.tax, text=tax))
    total = ReportSum(what="Total", sum=account.total, text=_money(account, account.total, exact=exact))
    return (*told, total)


def _money(account: AccountAnswer, amount: Decimal, *, exact: bool = False) -> str:
    return with_sign(amount, account.sign_before, account.sign_after, exact=exact)


def total_said(account: AccountAnswer) -> str:
    """What it comes to, against what the owner agreed to."""
    said = f"It comes to {_money(account, account.total)}{' with tax' if account.tax_percent else ''}"
    if not account.authorised:
        return f"{said}."
    left = account.authorised - account.total
    if left < 0:
        return f"{said}, {_money(account, -left)} more than you agreed to so far."
    return f"{said}; you agreed to up to {_money(account, account.authorised)}."


def agreed(account: AccountAnswer, *, final: bool) -> tuple[str, ...]:
    """What the owner said yes to, and when; in the final report also what it came to."""
    told = tuple(_sentence(yes.text) for yes in (*account.authorities, *account.variations))
    return (*told, total_said(account)) if final and told and account.charges else told


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _listed(names: Sequence[str]) -> str:
    return ", ".join(name[:1].lower() + name[1:] if name[1:2].islower() else name for name in names)
