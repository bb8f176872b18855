"""The boxes a shop can use: those that come with the program, and its own files; typing in a new one."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from bellhousing.boxes.box import Box, part_in_words, part_of
from bellhousing.boxes.gears import apply_chart, gear_ratios
from bellhousing.boxes.kinds import FAMILIES
from bellhousing.boxes.load import box_from_bytes, is_shipped, load_box, shipped_boxes, shipped_text
from bellhousing.boxes.read import MOST_PROBLEMS
from bellhousing.boxes.schema import sections, specs
from bellhousing.errors import BellhousingError, BoxFileError
from bellhousing.hydraulics.fluid import THINNEST, viscosity_index
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.changing_settings import ROOM_OR_RIGHT, write_change
from bellhousing.tasks.new_file import write_new
from bellhousing.tasks.shop import BOXES, OWN_BOX, Shop

BLANKS = ("blank", "blank-four-speed")
AT_LINE = re.compile(r"line (\d+): (.*)", re.DOTALL)


class BoxSummary(Shape):
    """A box on the list; `problem` says why a file of the shop's cannot be used."""

    slug: str
    name: str
    own: bool
    kind: str = ""
    given: int = 0
    asked: int = 0
    problem: str | None = None


class FigureAnswer(Shape):
    """A figure of a box as typed, and whether it is the box's own or stands in from its family."""

    key: str
    name: str
    text: str
    source: str
    own: bool


class PartAnswer(Shape):
    """A part of a box: how many of its figures the file gives, and what is lost without the rest."""

    name: str
    given: int
    asked: int
    without: str


class BoxAnswer(BoxSummary):
    """A box with what it gives and what it cannot yet work out, in sentences.

    `gears` follow from the teeth: its own, or where `own_teeth` is false the usual ones of its kind.
    `fluid_index` is the viscosity index of its fluid, null where the file does not give both viscosities.
    """

    source: str = ""
    note: str = ""
    parts: tuple[PartAnswer, ...] = ()
    gears: tuple[tuple[str, float], ...] = ()
    applied: tuple[tuple[str, tuple[str, ...]], ...] = ()
    own_teeth: bool = True
    fluid_index: int | None = None
    cannot: tuple[str, ...] = ()
    figures: tuple[FigureAnswer, ...] = ()
    windows: tuple[tuple[str, str], ...] = ()


class FaultAnswer(Shape):
    """One fault of a box file that is being typed: its line, null where it is of the whole file."""

    line: int | None
    text: str


class BoxCheckAnswer(Shape):
    """What a typed box file comes to: its faults, or the box it makes and what that cannot yet work out."""

    faults: tuple[FaultAnswer, ...] = ()
    box: BoxAnswer | None = None


def box_names(shop: Shop) -> tuple[str, ...]:
    """Short names of every box that can be named, the shop's own first."""
    return (*own_boxes(shop), *_shipped())


def own_boxes(shop: Shop) -> tuple[str, ...]:
    """Short names of the boxes the shop has files of."""
    return tuple(path.stem for path in _own_files(shop))


def _shipped() -> tuple[str, ...]:
    return tuple(name for name in shipped_boxes() if name not in BLANKS)


def titles(shop: Shop, names: Iterable[str]) -> Mapping[str, str]:
    """What to call boxes by their short names or files; one that cannot be used by its short name."""
    found = {}
    for name in set(names):
        try:
            found[name] = shop.box(name).name
        except BellhousingError:
            found[name] = Path(name).stem
    return found


def boxes_of_shop(shop: Shop) -> tuple[BoxSummary, ...]:
    """Every box, the shop's own first."""
    own = [_own_summary(shop, path) for path in _own_files(shop)]
    shipped = [BoxSummary(**_plain(load_box(name), name, own=False)) for name in _shipped()]
    return (*own, *shipped)


def box_known(name: str) -> BoxAnswer:
    """A box by name, or a file by its path, with what it gives and what it cannot yet work out.

    Raises
    ------
    BoxFileError : no such box, or a file with faults, all of them listed with their lines.
    """
    box = load_box(name)
    return _answer(box, box.slug, own=not is_shipped(name))


