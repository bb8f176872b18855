"""What holds what: parts of a box, how each comes off and goes back, flanges with their bolts; all in SI."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from bellhousing.quantities.measured import Interval

SealKind = Literal[
    "gasket", "o-ring", "lip", "square-ring", "sealing-ring", "sealing-washer", "filter", "lock-tab", "lining"
]
Place = Literal["in-car", "box-out", "bench"]
Hardness = Literal["soft", "hard"]
GateKind = Literal["number", "check"]


@dataclass(frozen=True)
class Seal:
    """A seal, or whatever else is counted and thrown away, at a part.

    Parameters
    ----------
    slug, name : short name, name to show
    kind : what sort of seal it is
    one_use : whether a new one must go in
    count : how many of them there are
    """

    slug: str
    name: str
    kind: SealKind
    one_use: bool = True
    count: int = 1


@dataclass(frozen=True)
class Hole:
    """One bolt hole of a flange.

    Parameters
    ----------
    number : its number, clockwise from the top
    at : place on the drawing, from the left and from the top, 0 to 1
    length : length of its bolt under the head [m], None if it is not known
    shared_with : name of a bracket held by the same bolt, None if there is none
    shared_part : slug of the part that bracket is, so that its bolt is out once that is off
    hidden : where its bolt hides, in words, None if it is plain to see
    behind : slug of the part that hides it, already counted among what must be off first
    washer : its sealing washer, None if it has none
    sealant : what goes on its thread, None if it goes in dry
    note : what else is to be known of it
    """

    number: int
    at: tuple[float, float]
    length: float | None = None
    shared_with: str | None = None
    hidden: str | None = None
    washer: str | None = None
    sealant: str | None = None
    note: str = ""
    shared_part: str | None = None
    behind: str | None = None


@dataclass(frozen=True)
class JackHoles:
    """Threaded holes that take puller bolts, which must come out again.

    Parameters
    ----------
    count : how many there are
    thread : their thread, None if it is not known
    note : how they are used
    """

    count: int
    thread: str | None = None
    note: str = ""


@dataclass(frozen=True)
class Flange:
    """A group of fasteners that is undone and counted as one.

    Parameters
    ----------
    slug, name : short name, name to show
    thread : thread of its bolts, None if it is not known
    holes : its bolt holes, in the order of their numbers
    washers_one_use : whether its sealing washers must be new
    torque : torque of its bolts [N m], None if it is not known
    torque_unit : unit the torque was written in
    torque_source : who says so
    sequence : numbers of the holes in the order they are tightened, empty if it is not known
    steps : in how many steps the torque is reached
    jack_holes : holes for puller bolts, None if it has none
    outline : corners of its outline on the drawing, 0 to 1, from the left and from the top
    seen_from : the side the drawing is seen from
    fastener : what its fasteners are, such as bolt, nut or screw
    note : what else is to be known of it
    """

    slug: str
    name: str
    thread: str | None
    holes: tuple[Hole, ...]
    washers_one_use: bool = False
    torque: float | None = None
    torque_unit: str = "lb ft"
    torque_source: str = ""
    sequence: tuple[int, ...] = ()
    steps: int = 1
    jack_holes: JackHoles | None = None
    outline: tuple[tuple[float, float], ...] = ()
    seen_from: str = ""
    fastener: str = "bolt"
    note: str = ""

    @property
    def washers(self) -> tuple[Hole, ...]:
        """The holes whose bolts have a sealing washer."""
        return tuple(hole for hole in self.holes if hole.washer is not None)


@dataclass(frozen=True)
class CheckBall:
    """A check ball and the pocket it lies in.

    Parameters
    ----------
    pocket : number of its pocket
    name : what the pocket does, or where it is
    size : diameter [m], None if it is not known
    material : what it is made of
    """

    pocket: int
    name: str
    size: float | None = None
    material: str = "steel"


@dataclass(frozen=True)
class Spring:
    """A loose spring.

    Parameters
    ----------
    name : what it is called
    goes_to : where it belongs
    colour : paint it is known by, None if it has none
    length : free length [m], None if it is not known
    """

    name: str
    goes_to: str
    colour: str | None = None
    length: float | None = None


@dataclass(frozen=True)
class Baseline:
    """What must be measured before a part is undone, because it cannot be measured afterwards.

    Parameters
    ----------
    measure : slug of what is measured at the bench, or of a finding
    why : what is lost otherwise
    """

    measure: str
    why: str


@dataclass(frozen=True)
class Gate:
    """What must be passed before the build goes on.

    Parameters
    ----------
    slug, name : short name, name to show
    kind : whether it wants a number, or somebody's word that it was checked
    measure : slug of what is measured at the bench, None if it has no such name
    unit : unit of its number
    window : what passes [SI], None if only the box's own figure or a look decides
    method : how it is done
    hold : whether work stops here until somebody has signed
    why : what goes wrong otherwise
    cautions : catalogue slugs of what to beware of
    """

    slug: str
    name: str
    kind: GateKind
    measure: str | None = None
    unit: str = ""
    window: Interval | None = None
    method: str = ""
    hold: bool = False
    why: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Refit:
    """How a part goes back.

    Parameters
    ----------
    lubricant : what it is greased, oiled or held with, None if with nothing
    note : what to mind, in sentences
    lip : which way its lip looks, None if it has none
    soaked : time its plates or linings soak [s], None if they need not
    minutes : time it takes
    gates : what must be passed when it is in
    """

    lubricant: str | None = None
    note: tuple[str, ...] = ()
    lip: str | None = None
    soaked: float | None = None
    minutes: float = 0.0
    gates: tuple[Gate, ...] = ()


@dataclass(frozen=True)
class Part:
    """One part, or one group of parts that comes off together.

    Parameters
    ----------
    slug, name : short name, name to show
    words : what else it is called
    inside : the part it is a piece of or lives in, None if it stands alone
    after : what must be off first: one part of every group
    flange : the fasteners that hold it, None if it has none
    seals, check_balls, springs : what is loose or thrown away at it
    minutes : time to take it off once what must be off first is off
    tools : what it takes
    weight : [kg], None if it is not known
    marks : how it must go back, to be marked or photographed before it moves
    cautions : catalogue slugs of what to beware of
    measure_before : what must be measured before it is undone
    may_be_found : what may be found there, in sentences
    faults : catalogue slugs of the faults it is the seat of
    where : whether it comes off in the car, once the box is out, or once the box is opened on the bench
    refit : how it goes back
    hardness : soft parts are replaced by habit, hard parts for a reason
    order_name : what it is called on an order, empty if as shown
    note : what else is to be known of it
    """

    slug: str
    name: str
    words: tuple[str, ...] = ()
    inside: str | None = None
    after: tuple[tuple[str, ...], ...] = ()
    flange: str | None = None
    seals: tuple[Seal, ...] = ()
    check_balls: tuple[CheckBall, ...] = ()
    springs: tuple[Spring, ...] = ()
    minutes: float = 0.0
    tools: tuple[str, ...] = ()
    weight: float | None = None
    marks: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    measure_before: tuple[Baseline, ...] = ()
    may_be_found: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    where: Place = "bench"
    refit: Refit = field(default_factory=Refit)
    hardness: Hardness = "hard"
    order_name: str = ""
    note: str = ""


@dataclass(frozen=True)
class PartsTree:
    """Everything a box comes apart into.

    Parameters
    ----------
    parts : by slug, in the order of the file
    flanges : by slug, in the order of the file
    identification : the numbers a supplier asks for
    final_gates : what must be passed before the car is handed over
    source : who says so
    """

    parts: Mapping[str, Part]
    flanges: Mapping[str, Flange]
    identification: tuple[str, ...] = ()
    final_gates: tuple[Gate, ...] = ()
    source: str = ""

    def held_by(self, flange: str) -> tuple[Part, ...]:
        """Return the parts that a flange holds."""
        return tuple(part for part in self.parts.values() if part.flange == flange)

    def seats_of(self, fault: str) -> tuple[Part, ...]:
        """Return the parts that are the seat of a fault of the catalogue."""
        return tuple(part for part in self.parts.values() if fault in part.faults)

    def gates(self) -> Iterator[tuple[Part | None, Gate]]:
        """Yield every gate with its part, the final ones with None."""
        for part in self.parts.values():
            for gate in part.refit.gates:
                yield part, gate
        for gate in self.final_gates:
            yield None, gate
