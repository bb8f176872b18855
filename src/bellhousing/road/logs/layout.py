"""How a text file is laid out: its letters, its delimiter, its decimal mark, its header and units."""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice

from bellhousing.errors import InputFileError

HEAD = 256 * 1024
"""Bytes at the beginning of a file from which its layout is told."""

DELIMITERS = (";", "\t", ",", "|", " ")
MOST_PREAMBLE = 200
SAMPLE = 2000
"""Rows from which the columns are told."""

ENOUGH = 400
"""Marks of decimals after which it is known which one this file writes."""

NEEDED = "a table with a row for each moment: a time, a road speed and an engine speed, in columns"

MOST_COLUMNS = 2000

NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
CLOCK = re.compile(
    r"(?:\d{1,2}[-./ ][A-Za-z]{3,9}[-./ ]\d{2,4}[T ,_]+|[A-Za-z]{3} [A-Za-z]{3} +\d{1,2} |\d+ days? )?"
    r"(?:\d{1,4}[-./]\d{1,2}[-./]\d{1,4}[T ,_]*)?\d{1,3}:\d{1,2}(?::\d{1,2})?(?:[.,]\d+)?.*"
    r"|\d{8}[T_ ]\d{6}(?:[.,]\d+)?\s*(?:Z|[+-]\d{2}:?\d{2})?"
)
BARE_CLOCK = re.compile(r"(?:[01]\d|2[0-4])[0-5]\d[0-5]\d(?:[.,]\d+)?")
"""Hours, minutes and seconds in one row of digits, as receivers of satellites give them."""
GROUPED = re.compile(r"[+-]?\d{1,3}(?:(?P<point>\.\d{3})+,\d+|(?P<comma>,\d{3})+\.\d+)")
"""A number with marks between its thousands: both marks in one cell, or it is not told from decimals."""
SPACED = re.compile(r"[+-]?\d{1,3}(?:[\u00a0\u202f '\u2019]\d{3})+(?:[.,]\d+)?")
"""A number with blanks or strokes between its thousands."""
DRESSED = re.compile(r"[+-]?\d+(?:[.,]\d+)?\s*(?P<unit>[A-Za-z%°][A-Za-z%°/]*)")
OPEN_QUOTE = re.compile(r'^(?:[^"]|"[^"]*")*?(?:^|[;,\t|])\s*"[^"]*$')
"""A line that ends within a quoted cell."""
KINDS = frozenset({"", "float", "double", "int", "integer", "string", "number", "numeric", "real", "text"})
EMPTY = frozenset({"", "-", "--", "---", "n/a", "na", "nan", "null", "none", "err", "error", "inf", "-inf",
                   "#n/a", "#value!", "nil", "missing", "***", "?"})  # fmt: skip


@dataclass(frozen=True)
class Layout:
    """How a log is written; `first_line` counts lines from 0, `units` stands below `names` in the file.

    stray_returns : lines end in more than one return, of which one stays in the last cell
    """

    encoding: str
    delimiter: str
    decimal_comma: bool
    quoted: bool
    names: tuple[str, ...]
    units: tuple[str, ...]
    first_line: int
    sample: tuple[tuple[str, ...], ...]
    stray_returns: bool = False
    _asked: dict[tuple[int, int], tuple[str, ...]] = field(default_factory=dict, repr=False, compare=False)

    @property
    def digest(self) -> str:
        """What one logger's files have in common: SHA-256 of the header, or of the count of columns."""
        head = "\x1f".join((*self.names, *self.units)) if any(self.names) else str(len(self.names))
        return hashlib.sha256(head.encode()).hexdigest()

    def cells(self, column: int, most: int = 60) -> tuple[str, ...]:
        """The sample's cells in one column, the first that hold something."""
        known = self._asked.get((column, most))
        if known is None:
            cells = (row[column].strip() for row in self.sample[: 2 * most] if column < len(row))
            known = tuple(cell for cell in cells if cell.casefold() not in EMPTY)[:most]
            self._asked[column, most] = known
        return known


def layout_of(head: bytes, name: str, *, whole: bool) -> Layout:
    """Tell the layout from a file's first bytes; `whole` if that is all of it.

    Raises
    ------
    InputFileError : empty, not text, one column only, or no table in it; it says what would be right.
    """
    text, encoding = _text(head, name)
    lines = text.splitlines()
    if not whole and len(lines) > 1:
        lines = lines[:-1]
    lines = lines[: 2 * MOST_PREAMBLE + 2 * SAMPLE]
    if not any(line.strip(" \t\x00\x1a") for line in lines):
        raise InputFileError("the log is empty", where=name, remedy=NEEDED)
    lines, joined = _joined_header(lines)
    delimiter, rows = _split(lines, name)
    first = _first_row(rows)
    if first is None:
        raise InputFileError("there is no row of figures in this file", where=name, remedy=NEEDED)
    _no_commas_twice(rows, first, delimiter, name)
    names, units = _header(rows, first)
    sample = tuple(islice((tuple(row) for row in rows[first:] if row), SAMPLE))
    decimal_comma = _decimal_comma(sample, delimiter)
    if len(names) > MOST_COLUMNS:
        raise InputFileError(f"this log has {len(names)} columns", where=name, remedy=NEEDED)
    stray = b"\r\r\n" in head[:4096]
    quoted = _quoted(text)
    return Layout(encoding, delimiter, decimal_comma, quoted, names, units, first + joined, sample, stray)


