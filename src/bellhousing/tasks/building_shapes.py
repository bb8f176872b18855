"""The shapes of the build: what goes back in which order, and the gates it passes."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape


class GateAnswer(Shape):
    """One gate: `state` is open, passed, failed, or passed over, which has a written `reason`."""

    slug: str
    name: str
    kind: str
    unit: str
    window: str
    method: str
    why: str
    hold: bool
    state: str
    said: str
    reason: str
    who: str
    at: str
    cautions: tuple[str, ...]
    text: str


class BuildStepAnswer(Shape):
    """One part going back: `todo` says what to mind, `torque` how its fasteners are tightened."""

    part: str
    name: str
    back: bool
    done: bool
    on_at: str
    on_by: str
    minutes: float
    todo: tuple[str, ...]
    flange: str
    torque: str
    torque_steps: int
    torque_left: tuple[int, ...]
    gates: tuple[GateAnswer, ...]
    waits_for: tuple[str, ...]
    cautions: tuple[str, ...]


class BuildAnswer(Shape):
    """The build of one job: what `build --json` gives.

    `next` is the one thing to do now; `final` are the gates before the hand-over, `binding` once the box was
    out of the car.
    """

    job: int
    car: str
    box: str
    steps: tuple[BuildStepAnswer, ...]
    final: tuple[GateAnswer, ...]
    binding: bool
    minutes_left: float
    next: str
    said: str = ""


class ReturnedAnswer(Shape):
    """A car that came back after work: which job, how long ago, what was touched, what may come of it."""

    job: int
    earlier: int
    days: int
    touched: tuple[str, ...]
    faults: tuple[str, ...]
    say: str
    text: str