def write_blank(path: Path, *, four_speed: bool = False) -> None:
    """Write a blank box file to fill in.

    Raises
    ------
    BoxFileError : there is such a file already, or it cannot be written.
    """
    write_new(path, shipped_text(BLANKS[four_speed]).encode(), refuse=BoxFileError)


def keep_file(shop: Shop, path: Path, *, replace: bool = False) -> BoxAnswer:
    """Keep a box file with the shop under its slug; with `replace` in place of the shop's own of that name.

    Raises
    ------
    BoxFileError : no such file, one with faults, or its short name is taken.
    """
    box = load_box(path)
    return save_box(shop, path.read_text("utf-8"), replace=box.slug if replace else None)


def box_of_shop(shop: Shop, slug: str) -> BoxAnswer:
    """One box by its short name.

    Raises
    ------
    BoxFileError : there is none, or its file has faults.
    """
    return _answer(shop.box(slug), slug, own=own_file(shop, slug) is not None)


def text_of_box(shop: Shop, slug: str) -> str:
    """The file of a box as text, to look at or to copy.

    Raises
    ------
    BoxFileError : there is none.
    """
    path = own_file(shop, slug)
    return shipped_text(slug) if path is None else path.read_text("utf-8")


def begun_text(shop: Shop, slug: str) -> str:
    """The text a new box file begins with: a blank, or a copy that wants a name of its own.

    Raises
    ------
    BoxFileError : no such box.
    """
    text = text_of_box(shop, slug)
    if slug in BLANKS:
        return text
    text = re.sub(r"(?m)^slug:.*$", f"slug: our-{slug.removeprefix('our-')}", text, count=1)
    return re.sub(r"(?m)^name:[ ]*(.*)$", r"name: Copy of \1", text, count=1)


def check_box(shop: Shop, text: str, *, replace: str | None = None) -> BoxCheckAnswer:
    """What a typed box file comes to; `replace` is the one of the shop's that is being put right."""
    content = text.encode("utf-8")
    try:
        box = box_from_bytes(content, where="box file")
    except BoxFileError as error:
        said = error.problems or (error.what if error.where is None else f"{error.where}: {error.what}",)
        remedy = f"; {error.remedy}" if error.remedy and not error.problems else ""
        return BoxCheckAnswer(faults=tuple(_fault(f"{one}{remedy}") for one in said[: MOST_PROBLEMS + 1]))
    except BellhousingError as error:
        return BoxCheckAnswer(faults=(_fault(str(error)),))
    taken = _taken(shop, box.slug, replace)
    faults = (
        ()
        if taken is None
        else (FaultAnswer(line=_line_of(text, "slug"), text=f"{taken.what}: {taken.remedy}"),)
    )
    return BoxCheckAnswer(faults=faults, box=_answer(box, box.slug, own=True))


def save_box(shop: Shop, text: str, *, replace: str | None = None) -> BoxAnswer:
    """Keep a typed box file in the shop's folder under its slug; `replace` is the one being put right.

    The file it takes the place of is kept beside it, so that nothing typed is lost, and who did it is
    written beside the settings.

    Raises
    ------
    BoxFileError : it has faults, or its short name is taken by another box.
    """
    content = text.replace("\r\n", "\n").encode("utf-8")
    box = box_from_bytes(content, where="box file")
    slug = box.slug
    taken = _taken(shop, slug, replace)
    if taken is not None:
        raise taken
    folder = shop.folder / BOXES
    target = folder / f"{slug}.yaml"
    kept = ""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if target.exists():
            kept = f"{slug}.{shop.clock():%Y%m%dT%H%M%S}.before"
            shutil.copyfile(target, folder / kept)
        beside = folder / f"{slug}.{os.getpid()}.new"
        beside.write_bytes(content)
        beside.replace(target)
        write_change(shop, {f"box {slug}": (kept, target.name)})
    except OSError as error:
        raise BoxFileError(
            f"the box cannot be kept: {error.strerror}", where=str(target), remedy=ROOM_OR_RIGHT
        ) from None
    return box_of_shop(shop, slug)