def _joined_header(lines: list[str]) -> tuple[list[str], int]:
    """Lines at the top whose quoted cells run on in the next ones joined, and how many fewer those are."""
    out, place = [], 0
    while place < min(len(lines), MOST_PREAMBLE):
        line, following = lines[place], place + 1
        while OPEN_QUOTE.search(line) and following < min(len(lines), place + 60):
            line, following = f"{line} {lines[following]}", following + 1
        if OPEN_QUOTE.search(line):
            line, following = lines[place], place + 1
        out.append(line)
        place = following
    joined = place - len(out)
    return out + lines[place:], joined


def _quoted(text: str) -> bool:
    """Whether cells stand in quotes: in more lines than hold a stray one."""
    marks = [line.count('"') for line in text.splitlines() if '"' in line] if '"' in text else []
    return 2 * sum(count % 2 == 0 for count in marks) > len(marks)


def is_figure(cell: str) -> bool:
    """Whether a cell holds a number, a clock, or nothing."""
    plain = cell.strip().strip("\"'").replace("\u2212", "-")
    return plain.casefold() in EMPTY or bool(
        NUMBER.fullmatch(plain)
        or CLOCK.fullmatch(plain)
        or DRESSED.fullmatch(plain)
        or GROUPED.fullmatch(plain)
        or SPACED.fullmatch(plain)
    )


