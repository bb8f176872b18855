"""The strip of a job as its page shows it: what to reach, the plan and where it stops, what is off."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field

from starlette.requests import Request
from starlette.responses import Response

from bellhousing.errors import BellhousingError, FindingError
from bellhousing.tasks.fits_shapes import MeasuredAnswer
from bellhousing.tasks.measuring import measured_on_job
from bellhousing.tasks.on_job import on_job
from bellhousing.tasks.photos import PhotoAnswer, photos_of_job
from bellhousing.tasks.strip_shapes import StripAnswer, StripElsewhere, StripStep
from bellhousing.tasks.stripping import Aim, leading_aims, strip_of_job
from bellhousing.web.pages import Filled, Problem, shop_of
from bellhousing.web.work_frame import Frame, Taps, frame_of, work_page
from bellhousing.work.entries import DECISIONS, DECLINED, standing
from bellhousing.work.ledger import ledger
from bellhousing.work.open_items import the
from bellhousing.work.orders import decisions
from bellhousing.work.strip import aimed_at, aims_left


@dataclass(frozen=True)
class Offer:
    """A part that may be aimed at: why, and whether it is aimed at now."""

    part: str
    name: str
    why: str
    chosen: bool


@dataclass(frozen=True)
class ShownStep:
    """A step of the plan: `ready` once what must be off before it is, `waits` names what stops it."""

    step: StripStep
    ready: bool
    waits: str = ""
    first: bool = False


@dataclass(frozen=True)
class OffPart:
    """A part that is off: since when, by whom, where it lies, what it looks like and what was decided.

    `photo_part` is its name as photos carry it, whatever words the page speaks.
    """

    slug: str
    name: str
    since: str
    by: str
    lies: str
    bolts: str
    flange: str
    looks: str
    decision: str
    photos: int
    photo_part: str


@dataclass(frozen=True)
class StripView:
    """Everything of the strip page."""

    plan: StripAnswer | None = None
    problem: Problem | None = None
    steps: tuple[ShownStep, ...] = ()
    off: tuple[OffPart, ...] = ()
    offers: tuple[Offer, ...] = ()
    elsewhere: tuple[StripElsewhere, ...] = ()
    chosen: tuple[str, ...] = ()
    reached: bool = False
    choosing: bool = False
    stopped: str = ""
    measured: dict[str, MeasuredAnswer] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)


def strip_view(request: Request, frame: Frame) -> StripView:
    """Gather the strip page; a box without a parts tree has only its problem."""
    shop, number = shop_of(request), frame.number
    tree = frame.book.tree
    if tree is None:
        return StripView(problem=Problem("this box has no list of its parts", frame.ledger.box, NO_TREE))
    chosen = aimed_at(frame.book.entries)
    choosing = not chosen or bool(request.query_params.get("choose"))
    offers, elsewhere = _offers(request, frame, chosen) if choosing else ((), ())
    plan, problem = None, None
    try:
        plan = strip_of_job(shop, number)
    except BellhousingError as error:
        problem = Problem.of(error)
    steps = () if plan is None else _steps(frame, plan)
    reached = plan is not None and _reached(frame, plan)
    return StripView(
        plan=plan,
        problem=problem,
        steps=() if reached else steps,
        off=_off(frame, photos_of_job(shop, number)),
        offers=offers,
        elsewhere=elsewhere,
        chosen=tuple(tree.parts[slug].name for slug in chosen if slug in tree.parts),
        reached=reached,
        choosing=choosing,
        stopped="" if reached else next((one.waits for one in steps if one.waits), ""),
        measured={entry.measure: entry for entry in measured_on_job(shop, number) if entry.counts},
        said=baselines_said(frame),
    )


NO_TREE = "add the section `strip` to its box file; the blank box files show how"


def baselines_said(frame: Frame) -> dict[str, str]:
    """What was written before parts came off, by part and measure."""
    said = {}
    for entry in standing(frame.book.entries):
        if entry.kind in ("baseline", "baseline-declined"):
            told = entry.text("value") or f"declined, {entry.text('reason').replace('-', ' ')}"
            said[f"{entry.subject}:{entry.text('measure')}"] = f"{told}, {entry.who}"
    return said


def _offers(
    request: Request, frame: Frame, chosen: tuple[str, ...]
) -> tuple[tuple[Offer, ...], tuple[StripElsewhere, ...]]:
    """The seats of the leading causes, and what is chosen besides."""
    tree = frame.book.need_tree()
    aims: tuple[Aim, ...] = ()
    elsewhere: tuple[StripElsewhere, ...] = ()
    # No cause leads yet, or none sits in the box: then a part is typed.
    with suppress(FindingError):
        causes = on_job(shop_of(request), frame.number).reckoning.diagnosis.causes
        aims, elsewhere = leading_aims(tree, causes)
    whys: dict[str, list[str]] = {}
    for aim in aims:
        whys.setdefault(aim.part, []).append(aim.why)
    for slug in chosen:
        whys.setdefault(slug, [])
    found = tuple(
        Offer(slug, tree.parts[slug].name, "; ".join(why), slug in chosen or not chosen)
        for slug, why in whys.items()
        if slug in tree.parts
    )
    return found, elsewhere


def _steps(frame: Frame, plan: StripAnswer) -> tuple[ShownStep, ...]:
    """Each step with what it waits for: everything after a measurement that is not known yet."""
    tree = frame.book.need_tree()
    off = {part.slug for part in frame.ledger.parts if part.off}
    shown, stopped = [], ""
    for place, step in enumerate(plan.steps):
        ready = all(any(other in off for other in group) for group in tree.parts[step.part].after)
        shown.append(ShownStep(step, ready, stopped, not place))
        left = [row for row in step.measure_before if not row.done]
        if left and not stopped:
            stopped = f"{left[0].name}, before the {the(step.name)} is undone"
    return tuple(shown)


def _reached(frame: Frame, plan: StripAnswer) -> bool:
    """Whether everything aimed at came off since it was aimed at."""
    if aimed_at(frame.book.entries):
        return not aims_left(frame.book.entries)
    state = ledger(frame.book.need_tree(), frame.book.entries).parts
    return all(state[one.part].ever_off for one in plan.targets)


def _off(frame: Frame, photos: tuple[PhotoAnswer, ...]) -> tuple[OffPart, ...]:
    tree = frame.book.need_tree()
    decided = decisions(frame.book.entries)
    notes = {
        entry.subject: entry.text("note")
        for entry in standing(frame.book.entries)
        if entry.kind == "part-off"
    }
    bolts = {flange.slug: flange.count.text for flange in frame.ledger.flanges}
    parts = {part.slug: part for part in frame.ledger.parts}
    shown = []
    for state in ledger(tree, frame.book.entries).parts_off:
        part = parts[state.slug]
        entry = decided.get(part.slug)
        shown.append(
            OffPart(
                slug=part.slug,
                name=part.name,
                since=part.since,
                by=part.by,
                lies=notes.get(part.slug, ""),
                bolts=bolts.get(part.flange, ""),
                flange=part.flange,
                looks="" if entry is None else entry.text("condition"),
                decision="" if entry is None else entry.text("decision"),
                photos=sum(photo.part == part.name for photo in photos),
                photo_part=part.name,
            )
        )
    return tuple(shown)


def strip_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """The page of the strip."""
    frame = frame_of(request, number, f"/job/{number}/strip")
    return work_page(
        request,
        "work_strip.html",
        frame,
        filled=filled,
        status=status,
        v=strip_view(request, frame),
        declined=DECLINED,
        decisions=DECISIONS,
        taps_of=Taps.of,
    )