def _taken(shop: Shop, slug: str, replace: str | None) -> BoxFileError | None:
    """Why a box may not have a short name, None if it may."""
    if OWN_BOX.fullmatch(slug) is None or slug in FAMILIES or slug in shipped_boxes():
        return BoxFileError(
            f"'{slug}' is the short name of a box that comes with the program",
            where="slug",
            remedy=f"give your own another, such as our-{slug}",
        )
    if replace != slug and own_file(shop, slug) is not None:
        return BoxFileError(
            f"there is a box '{slug}' in this shop already",
            where="slug",
            remedy="give this one another slug, or open that one and put it right",
        )
    return None


def _line_of(text: str, key: str) -> int | None:
    found = re.search(rf"(?m)^{key}:", text)
    return None if found is None else text.count("\n", 0, found.start()) + 1


def own_file(shop: Shop, slug: str) -> Path | None:
    """The shop's own file of a box, None where it has none of that name."""
    path = shop.folder / BOXES / f"{slug}.yaml"
    return path if OWN_BOX.fullmatch(slug) and path.is_file() else None


def _own_files(shop: Shop) -> list[Path]:
    folder = shop.folder / BOXES
    return [path for path in sorted(folder.glob("*.yaml")) if OWN_BOX.fullmatch(path.stem)]


def _own_summary(shop: Shop, path: Path) -> BoxSummary:
    try:
        return BoxSummary(**_plain(shop.box(str(path)), path.stem, own=True))
    except BellhousingError as error:
        return BoxSummary(slug=path.stem, name=path.stem, own=True, problem=str(error))


def _plain(box: Box, slug: str, *, own: bool) -> dict[str, Any]:
    asked = box.number_count
    given = 0 if box.is_family else asked - len(box.unknown)
    return {"slug": slug, "name": box.name, "own": own, "kind": box.kind, "given": given, "asked": asked}


def _answer(box: Box, slug: str, *, own: bool) -> BoxAnswer:
    known = specs()
    return BoxAnswer(
        **_plain(box, slug, own=own),
        source=box.source,
        note=box.note,
        parts=_parts(box),
        gears=gear_ratios(box),
        applied=tuple((gear, tuple(map(part_in_words, names))) for gear, names in apply_chart(box)),
        own_teeth=box.gear_train_origin == "box",
        fluid_index=_fluid_index(box),
        cannot=box.what_it_cannot_do(),
        figures=tuple(
            FigureAnswer(
                key=key, name=known[key].says, text=given.text, source=given.source, own=given.origin == "box"
            )
            for key, given in box.figures.items()
        ),
        windows=tuple((name, span.text) for name, span in sorted(box.windows.items())),
    )


def _fluid_index(box: Box) -> int | None:
    """Viscosity index of the box's own fluid; none is defined below 2 cSt at 100 °C."""
    given = [box.figures.get(f"fluid.viscosity_{point}") for point in ("40", "100")]
    at_40, at_100 = (one.value if one is not None and one.origin == "box" else None for one in given)
    if at_40 is None or at_100 is None or at_100 < THINNEST:
        return None
    return round(float(viscosity_index(at_40, at_100)))


def _parts(box: Box) -> tuple[PartAnswer, ...]:
    blank, found = set(box.unknown), []
    known = [key for key in specs(box.kind) if part_of(key) not in box.missing_parts]
    for name, model in sections(box.kind).items():
        keys = [
            key for key in known if key.rpartition(".")[0] == name and part_of(key) not in box.missing_parts
        ]
        if keys and name != "ratios":
            title = part_in_words(name)
            given = 0 if box.is_family else sum(key not in blank for key in keys)
            found.append(PartAnswer(name=title, given=given, asked=len(keys), without=model.without))
    return tuple(found)


def _fault(said: str) -> FaultAnswer:
    found = AT_LINE.match(said) or re.match(r"box file, line (\d+): (.*)", said, re.DOTALL)
    return (
        FaultAnswer(line=None, text=said) if found is None else FaultAnswer(line=int(found[1]), text=found[2])
    )
