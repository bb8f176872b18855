"""Selective parts of a fits file or of a job: which piece goes where, and what to order."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from bellhousing.boxes.assemblies import Assembly, stack_from
from bellhousing.boxes.box import Box
from bellhousing.boxes.fits_file import read_fits_file
from bellhousing.errors import FindingError, QuantityError
from bellhousing.fits.arithmetic import length, size_of
from bellhousing.fits.parts import Limits, Part, Stack
from bellhousing.fits.selective import Chosen, Fit, Open, Order, Solution, solve_fits
from bellhousing.fits.stack import Member, draw_stack, stack_up
from bellhousing.fits.verdict import Rule
from bellhousing.quantities.odds import in_100
from bellhousing.quantities.units import from_si, unit
from bellhousing.tasks import measuring
from bellhousing.tasks.fits_shapes import (
    FitsAnswer,
    MeasuredAnswer,
    MemberShare,
    OrderAnswer,
    PieceAnswer,
    SpreadAnswer,
    StackAnswer,
)
from bellhousing.tasks.measured_words import fitted_slug
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.stocking import parts_in_stock

DIGITS = 6
BY_SIZES = "by the sizes of its stack"
BY_CLEARANCE = "by the clearance measured with the old parts in"


def fits_of_file(path: Path, *, rule: Rule | None = None) -> FitsAnswer:
    """Choose the parts of a fits file, which needs no database; `rule` stands in for the file's own.

    Raises
    ------
    InputFileError : no such file, or one that cannot be read
    BoxFileError : a file with faults, all of them listed
    QuantityError : stacks that cannot be worked out
    """
    file = read_fits_file(path)
    stacks = [stack_from(assembly) for assembly in file.assemblies]
    members = {entry.id: entry.members or () for entry in file.assemblies}
    judged_by = file.rule if rule is None else rule
    solution = solve_fits(stacks, file.parts, rule=judged_by, limits=Limits(sure=file.counts_as_sure))
    return answer_of(solution, stacks, file.parts, judged_by, members=members)


def fits_of_job(shop: Shop, job: int, *, rule: Rule | None = None) -> FitsAnswer:
    """Choose the parts of a job's box from shelf and file, by what was measured on the job.

    Raises
    ------
    RecordError : no such job
    FindingError : the box names no assemblies
    """
    box = shop.box(shop.store.car(shop.store.job(job).car).box)
    if not box.assemblies:
        raise FindingError(
            f"{box.name} names no assemblies", remedy="add `assemblies` and `selective_parts` to its file"
        )
    measured = {entry.measure: entry for entry in measuring.measured_on_job(shop, job) if entry.counts}
    stacks: list[Stack] = []
    notes: list[str] = []
    for assembly in box.assemblies:
        try:
            stacks.append(_stack(assembly, box, measured, notes))
        except QuantityError as error:
            notes.append(str(error))
    parts, counted = parts_in_stock(shop, box)
    if counted:
        notes.append(f"Counted by the shop's own stock: {', '.join(counted)}")
    judged_by = Rule() if rule is None else rule
    solution = solve_fits(stacks, parts, rule=judged_by)
    members = {entry.id: entry.members or () for entry in box.assemblies}
    return answer_of(solution, stacks, parts, judged_by, notes, members=members)


def _stack(assembly: Assembly, box: Box, measured: Mapping[str, MeasuredAnswer], notes: list[str]) -> Stack:
    entry = measured.get(assembly.measure)
    if entry is None:
        return stack_from(assembly)
    old: dict[str, tuple[float, ...]] = {}
    for place in assembly.places:
        told = measured.get(fitted_slug(assembly.id, place.part))
        sizes = place.fitted or (measuring.sizes_si(told, place.count) if told is not None else None)
        if sizes:
            old[place.part] = sizes
    if not old:
        names = " or ".join(box.selective_parts[place.part].name for place in assembly.places)
        notes.append(
            f"{assembly.name} was measured, but not the {names} in it: taken by the drawn sizes of its stack"
        )
        return stack_from(assembly)
    # What was not measured stays as it is: the clearance was measured with it in.
    changed = replace(assembly, places=tuple(place for place in assembly.places if place.part in old))
    value, u = measuring.value_si(entry)
    return stack_from(changed, measured=value, known_to=u, fitted=old)


def answer_of(
    solution: Solution,
    stacks: Sequence[Stack],
    parts: Mapping[str, Part],
    rule: Rule,
    notes: Sequence[str] = (),
    *,
    members: Mapping[str, Sequence[Member]],
) -> FitsAnswer:
    """The solution in the units people read, stacks in the order given."""
    filled = {fit.stack.id: fit for fit in solution.fits}
    still_open = {entry.stack.id: entry for entry in solution.open}
    answers = tuple(
        _filled(filled[stack.id], parts) if stack.id in filled else _left_open(still_open[stack.id], parts)
        for stack in stacks
    )
    answers = tuple(
        entry.model_copy(update={"spread": _spread(stack, entry.clearance, members[stack.id])})
        for entry, stack in zip(answers, stacks, strict=True)
    )
    buys = [piece for entry in answers for piece in entry.parts if piece.bought]
    return FitsAnswer(
        stacks=answers,
        joint=solution.joint,
        buy=_together(buys),
        bought=solution.bought,
        price=round(solution.price, 2),
        proven=solution.proven,
        left_out=tuple(f"{parts[item.part].name}: {item.why}" for item in solution.left_out),
        rule=rule.text,
        notes=tuple(notes),
    )


def _together(pieces: Sequence[PieceAnswer]) -> tuple[PieceAnswer, ...]:
    found: dict[tuple[str, float, str, float], PieceAnswer] = {}
    for piece in pieces:
        key = (piece.part, piece.size, piece.mark, piece.price)
        before = found.get(key)
        count = piece.bought + (before.bought if before else 0)
        found[key] = piece.model_copy(
            update={"count": count, "bought": count, "from_stock": 0, "on_order": 0}
        )
    return tuple(found.values())


def _filled(fit: Fit, parts: Mapping[str, Part]) -> StackAnswer:
    stack = fit.stack
    return _answer(
        stack,
        fits=True,
        parts=tuple(_piece(chosen, parts) for chosen in fit.chosen),
        clearance=_in(fit.clearance, stack.unit),
        shown=length(fit.clearance, stack.unit),
        uncertainty=_in(fit.uncertainty, stack.unit),
        probability=fit.judgement.probability,
        verdict=fit.judgement.text,
        arithmetic=fit.arithmetic,
        why="",
        orders=(),
    )


def _left_open(entry: Open, parts: Mapping[str, Part]) -> StackAnswer:
    return _answer(
        entry.stack,
        fits=False,
        parts=(),
        clearance=None if entry.nearest is None else _in(entry.nearest, entry.stack.unit),
        shown=None if entry.nearest is None else length(entry.nearest, entry.stack.unit),
        uncertainty=None,
        probability=None,
        verdict="nothing fits",
        arithmetic=(),
        why=entry.why,
        orders=tuple(_order(order, parts) for order in entry.orders),
    )


def _answer(stack: Stack, **found: object) -> StackAnswer:
    return StackAnswer.model_validate(
        {
            "stack": stack.id,
            "name": stack.name,
            "unit": stack.unit,
            "low": _in(stack.low, stack.unit),
            "high": _in(stack.high, stack.unit),
            "target": _in(stack.target, stack.unit),
            "basis": BY_SIZES if stack.measured is None else BY_CLEARANCE,
            **found,
        }
    )


def _spread(stack: Stack, clearance: float | None, members: Sequence[Member]) -> SpreadAnswer | None:
    """Worst case, root-sum-square, drawn interval and shares of a stack known by its sizes."""
    if stack.measured is not None or not members or clearance is None:
        return None
    found, drawn = stack_up(members), draw_stack(members, draws=50_000)
    low, high = drawn.shortest(0.95)
    moved = clearance - _in(found.nominal, stack.unit)
    # What was drawn lies about the sizes as drawn; the parts chosen move it all alike.
    by = moved * unit(stack.unit).factor
    share = drawn.share_between(stack.low - by, stack.high - by)
    first = max(range(len(members)), key=lambda place: found.shares[place])
    worst, square = (length(half, stack.unit) for half in (found.worst, found.root_sum_square))
    text = f"The sizes of its stack leave ±{worst} at worst, ±{square} as root-sum-square"
    text += f"; {in_100(share)} drawn lie in the window"
    if found.shares[first] > 0.0:
        text += f"; most of it is {members[first].name} ({in_100(found.shares[first])})"
    return SpreadAnswer(
        worst=_in(found.worst, stack.unit),
        root_sum_square=_in(found.root_sum_square, stack.unit),
        inside=round(share, 4),
        low=round(_in(low, stack.unit) + moved, DIGITS),
        high=round(_in(high, stack.unit) + moved, DIGITS),
        members=tuple(
            MemberShare(
                name=entry.name,
                acts=entry.sign,
                size=_in(entry.size, stack.unit),
                tolerance=_in(entry.tolerance, stack.unit),
                measured=entry.measured,
                share=share,
            )
            for entry, share in zip(members, found.shares, strict=True)
        ),
        text=f"{text}.",
    )


def _piece(chosen: Chosen, parts: Mapping[str, Part]) -> PieceAnswer:
    part = parts[chosen.place.part]
    return PieceAnswer(
        part=part.id,
        name=part.name,
        size=_in(chosen.piece.size, part.unit),
        shown=size_of(part, chosen.piece.size),
        unit=part.unit,
        mark=chosen.piece.mark,
        count=chosen.count,
        from_stock=chosen.from_stock,
        on_order=chosen.on_order,
        bought=chosen.bought,
        price=chosen.piece.price,
    )


def _order(order: Order, parts: Mapping[str, Part]) -> OrderAnswer:
    part = parts[order.part]
    return OrderAnswer(
        part=part.id,
        name=part.name,
        count=order.count,
        size=_in(order.size, part.unit),
        shown=length(order.size, part.unit),
        low=_in(order.low, part.unit),
        high=_in(order.high, part.unit),
        unit=part.unit,
        text=order.text,
    )


def _in(value: float, unit_name: str) -> float:
    """In a unit, without the noise of the last binary places."""
    shown = from_si(value, unit_name)
    return round(shown, DIGITS) if math.isfinite(shown) else shown
