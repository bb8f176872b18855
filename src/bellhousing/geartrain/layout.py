"""The layout of a gear train as plain data: members, planetary sets and holding elements."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from bellhousing.errors import GearTrainError

CASE = "case"
"""Name of the stationary case; it may stand wherever a member may."""


@dataclass(frozen=True)
class Willis:
    """A planetary set, or a fixed-axis pair, known by its train value.

    Formula: ``w_last − w_carrier = train_value · (w_first − w_carrier)``. A stepped or compound planet
    row is described by its train value (the product of driving teeth over driven teeth, negative when
    first and last turn opposite ways with the carrier held). A pair of gears on fixed axes has
    ``carrier="case"``.

    Source: R. Willis, *Principles of Mechanism*, the epicyclic relation (from memory).
    """

    name: str
    first: str
    last: str
    carrier: str
    train_value: float

    def __post_init__(self) -> None:
        if self.train_value == 0.0:
            raise GearTrainError("a train value of zero joins nothing", where=self.name)
        _refuse_equal(self.name, (self.first, self.last, self.carrier))

    @property
    def coefficients(self) -> tuple[tuple[str, float], ...]:
        """Member and coefficient of the speed equation; the coefficients sum to zero [-]."""
        value = self.train_value
        scale = max(1.0, abs(value))
        return (
            (self.first, value / scale),
            (self.last, -1.0 / scale),
            (self.carrier, (1.0 - value) / scale),
        )


@dataclass(frozen=True)
class PlanetarySet:
    """A simple planetary set with single or double pinions.

    Formula: ``Zs·ws + Zr·wr − (Zs + Zr)·wc = 0`` for single pinions and
    ``Zs·ws − Zr·wr − (Zs − Zr)·wc = 0`` for double pinions; teeth [-], speeds [rad/s].

    Source: Willis's relation; R. S. Khurmi and J. K. Gupta, *Theory of Machines*, ch. 13.
    """

    name: str
    sun: str
    ring: str
    carrier: str
    sun_teeth: int
    ring_teeth: int
    double_pinion: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.sun_teeth < self.ring_teeth:
            raise GearTrainError(
                f"{self.sun_teeth} sun teeth do not fit {self.ring_teeth} ring teeth",
                where=self.name,
                remedy="the ring must have more teeth than the sun, and both more than none",
            )
        _refuse_equal(self.name, (self.sun, self.ring, self.carrier))

    @property
    def train_value(self) -> float:
        """Ring speed over sun speed with the carrier held, ``∓Zs/Zr`` [-]."""
        ratio = self.sun_teeth / self.ring_teeth
        return ratio if self.double_pinion else -ratio

    @property
    def coefficients(self) -> tuple[tuple[str, float], ...]:
        """Member and coefficient of the speed equation; the coefficients sum to zero [-]."""
        return Willis(self.name, self.sun, self.ring, self.carrier, self.train_value).coefficients


@dataclass(frozen=True)
class Clutch:
    """A clutch: when applied it makes members `a` and `b` turn together."""

    name: str
    a: str
    b: str

    @property
    def ends(self) -> tuple[str, str]:
        """The two nodes it joins; its torque is counted as acting on the first."""
        return (self.a, self.b)


@dataclass(frozen=True)
class Brake:
    """A band or brake clutch: when applied it holds `member` to the case."""

    name: str
    member: str

    @property
    def ends(self) -> tuple[str, str]:
        """The two nodes it joins; its torque is counted as acting on the first."""
        return (self.member, CASE)


@dataclass(frozen=True)
class OneWayClutch:
    """A one-way clutch between `member` and `to` (another member or the case).

    `holds` is the sign of the relative speed member − to that it blocks: −1 keeps the member from
    turning backwards. It needs no applying: it holds or over-runs by itself.
    """

    name: str
    member: str
    to: str
    holds: int

    def __post_init__(self) -> None:
        if self.holds not in (-1, 1):
            raise GearTrainError("a one-way clutch holds one way", where=self.name, remedy="-1 or +1")

    @property
    def ends(self) -> tuple[str, str]:
        """The two nodes it joins; its torque is counted as acting on the first."""
        return (self.member, self.to)


GearSet: TypeAlias = PlanetarySet | Willis
Element: TypeAlias = Clutch | Brake | OneWayClutch


@dataclass(frozen=True)
class GearTrain:
    """A gear train: what turns (`members`), how it meshes (`sets`) and what may hold it (`elements`).

    Raises
    ------
    GearTrainError : a name is used twice, or a set or element names a member that does not exist
    """

    input: str
    output: str
    members: tuple[str, ...]
    sets: tuple[GearSet, ...]
    elements: tuple[Element, ...]

    def __post_init__(self) -> None:
        for field in ("members", "sets", "elements"):
            object.__setattr__(self, field, tuple(getattr(self, field)))
        names = [*self.members, *(s.name for s in self.sets), *(e.name for e in self.elements)]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise GearTrainError(f"these names are used twice: {', '.join(twice)}")
        if CASE in names:
            raise GearTrainError(f"{CASE!r} is the stationary case and cannot be given as a member")
        if self.input == self.output:
            raise GearTrainError("input and output are the same member", where=self.input)
        self._refuse_unknown("gear train", (self.input, self.output), case=False)
        for gear_set in self.sets:
            self._refuse_unknown(gear_set.name, [member for member, _ in gear_set.coefficients])
        for element in self.elements:
            self._refuse_unknown(element.name, element.ends)
            _refuse_equal(element.name, element.ends)

    def _refuse_unknown(self, where: str, used: Sequence[str], *, case: bool = True) -> None:
        for name in used:
            if name not in self.members and not (case and name == CASE):
                raise GearTrainError(
                    f"no member {name!r}", where=where, remedy=f"one of {', '.join(self.members)}"
                )

    def element(self, name: str) -> Element:
        """Return the element called `name`.

        Raises
        ------
        GearTrainError : there is no such element
        """
        for element in self.elements:
            if element.name == name:
                return element
        known = ", ".join(e.name for e in self.elements)
        raise GearTrainError(f"no element {name!r} in this gear train", remedy=f"one of {known}")


def _refuse_equal(where: str, names: Sequence[str]) -> None:
    if len(set(names)) < len(names):
        raise GearTrainError(f"{', '.join(names)} must all be different", where=where)
