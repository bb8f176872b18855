"""The shapes of the evening view: tables to interpolate in, a drive to play, a case to guess."""

from __future__ import annotations

from bellhousing.tasks.answers import Shape

Row = tuple[float, ...]
Speeds = tuple[float | None, ...]
Plane = tuple[Row, ...]
Block = tuple[Plane, ...]


class EveningBox(Shape):
    """A box that can be shown: its own name and that of its kind."""

    slug: str
    name: str
    kind: str


class EveningNotShown(Shape):
    """A box of the shop that cannot be shown, and why."""

    name: str
    why: str


class EveningBreak(Shape):
    """Something to break: where the picture shows it, how, and what it does in a sentence of the trade."""

    id: str
    says: str
    fault: str
    name: str
    mechanism: str
    at: str
    mark: str


class EveningFloor(Shape):
    """A shift valve with the pedal on its stop; pressures in psi, speeds in the unit of the answer."""

    up_needs: float
    down_needs: float
    up: float | None
    down: float | None


class EveningValve(Shape):
    """A shift valve over travel; null = never. `map_up` is when the gear itself comes, after the gear below.

    `stuck` is -1 down, 0 free, +1 up; pressures in psi, speeds in the unit of the answer.
    """

    shift: str
    pushed_by: tuple[str, ...]
    up_needs: Row
    down_needs: Row
    up: Speeds
    down: Speeds
    map_up: Speeds
    floor: EveningFloor
    stuck: int


class EveningNode(Shape):
    """A member on a set's lever; `place` runs from 0 at the sun to 1 at the ring."""

    member: str
    role: str
    place: float


class EveningSet(Shape):
    """One planetary set as a lever."""

    name: str
    nodes: tuple[EveningNode, ...]


class EveningGear(Shape):
    """A gear: speed of every member per turn of the output, members that turn freely, what holds."""

    gear: int
    ratio: float
    speeds: dict[str, float]
    free: tuple[str, ...]
    holding: tuple[str, ...]
    still: tuple[str, ...]


class EveningAnswer(Shape):
    """One car's valve body over pedal travel [-] and road speed [`unit`]; pressures in psi.

    `line`, `spilled` and each of `governor` go by gear, travel, speed; `signal` by travel, speed.
    `weights` tell how far the governor's weights have swung out, `opened` how far the throttle signal's valve
    is open, both from 0 to 1; `vacuum` and `felt` [inHg] are empty on a box without a modulator.
    `turns` is output-shaft rpm per unit of road speed.
    """

    box: EveningBox
    unit: str
    broken: tuple[str, ...]
    severity: float
    travel: Row
    speed: Row
    line: Block
    spilled: Block
    signal: Plane
    opened: Plane
    governor: dict[str, Block]
    weights: dict[str, Row]
    vacuum: Row
    felt: Row
    engine: Block
    valves: tuple[EveningValve, ...]
    turns: float
    gears: tuple[EveningGear, ...]
    sets: tuple[EveningSet, ...]
    input: str
    output: str


class EveningDriveName(Shape):
    """A drive that can be played."""

    id: str
    says: str


class EveningDrive(Shape):
    """A drive to play over the picture: seconds, pedal travel and road speed [`unit`]."""

    says: str
    unit: str
    time: Row
    travel: Row
    speed: Row


class EveningOption(Shape):
    """Something to vote for: a fault of the catalogue in plain words."""

    fault: str
    says: str


class EveningRanked(Shape):
    """A cause with the program's own chance for it."""

    fault: str
    name: str
    chance: float


class EveningStep(Shape):
    """One piece of evidence: what is told, what was understood of it, and what the program then thinks."""

    tell: str
    said: str
    understood: str
    options: tuple[float, ...]
    leading: tuple[EveningRanked, ...]


class EveningTitle(Shape):
    """A case by its name, before anything is told of it."""

    id: str
    title: str
    kind: str


class EveningCase(Shape):
    """An invented case told step by step; `truth` are the faults of the car."""

    id: str
    title: str
    kind: str
    box: str
    opening: str
    options: tuple[EveningOption, ...]
    steps: tuple[EveningStep, ...]
    truth: tuple[str, ...]
    reveal: str
