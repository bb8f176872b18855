"""What single figures cannot show: figures of one box file that contradict each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches

from bellhousing.boxes.assemblies import bench_problems
from bellhousing.boxes.box import part_of
from bellhousing.boxes.figures import Figure
from bellhousing.boxes.gears import chart_problems
from bellhousing.boxes.kinds import FAMILIES, has_figure, kind_of
from bellhousing.boxes.leak_sites import leak_problems
from bellhousing.boxes.reading_checks import table_problems
from bellhousing.boxes.readings import table_of
from bellhousing.boxes.schema import BoxFile, sections
from bellhousing.boxes.strip_checks import strip_problems
from bellhousing.boxes.train import has_teeth, name_problems, parts_not_in, train_data, train_problems
from bellhousing.boxes.tree import Path

_RADII = "the inner radius is the smaller"
# (smaller, greater, what is wrong otherwise)
_ORDERED = (
    ("fluid.viscosity_100", "fluid.viscosity_40", "fluid is thinner at 100 °C than at 40 °C"),
    ("regulator.spring_pressure", "regulator.highest", "the line cannot be limited below its lowest"),
    ("governor.secondary_mass", "governor.primary_mass", "the primary weights are the heavy ones"),
    ("shift_valves.first_second.downshift_offset", "shift_valves.first_second.offset",
     "a valve drops back at a lower governor pressure than it goes up"),
    ("shift_valves.second_third.downshift_offset", "shift_valves.second_third.offset",
     "a valve drops back at a lower governor pressure than it goes up"),
    ("shift_valves.third_fourth.downshift_offset", "shift_valves.third_fourth.offset",
     "a valve drops back at a lower governor pressure than it goes up"),
    ("shift_valves.first_second.offset", "shift_valves.second_third.offset", "1-2 comes before 2-3"),
    ("shift_valves.second_third.offset", "shift_valves.third_fourth.offset", "2-3 comes before 3-4"),
    ("throttle_valve.closed_pressure", "throttle_valve.half_pressure", "more throttle gives more pressure"),
    ("throttle_valve.half_pressure", "throttle_valve.full_pressure", "more throttle gives more pressure"),
    ("forward_clutch.inner_radius", "forward_clutch.outer_radius", _RADII),
    ("direct_clutch.inner_radius", "direct_clutch.outer_radius", _RADII),
    ("intermediate_clutch.inner_radius", "intermediate_clutch.outer_radius", _RADII),
    ("front_clutch.inner_radius", "front_clutch.outer_radius", _RADII),
    ("rear_clutch.inner_radius", "rear_clutch.outer_radius", _RADII),
    ("ratios.second", "ratios.first", "first is the lowest gear"),
    ("ratios.third", "ratios.second", "second is a lower gear than third"),
    ("ratios.fourth", "ratios.third", "third is a lower gear than fourth"),
)  # fmt: skip

Problem = tuple[Path, str]


def cross_problems(file: BoxFile, figures: Mapping[str, Figure]) -> Iterator[Problem]:
    """Yield each contradiction with the path it concerns."""
    for small, great, why in _ORDERED:
        low, high = _value(figures, small), _value(figures, great)
        if low is not None and high is not None and not low < high:
            said = f"must be greater than {small} ({figures[small].text}): {why}"
            yield tuple(great.split(".")), said
    yield from _lacks_problems(file, figures)
    yield from _foreign_figures(file, figures)
    yield from leak_problems(file.leak_sites, file.landmarks)
    yield from bench_problems(file.assemblies, file.selective_parts, file.measurements)
    yield from strip_problems(file.strip, file.measurements or ())
    if file.readings is not None:
        kind = _kind(file, figures)
        table, rows = table_of(file.readings, kind=kind)
        for path, said in (*rows, *table_problems(table)):
            yield ("readings", *path), said
    if file.gear_train is not None:
        found = train_problems(file.gear_train)
        plain = train_data(file.gear_train)
        if not found:
            found = name_problems(file.gear_train, _kind(file, figures))
        if not found and has_teeth(plain):
            found = chart_problems(plain)
        for path, said in found:
            yield ("gear_train", *path), said
        if has_teeth(plain) and any(
            key.startswith("ratios.") and _value(figures, key) is not None for key in figures
        ):
            yield ("ratios",), "ratios follow from the tooth counts: leave them out"


def _foreign_figures(file: BoxFile, figures: Mapping[str, Figure]) -> Iterator[Problem]:
    """Known figures that boxes of the file's kind do not have."""
    kind = _kind(file, figures)
    for key in figures:
        if _value(figures, key) is not None and not has_figure(kind, key):
            yield tuple(key.split(".")), f"a box of the kind {kind} has no such figure"


def _kind(file: BoxFile, figures: Mapping[str, Figure]) -> str:
    return kind_of(file.family, file.slug, [key for key in figures if _value(figures, key) is not None])


def _value(figures: Mapping[str, Figure], key: str) -> float | None:
    figure = figures.get(key)
    return None if figure is None else figure.value


def _lacks_problems(file: BoxFile, figures: Mapping[str, Figure]) -> Iterator[Problem]:
    parts = {name.partition(".")[0].replace("_", "-") for name in sections()}
    for place, part in enumerate(file.lacks or ()):
        if part not in parts:
            close = get_close_matches(part, parts, n=1, cutoff=0.85)
            if close:
                yield ("lacks", place), f"unknown part: did you mean `{close[0]}`?"
    for key, figure in figures.items():
        if figure.value is not None and part_of(key) in (file.lacks or ()):
            yield tuple(key.split(".")), f"`lacks` says that this box has no {part_of(key)}"
    yield from _not_in_the_train(file, figures)


def _not_in_the_train(file: BoxFile, figures: Mapping[str, Figure]) -> Iterator[Problem]:
    """Figures of a clutch or band that the file's own gear train does not have."""
    if file.slug in FAMILIES:
        return
    absent = frozenset({"second-band"})  # the family's own gear train has none
    if file.gear_train is not None:
        absent = parts_not_in(train_data(file.gear_train), _kind(file, figures))
    for key, figure in figures.items():
        part = part_of(key)
        if figure.value is not None and part in absent and part not in (file.lacks or ()):
            said = f"`{part}` is not among the elements of the gear train, so no gear uses these figures"
            yield tuple(key.split(".")), said
