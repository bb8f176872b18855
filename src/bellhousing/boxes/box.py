"""A gearbox as the rest of the program asks about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from bellhousing.boxes.assemblies import Assembly, BenchWindow
from bellhousing.boxes.given import Given, Origin
from bellhousing.boxes.joint import Joint
from bellhousing.boxes.kinds import CHART, kind_of
from bellhousing.boxes.leak_sites import Landmark, LeakSite
from bellhousing.boxes.parts_tree import PartsTree
from bellhousing.boxes.readings import Table
from bellhousing.boxes.schema import sections, specs
from bellhousing.boxes.train import has_teeth as train_has_teeth
from bellhousing.errors import BoxFileError
from bellhousing.fits.parts import Part
from bellhousing.quantities.measured import Interval


@dataclass(frozen=True, eq=False)
class Box:
    """A gearbox: its own figures, and its family's where it has none.

    Parameters
    ----------
    name : name to show
    slug : short name
    family : slug of the family that stands in, None for a family itself
    source, note : what the file says about itself
    digest : SHA-256 of the file, and of its family's where that stands in
    figures : every known figure by dotted key, the family's included
    windows : figures typed from the manual, by finding
    missing_parts : parts this box does not have
    gear_train : input, output, members, sets, elements and ranges as plain data, None if nobody has them
    gear_train_origin : whose gear train that is
    is_family : whether the file describes a kind of box and not one box
    leak_sites, landmarks : where it can leak, and what one measures from; the family's if it has none
    table : rows of printed tables the file gives, None if it gives none
    joint : figures fitted to the table, uncertain together; None until they are fitted
    assemblies, selective_parts : clearances and the stacks that make them, parts to set them with
    measurements : what is measured at the bench and its window, the family's where the box gives none
    parts_tree : what holds what and how it comes apart, None if the file does not say
    """

    name: str
    slug: str
    family: str | None
    source: str
    note: str
    digest: str
    figures: Mapping[str, Given]
    windows: Mapping[str, Interval]
    missing_parts: frozenset[str]
    gear_train: Mapping[str, Any] | None
    gear_train_origin: Origin | None
    is_family: bool
    leak_sites: tuple[LeakSite, ...] = ()
    landmarks: tuple[Landmark, ...] = ()
    table: Table | None = None
    joint: Joint | None = None
    assemblies: tuple[Assembly, ...] = ()
    selective_parts: Mapping[str, Part] = field(default_factory=dict)
    measurements: Mapping[str, BenchWindow] = field(default_factory=dict)
    parts_tree: PartsTree | None = None

    def number(self, key: str) -> Given:
        """Return the figure at a dotted key such as `governor.primary_mass`; its value is never None.

        Raises
        ------
        BoxFileError : no such figure, a part this box lacks, or known neither to the box nor to its family
        """
        given = self.figures.get(key)
        if given is not None:
            return given
        known = specs()
        if key not in known:
            close = get_close_matches(key, known, n=3, cutoff=0.5)
            remedy = f"did you mean {' or '.join(close)}?" if close else None
            raise BoxFileError(f"a box file has no figure `{key}`", where=self.slug, remedy=remedy)
        part = part_of(key)
        if part in self.missing_parts:
            raise BoxFileError(f"{self.name} has no {part.replace('-', ' ')}", where=key)
        raise BoxFileError(
            f"not known of {self.name}: {known[key].says}", where=key, remedy="type it into the box file"
        )

    def has(self, key: str) -> bool:
        """Return whether `number(key)` would answer."""
        return key in self.figures

    @property
    def kind(self) -> str:
        """The family whose figures and physics are this box's."""
        return kind_of(self.family, self.slug, self.figures)

    @property
    def unknown(self) -> tuple[str, ...]:
        """Keys the file itself leaves unknown, whether or not the family stands in (parts it lacks apart).

        A family describes no unit, so every figure of a unit known only by its family is unknown.
        """
        return tuple(
            key for key in self._asked() if key not in self.figures or self.figures[key].origin == "family"
        )

    @property
    def number_count(self) -> int:
        """Count of figures the file could give: without parts it lacks, and ratios if teeth are known."""
        return len(self._asked())

    @property
    def has_teeth(self) -> bool:
        """Whether the tooth counts of its own gear train, or of its family's, are known."""
        return self.gear_train is not None and train_has_teeth(self.gear_train)

    def _asked(self) -> tuple[str, ...]:
        counted = self.gear_train_origin == "box" and self.has_teeth
        return tuple(
            key
            for key in specs(self.kind)
            if part_of(key) not in self.missing_parts and not (counted and key.startswith("ratios."))
        )

    def what_it_cannot_do(self) -> tuple[str, ...]:
        """Return, in sentences, what is lost by what this file leaves unknown."""
        return (*self._train_limits(), *self._figure_limits(), *self._other_limits())

    def _train_limits(self) -> tuple[str, ...]:
        typed = any(
            key.startswith("ratios.") and given.origin == "box" for key, given in self.figures.items()
        )
        if self.gear_train_origin == "box":
            if self.has_teeth:
                return self._chart_limits()
            lost = "ratios typed, no member speeds" if typed else "no ratios and no member speeds"
            return (f"No tooth counts: {lost}.",)
        if typed:
            return (
                "No tooth counts: ratios typed, no member speeds; the apply chart and the ratios reckoned "
                "with are the family's.",
            )
        if self.gear_train is None:
            return ("No gear train: no ratios, no member speeds, no apply chart.",)
        return ("No tooth counts: ratios, member speeds and apply chart are the family's typical ones.",)

    def _chart_limits(self) -> tuple[str, ...]:
        assert self.gear_train is not None
        ranges = self.gear_train["ranges"]
        lost = [
            f"{gear} of {lever}" for lever, gear in CHART[self.kind] if not ranges.get(lever, {}).get(gear)
        ]
        if not lost:
            return ()
        said = ", ".join(lost)
        return (f"The chart of applied elements has no gear {said}: shifts, margins and causes are refused.",)

    def _figure_limits(self) -> tuple[str, ...]:
        if self.is_family:
            return ("Only the kind of box is known: every figure is typical, every window wide.",)
        blank = set(self.unknown)
        sentences: list[str] = []
        known = specs(self.kind)
        for name, model in sections(self.kind).items():
            keys = [key for key in known if key.rpartition(".")[0] == name]
            lost = [key for key in keys if key in blank]
            if not lost or name == "ratios":
                continue
            title = part_in_words(name)
            if len(lost) == len(keys):
                sentences.append(f"No figures for {title}: {model.without}.")
            else:
                some = ", ".join(key.rpartition(".")[2].replace("_", " ") for key in lost)
                sentences.append(f"Not all of {title} is known ({some}): {model.without}.")
        return tuple(sentences)

    def _other_limits(self) -> tuple[str, ...]:
        sentences: list[str] = []
        nobody = [key for key in self.unknown if key not in self.figures and not key.startswith("ratios.")]
        if nobody:
            sentences.append(
                f"Known to neither file nor family: {', '.join(nobody)}; what needs them is refused."
            )
        if not self.windows:
            sentences.append("No limits typed from a manual: the windows shown are predicted ones.")
        if self.parts_tree is None:
            sentences.append("No parts tree: no strip plan, no flange to tick off, no gates of the build.")
        return tuple(sentences)


_CHANGES = {"first_second": "1-2", "second_third": "2-3", "third_fourth": "3-4"}


def part_in_words(name: str) -> str:
    """Return a part, section or element as it is said: `low_one_way_clutch` -> low one-way clutch.

    What belongs to a shift is named by its gears: `shift_valves.first_second` -> 1-2 shift valve.
    """
    for change, gears in _CHANGES.items():
        if name.endswith(change):
            return f"{gears} {part_in_words(name.removesuffix(change)[:-1]).removesuffix('s')}"
    return name.replace(".", " ").replace("_", " ").replace("-", " ").replace("one way", "one-way")


def part_of(key: str) -> str:
    """Return the part a figure belongs to, as in `lacks`: `overrun_band.wrap` -> `overrun-band`."""
    return key.partition(".")[0].replace("_", "-")
