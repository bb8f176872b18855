"""Selective parts of the shop: what lies on the shelf and is on order, and a box's parts counted by it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches

from bellhousing.boxes.box import Box
from bellhousing.errors import BellhousingError, FindingError, QuantityError, RecordError
from bellhousing.fits.arithmetic import size_of
from bellhousing.fits.parts import OUT_OF_FAMILY, Part, Piece
from bellhousing.quantities.parse import parse_measured
from bellhousing.quantities.show import show
from bellhousing.quantities.units import from_si, unit
from bellhousing.records.stock import SAME, InStock, StockMove
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.shop import Shop

SIZES = (1e-5, 0.3)
MOST = 1000
COUNTED = "counted again"


class StockAnswer(Shape):
    """How many of one size lie on the shelf and are on order; `text` says it in a line.

    `shown` is the size with its unit, to as many places as the part's other sizes.
    """

    box: str
    part: str
    name: str
    size: float
    shown: str
    unit: str
    mark: str
    shelf: int
    on_order: int
    text: str


def stock_of_shop(shop: Shop, box: str | None = None) -> tuple[StockAnswer, ...]:
    """Everything that is in stock or on order, of one box or of all.

    Raises
    ------
    BoxFileError : no such box
    """
    slug = None if box is None else shop.box(box).slug
    return tuple(_answer(shop, entry) for entry in shop.store.in_stock(slug) if entry.shelf or entry.on_order)


def add_stock(
    shop: Shop, box: str, part: str, size: str, count: int, *, mark: str = "", ordered: bool = False
) -> StockAnswer:
    """Put parts on the shelf, or note them as ordered.

    Raises
    ------
    FindingError, QuantityError : no such part, a size out of its family, no count
    """
    found, metres, name = _read(shop.box(box), part, size)
    how_many = _count(count)
    shelf, on_order = (0, how_many) if ordered else (how_many, 0)
    return _move(shop, shop.box(box), found, metres, name, mark, job=None, shelf=shelf, on_order=on_order)


def arrived(shop: Shop, box: str, part: str, size: str, count: int, *, mark: str = "") -> StockAnswer:
    """Take parts that were on order in: off the order, onto the shelf; raises as `add_stock`."""
    found, metres, name = _read(shop.box(box), part, size)
    how_many = _count(count)
    return _move(shop, shop.box(box), found, metres, name, mark, job=None, shelf=how_many, on_order=-how_many)


def use_stock(
    shop: Shop, box: str, part: str, size: str, count: int, *, mark: str = "", job: int | None = None
) -> StockAnswer:
    """Take parts off the shelf, for a job or not; raises as `add_stock`, and RecordError for too many."""
    found, metres, name = _read(shop.box(box), part, size)
    return _move(shop, shop.box(box), found, metres, name, mark, job=job, shelf=-_count(count))


def count_stock(
    shop: Shop, box: str, part: str, size: str, shelf: int, on_order: int | None = None, *, mark: str = ""
) -> StockAnswer:
    """Put the book right by what was counted; what is on order stays where no number is given.

    Raises
    ------
    FindingError, QuantityError : no such part, a size out of its family, no count
    RecordError : the book says so already
    """
    loaded = shop.box(box)
    found, metres, name = _read(loaded, part, size)
    wanted = [_count(number, least=0) for number in (shelf, on_order) if number is not None]
    called = _called(found, metres, mark)
    booked = next(
        (
            entry
            for entry in shop.store.in_stock(loaded.slug)
            if (entry.part, entry.mark) == (found.id, called) and abs(entry.size_m - metres) < SAME
        ),
        None,
    )
    now = (booked.shelf, booked.on_order) if booked is not None else (0, 0)
    goal = (wanted[0], now[1] if on_order is None else wanted[1])
    if goal == now:
        raise RecordError(
            f"{found.name}: the book says so already, {now[0]} on the shelf and {now[1]} on order",
            remedy="nothing is to be put right",
        )
    shelf_moved, order_moved = goal[0] - now[0], goal[1] - now[1]
    return _move(
        shop, loaded, found, metres, name, mark,
        job=None, shelf=shelf_moved, on_order=order_moved, note=COUNTED,
    )  # fmt: skip


def _called(part: Part, metres: float, mark: str) -> str:
    """The mark a size goes by: the one given, else that of the box file."""
    known = next((piece for piece in part.pieces if abs(piece.size - metres) < SAME), None)
    return mark.strip() or (known.mark if known is not None else "")


def _move(
    shop: Shop,
    box: Box,
    part: Part,
    metres: float,
    unit_name: str,
    mark: str,
    *,
    job: int | None,
    shelf: int = 0,
    on_order: int = 0,
    note: str = "",
) -> StockAnswer:
    known = next((piece for piece in part.pieces if abs(piece.size - metres) < SAME), None)
    move = StockMove(
        box=box.slug,
        part=part.id,
        size_m=metres if known is None else known.size,
        unit=unit_name,
        mark=_called(part, metres, mark),
        shelf=shelf,
        on_order=on_order,
        job=job,
        note=note,
    )
    return _answer(shop, shop.store.move_stock(move, at=shop.clock(), who=shop.signed(WHO)))


def _read(box: Box, part: str, size: str) -> tuple[Part, float, str]:
    found = _part(box, part)
    if not size.strip():
        raise QuantityError("no size was given", where=found.name, remedy="write for example 0.080 in")
    measured = parse_measured(size, usual_unit=found.unit, possible=SIZES)
    sizes = sorted(piece.size for piece in found.pieces)
    if sizes:
        middle = sizes[len(sizes) // 2]
        if not middle / OUT_OF_FAMILY <= measured.value <= middle * OUT_OF_FAMILY:
            raise QuantityError(
                f"{show(measured.value, measured.unit)} beside others of about {show(middle, found.unit)}",
                where=found.name,
                remedy="look at its unit: inches for millimetres or the other way round?",
            )
    return found, measured.value, unit(measured.unit).name


def _part(box: Box, said: str) -> Part:
    names = {key: part for part in box.selective_parts.values() for key in (part.id, part.name.lower())}
    if not names:
        raise FindingError(f"{box.name} names no selective parts", remedy="add `selective_parts` to its file")
    plain = " ".join(said.lower().split())
    if plain in names:
        return names[plain]
    near = get_close_matches(plain, names, n=3, cutoff=0.4) or list(box.selective_parts)
    raise FindingError(
        f"{box.name} has no part '{said[:40]}'", remedy=f"say one of: {', '.join(dict.fromkeys(near))}"
    )


def _count(count: int, *, least: int = 1) -> int:
    if not least <= count <= MOST:
        raise QuantityError(f"a count lies between {least} and {MOST}", where="count")
    return count


def _answer(shop: Shop, entry: InStock) -> StockAnswer:
    try:
        part = shop.box(entry.box).selective_parts.get(entry.part)
    except BellhousingError:  # a box file that has gone since
        part = None
    name = part.name if part is not None else entry.part.replace("-", " ")
    marked = f" ({entry.mark})" if entry.mark else ""
    ordered = f", {entry.on_order} on order" if entry.on_order else ""
    size = float(f"{float(from_si(entry.size_m, entry.unit)):.6g}")
    symbol = unit(entry.unit).symbol
    alike = part is not None and unit(part.unit) == unit(entry.unit)
    shown = size_of(part, entry.size_m) if part is not None and alike else f"{size:g} {symbol}"
    return StockAnswer(
        box=entry.box,
        part=entry.part,
        name=name,
        size=size,
        shown=shown,
        unit=symbol,
        mark=entry.mark,
        shelf=entry.shelf,
        on_order=entry.on_order,
        text=f"{name} {shown}{marked}: {entry.shelf} on the shelf{ordered}",
    )


def parts_in_stock(shop: Shop, box: Box) -> tuple[Mapping[str, Part], tuple[str, ...]]:
    """The box's selective parts with what lies on the shop's shelf, and which of them are counted so.

    A part the shop has ever booked is counted by its book: shelf and order as booked, what can be bought as
    the box file says; any other part stands as the file has it.
    """
    booked: dict[str, list[InStock]] = {}
    for entry in shop.store.in_stock(box.slug):
        booked.setdefault(entry.part, []).append(entry)
    parts = dict(box.selective_parts)
    counted = []
    for name, entries in booked.items():
        if name in parts:
            parts[name] = replace(parts[name], pieces=_counted(parts[name].pieces, entries))
            counted.append(parts[name].name)
    return parts, tuple(counted)


def _counted(listed: tuple[Piece, ...], entries: list[InStock]) -> tuple[Piece, ...]:
    left = list(entries)
    pieces = []
    for piece in listed:
        own = [e for e in left if abs(e.size_m - piece.size) < SAME and (not e.mark or e.mark == piece.mark)]
        left = [entry for entry in left if entry not in own]
        shelf, order = sum(entry.shelf for entry in own), sum(entry.on_order for entry in own)
        pieces.append(replace(piece, stock=shelf, on_order=order))
    pieces += [
        Piece(entry.size_m, entry.mark, entry.shelf, entry.on_order)
        for entry in left
        if entry.shelf or entry.on_order
    ]
    return tuple(pieces)
