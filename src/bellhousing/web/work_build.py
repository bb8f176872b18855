"""The build of a job as its page shows it: step by step, torque by rounds, gates on their limit lines."""

from __future__ import annotations

import math
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from bellhousing.quantities.show import figure
from bellhousing.quantities.units import from_si, to_si, unit
from bellhousing.reports.limit_line import LimitLine
from bellhousing.tasks.building import building, returned
from bellhousing.tasks.building_shapes import BuildAnswer, BuildStepAnswer, GateAnswer, ReturnedAnswer
from bellhousing.tasks.ledger_shapes import FlangeAnswer, PartAnswer
from bellhousing.web.pages import Filled, Problem, shop_of
from bellhousing.web.work_frame import Drawing, Frame, Taps, drawing_of, frame_of, work_page
from bellhousing.web.work_strip import NO_TREE
from bellhousing.work.build import Build, build


@dataclass(frozen=True)
class ShownGate:
    """A gate with its limit line, None where it has no window or no figure yet."""

    gate: GateAnswer
    line: LimitLine | None


@dataclass(frozen=True)
class ShownBuildStep:
    """A step of the build with what is counted at it; `now` is the one to do."""

    step: BuildStepAnswer
    gates: tuple[ShownGate, ...]
    part: PartAnswer
    flange: FlangeAnswer | None
    taps: Taps | None
    drawing: Drawing | None
    round: int
    sequence: str
    now: bool


@dataclass(frozen=True)
class BuildView:
    """Everything of the build page; `due` is the gate to be passed next."""

    build: BuildAnswer | None = None
    problem: Problem | None = None
    steps: tuple[ShownBuildStep, ...] = ()
    final: tuple[ShownGate, ...] = ()
    back: int = 0
    due: str = ""
    returned: ReturnedAnswer | None = None


def build_view(request: Request, frame: Frame) -> BuildView:
    """Gather the build page; a box without a parts tree has only its problem."""
    shop = shop_of(request)
    tree = frame.book.tree
    came_back = returned(shop, frame.number)
    if tree is None:
        return BuildView(
            problem=Problem("this box has no list of its parts", frame.ledger.box, NO_TREE),
            returned=came_back,
        )
    told = building(shop, frame.number)
    built = build(tree, frame.book.entries)
    lines = gate_lines(built)
    current = next((step.part for step in told.steps if not step.done), "")
    steps = tuple(_step(frame, step, lines, step.part == current) for step in told.steps)
    return BuildView(
        build=told,
        steps=steps,
        final=tuple(ShownGate(one, lines.get(one.slug)) for one in told.final),
        back=sum(step.step.done for step in steps),
        due=_due(built),
        returned=came_back,
    )


def _due(built: Build) -> str:
    """The gate of the step to be done now, or once all are done the next before the hand-over."""
    step = built.next
    gates = built.final if step is None else step.gates if step.back else ()
    return next((state.gate.slug for state in gates if not state.done), "")


def _step(frame: Frame, step: BuildStepAnswer, lines: dict[str, LimitLine], now: bool) -> ShownBuildStep:
    tree = frame.book.need_tree()
    flange = frame.flange(step.flange) if step.flange else None
    sequence = tree.flanges[step.flange].sequence if step.flange else ()
    drawn = None
    if flange is not None and step.torque_left and sequence and not step.waits_for:
        drawn = drawing_of(flange, link="", sequence=sequence)
    return ShownBuildStep(
        step=step,
        gates=tuple(ShownGate(one, lines.get(one.slug)) for one in step.gates),
        part=frame.part(step.part),
        flange=flange,
        taps=None if flange is None else Taps.of(flange.holes),
        drawing=drawn,
        round=step.torque_left[0] if step.torque_left else 0,
        sequence="-".join(str(number) for number in sequence),
        now=now,
    )


def gate_lines(built: Build) -> dict[str, LimitLine]:
    """The limit line of every gate that has a window and a figure, by its slug."""
    lines = {}
    for state in built.gates:
        gate, window = state.gate, state.gate.window
        if window is None or state.value is None:
            continue
        low, high = (_end(value, gate.unit) for value in (window.low, window.high))
        lines[gate.slug] = LimitLine(
            value=float(from_si(state.value, gate.unit)),
            half_width=0.0,
            low=low,
            high=high,
            low_text=_said(low, gate.unit),
            high_text=_said(high, gate.unit),
            text=f"{gate.name}: {state.text}, window {window.text}, "
            + ("inside" if state.passed == "passed" else "outside"),
        )
    return lines


def _end(value: float, unit_name: str) -> float:
    return float(from_si(value, unit_name)) if math.isfinite(value) else value


def _said(value: float, unit_name: str) -> str:
    return figure(float(to_si(value, unit_name)), unit(unit_name)) if math.isfinite(value) else ""


def build_page(request: Request, number: int, filled: Filled | None = None, status: int = 200) -> Response:
    """The page of the build."""
    frame = frame_of(request, number, f"/job/{number}/build")
    return work_page(
        request, "work_build.html", frame, filled=filled, status=status, v=build_view(request, frame)
    )