def _text(head: bytes, name: str) -> tuple[str, str]:
    if head.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise InputFileError(
            "this is a spreadsheet or an archive, not text", where=name, remedy="save the sheet as CSV"
        )
    if head.startswith(b"\x1f\x8b"):
        raise InputFileError("this file is compressed", where=name, remedy="unpack it first")
    if head.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        return head[: len(head) // 4 * 4].decode("utf-32", errors="replace"), "utf-32"
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return head[: len(head) // 2 * 2].decode("utf-16", errors="replace"), "utf-16"
    nulls = head[:4096].count(0)
    if nulls and abs(nulls - len(head[:4096]) / 2) < 0.1 * len(head[:4096]):
        kind = "utf-16-le" if head[1:2] == b"\x00" else "utf-16-be"
        return head[: len(head) // 2 * 2].decode(kind, errors="replace"), kind
    head = re.sub(rb"\x00{8,}", b"", head)  # what a logger that lost its power had set aside
    control = sum(head.count(code) for code in (*range(9), *range(14, 32), 127))
    if control > 0.002 * len(head):
        raise InputFileError("this is not a text file", where=name, remedy=NEEDED)
    try:
        return head.decode("utf-8-sig"), "utf-8"
    except UnicodeDecodeError as error:
        if error.start > len(head) - 4:  # a letter cut in two at the end of the head
            return head[: error.start].decode("utf-8-sig"), "utf-8"
        return head.decode("cp1252", errors="replace"), "cp1252"


def _split(lines: Sequence[str], name: str) -> tuple[str, list[list[str]]]:
    best: tuple[float, str] | None = None
    tried = lines[: MOST_PREAMBLE + 100]
    for delimiter in DELIMITERS:
        if not any(delimiter in line for line in tried):
            continue
        rows = split_lines(tried, delimiter)
        widths = [len(row) for row in rows if len(row) > 1]
        if not widths:
            continue
        usual = max(set(widths), key=widths.count)
        full = [row for row in rows if len(row) == usual]
        figures = sum(is_figure(cell) for row in full for cell in row) / (usual * len(full))
        worth = figures * len(full) / max(1, len(rows))
        if delimiter == " ":
            worth *= 0.9  # a blank also stands inside dates and names
        if best is None or worth > best[0] + 1e-9:
            best = (worth, delimiter)
    if best is None and not any(delimiter in line for line in lines for delimiter in ";\t,|"):
        raise InputFileError("this log has only one column", where=name, remedy=NEEDED)
    if (best is None or best[0] < 0.02) and len(lines) < 4:
        raise InputFileError("there is no row of figures in this file", where=name, remedy=NEEDED)
    if best is None or best[0] < 0.02:
        raise InputFileError("this log has only one column", where=name, remedy=NEEDED)
    return best[1], split_lines(lines, best[1])


def split_lines(lines: Sequence[str], delimiter: str) -> list[list[str]]:
    """Split lines into cells; runs of blanks count as one delimiter where that is a blank."""
    if delimiter == " ":
        return [_between_blanks(line) for line in lines]
    rows: list[list[str]] = []
    for line in lines:
        try:
            rows.append(next(csv.reader([line], delimiter=delimiter), []))
        except csv.Error:
            rows.append([])
    return rows


def _between_blanks(line: str) -> list[str]:
    """Cells between blanks; in a line without figures one blank may stand in a name, if two part them."""
    cells = line.split()
    wide = re.split(r"\s{2,}", line.strip()) if "  " in line.strip() else []
    return wide if len(wide) > 1 and not any(map(_told, cells)) else cells


def _first_row(rows: Sequence[Sequence[str]]) -> int | None:
    """The first row that is mostly figures, about as wide as most, and followed by more of the same width."""
    widths = [len(row) for row in rows if len(row) > 1]
    usual = max(set(widths), key=widths.count) if widths else 2
    for place, row in enumerate(rows[: MOST_PREAMBLE * 2]):
        if len(row) < 2 or 2 * sum(map(is_figure, row)) < len(row) or not any(_told(cell) for cell in row):
            continue
        following = rows[place + 1 : place + 4]
        if len(widths) > 20 and len(row) < usual and not all(map(is_figure, row)):
            continue
        if not following or any(abs(len(other) - len(row)) <= 1 for other in following):
            return place
    return None


def _told(cell: str) -> bool:
    return is_figure(cell) and any(letter.isdigit() for letter in cell)


def _header(rows: Sequence[Sequence[str]], first: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    width = max(len(row) for row in rows[first : first + 50])
    above = [row for row in rows[max(0, first - 4) : first] if len(row) >= width - 1 and len(row) > 1]
    above = [row for row in above if not any(_told(cell) for cell in row)]
    blank = ("",) * width
    units = next((row for row in reversed(above) if _are_units(row)), None)
    named = [row for row in above if row is not units and not _are_kinds(row)]
    if units is None or not named:
        return _padded((named or above)[-1], width) if above else blank, blank
    return _padded(named[-1], width), _padded(units, width)


def heads_of(row: Sequence[str], width: int) -> tuple[str, ...] | None:
    """The names in a row that may head columns, None where it holds figures, kinds or too few cells."""
    if len(row) < 2 or len(row) < width - 1 or _are_kinds(row):
        return None
    if any(cell.strip() and is_figure(cell) for cell in row):
        return None
    return _padded(row, len(row))


def _are_kinds(row: Sequence[str]) -> bool:
    """Whether a row says how figures are kept, not what they are."""
    cells = [cell.strip().casefold().rstrip("0123456789") for cell in row]
    return all(cell in KINDS or not cell.strip("-=:_*+ ") for cell in cells)


def _no_commas_twice(rows: Sequence[Sequence[str]], first: int, delimiter: str, name: str) -> None:
    """See that commas do not part both the cells and the decimals: nobody could tell which is which."""
    above = next((row for row in reversed(rows[:first]) if len(row) > 1), None)
    if delimiter != "," or above is None or any(map(_told, above)):
        return
    below = [row for row in rows[first : first + 50] if row]
    widths = [len(row) for row in below]
    whole = all(cell.strip().lstrip("+-").isdigit() or not cell.strip() for row in below for cell in row)
    if whole and min(widths) > len(above) + 1 and max(widths) <= 2 * len(above):
        raise InputFileError(
            f"rows of {max(widths)} cells stand below {len(above)} names: commas part cells and decimals",
            where=name,
            remedy="save it with semicolons between the cells, or with decimal points",
        )


def _padded(row: Sequence[str], width: int) -> tuple[str, ...]:
    cells = [cell.strip().strip("\"'").lstrip("\ufeff#").strip() for cell in row]
    return tuple((cells + [""] * width)[:width])


def _are_units(row: Sequence[str]) -> bool:
    """Whether a row below the header holds units: short, and bare or in brackets."""
    cells = [cell.strip().strip("[]()") for cell in row]
    return all(len(cell) <= 8 for cell in cells) and any(
        cell.casefold()
        in {"s", "sec", "ms", "rpm", "1/min", "u/min", "mph", "km/h", "kph", "%", "kpa", "psi", "m/s"}
        for cell in cells
    )


def _decimal_comma(sample: Sequence[Sequence[str]], delimiter: str) -> bool:
    commas = points = 0
    for row in sample:
        if commas + points > ENOUGH:
            break
        for cell in row:
            plain = cell.strip()
            if NUMBER.fullmatch(plain):
                commas += "," in plain
                points += "." in plain
            elif grouped := GROUPED.fullmatch(plain):
                commas += grouped["point"] is not None
                points += grouped["comma"] is not None
    return commas > points
