"""A log read block by block: never more of the file in memory than a few of them, however long it is.

While one block is being looked at, the next ones are parsed beside it.
"""

from __future__ import annotations

import codecs
import re
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from io import BufferedReader
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.road.logs.columns import Column
from bellhousing.road.logs.layout import HEAD, Layout, layout_of

FloatArray = NDArray[np.float64]
Progress = Callable[[int, int], None]
Stop = Callable[[], bool]

BLOCK = 4 * 1024 * 1024
"""Bytes read at a time: as many as fit well between the processor and its memory."""

FIRST = 4
"""The first block is so many times as long, as units are told by its figures."""

AHEAD = 6
"""Blocks parsed ahead of the one that is looked at: some looks take as long as parsing several."""

LONGEST_LINE = 64 * 1024

MEANT, MEANT_TIME = 1e9, 1e19
"""Magnitude up to which a logger can mean a figure, in the unit of the file: nanoseconds since 1970 are
1.8e18."""

_CLOCK = r"(\d{1,3}):(\d{1,2}(?:[.,]\d+)?)(?::(\d{1,2}(?:[.,]\d+)?))?"
_BARE = r"^\"?(?:\d{8}[T_ ])?(\d{2})(\d{2})(\d{2}(?:[.,]\d+)?)"
_FIGURE = r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)"


class ReadingStopped(BellhousingError):
    """The reading of a log was stopped before its end."""


@dataclass(frozen=True)
class Rows:
    """Rows of a log by meaning, in the unit of the file; NaN where a cell holds no figure.

    texts : cells of the columns that hold words; wild : figures that no logger can mean, NaN too
    """

    figures: dict[str, FloatArray]
    texts: dict[str, list[str | None]]
    wild: int = 0

    def __len__(self) -> int:
        return len(next(iter(self.figures.values()), ()))


def layout_of_file(path: Path) -> Layout:
    """The layout of a file.

    Raises
    ------
    InputFileError : no such file, or none that holds a table.
    """
    try:
        if path.is_dir():
            raise InputFileError("this is a folder, not a log", where=str(path))
        if path.exists() and not path.is_file():
            raise InputFileError("this is no file, but a device or a pipe", where=str(path))
        with path.open("rb") as stream:
            head = stream.read(HEAD + 1)
    except FileNotFoundError:
        raise InputFileError(
            "there is no such file", where=str(path), remedy="give the path of a log"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputFileError(f"the file cannot be read: {reason}", where=str(path)) from None
    return layout_of(head[:HEAD], str(path), whole=len(head) <= HEAD)


def blocks(
    path: Path,
    layout: Layout,
    columns: Sequence[Column],
    *,
    progress: Progress | None = None,
    stop: Stop | None = None,
    block: int = BLOCK,
) -> Iterator[Rows]:
    """Read the rows of a log, one block after the other.

    Raises
    ------
    ReadingStopped : `stop` said so.
    InputFileError : the file vanished, or one line has no end.
    """
    total = path.stat().st_size
    pieces = _pieces(path, layout, block)
    beside = ThreadPoolExecutor(1)

    def one() -> tuple[int, Rows | None] | None:
        found = next(pieces, None)
        if found is None:
            return None
        done, data = found
        return done, _parse(data, layout, columns) if data and not data.isspace() else None

    try:
        ahead = deque(beside.submit(one) for _ in range(AHEAD))
        while True:
            if stop is not None and stop():
                raise ReadingStopped("the reading was stopped", where=str(path))
            found = ahead.popleft().result()
            if found is None:
                break
            ahead.append(beside.submit(one))
            done, rows = found
            if rows is not None:
                yield rows
            if progress is not None:
                progress(done, total)
    finally:
        beside.shutdown(cancel_futures=True)


def _pieces(path: Path, layout: Layout, block: int) -> Iterator[tuple[int, bytes]]:
    """Whole lines of a file in UTF-8, piece by piece, and how many of its bytes are read with each."""
    skip = layout.first_line
    rest = b""
    done = 0
    decoder = None if layout.encoding == "utf-8" else codecs.getincrementaldecoder(layout.encoding)("replace")
    with path.open("rb") as stream:
        while True:
            raw = stream.read(_to_line_end(stream, block if done else FIRST * block))
            done += len(raw)
            piece = raw if decoder is None else decoder.decode(raw, not raw).encode("utf-8")
            if b"\r" in piece and b"\n" not in piece:
                piece = piece.replace(b"\r", b"\n")
            cut = piece.rfind(b"\n") + 1 if raw else len(piece)
            # Without an end of a line in it, a piece is no more than a part of one.
            if cut or not raw:
                data = piece if cut == len(piece) and not rest else b"".join((rest, memoryview(piece)[:cut]))
                rest = piece[cut:]
            else:
                data, rest = b"", rest + piece
            if len(rest) > max(LONGEST_LINE, 4 * block):
                raise InputFileError("a line of this file has no end", where=str(path))
            skip, data = _skip_lines(data, skip)
            yield done, data
            if not raw:
                return


def _to_line_end(stream: BufferedReader, size: int) -> int:
    """How many bytes to read for whole lines, where lines end in one byte: so nothing is copied together."""
    place = stream.tell()
    stream.seek(place + size)
    more = len(stream.readline(LONGEST_LINE))
    stream.seek(place)
    return size + more


def _skip_lines(data: bytes, count: int) -> tuple[int, bytes]:
    start = 0
    while count and start < len(data):
        end = data.find(b"\n", start) + 1
        start = end or len(data)
        count -= 1
    return count, data[start:]


def _parse(data: bytes, layout: Layout, columns: Sequence[Column]) -> Rows:
    delimiter = layout.delimiter
    if delimiter == " ":
        data = re.sub(rb"(?m)^[ \t]+", b"", re.sub(rb"[ \t]+", b" ", data))
    as_text = {column.index for column in columns if column.clock or column.dressed or column.lettered}
    used = {column.index for column in columns}
    data = _closed_quotes(data, delimiter) if layout.quoted else data
    data = _wide(data, delimiter, len(layout.names))
    schema = {
        f"column_{index}": pl.String if index in as_text or index not in used else pl.Float64
        for index in range(len(layout.names))
    }
    try:
        frame = _frame(data, layout, schema, used)
    except pl.exceptions.ComputeError:
        frame = _frame(_without_stray_quotes(data, delimiter), layout, schema, used)
    figures: dict[str, FloatArray] = {}
    texts: dict[str, list[str | None]] = {}
    wild = 0
    for column in columns:
        cells = frame[f"column_{column.index}"]
        if column.lettered:
            texts[column.meaning] = cells.to_list()
        elif column.clock:
            figures[column.meaning] = _seconds(cells)
        else:
            values = _figures(cells, "," if not layout.decimal_comma else ".", column.grouped)
            most = MEANT_TIME if column.meaning == "time" else MEANT
            figures[column.meaning], strange = _meant(values, most)
            wild += strange
    return Rows(figures, texts, wild)


def _frame(
    data: bytes, layout: Layout, schema: dict[str, type[pl.String] | type[pl.Float64]], used: set[int]
) -> pl.DataFrame:
    """The columns that are used, of rows as they stand in a file."""
    return pl.read_csv(
        data,
        has_header=False,
        schema=schema,
        columns=[f"column_{index}" for index in sorted(used)],
        separator=layout.delimiter,
        quote_char='"' if layout.quoted else None,
        decimal_comma=layout.decimal_comma,
        ignore_errors=True,
        truncate_ragged_lines=True,
        missing_columns="insert",
        extra_columns="ignore",  # the first row of a block may be longer than the header
        encoding="utf8-lossy",
    )


def _without_stray_quotes(data: bytes, delimiter: str) -> bytes:
    """The same rows, with no quotes in those where one stands within a cell."""
    mark = re.escape(delimiter.encode())
    cell = rb'(?:[^"' + mark + rb']*|"(?:[^"]|"")*")'
    sound = re.compile(cell + rb"(?:" + mark + cell + rb")*\r?")
    lines = data.split(b"\n")
    return b"\n".join(
        line if b'"' not in line or sound.fullmatch(line) else line.replace(b'"', b" ") for line in lines
    )


def _closed_quotes(data: bytes, delimiter: str) -> bytes:
    """The same rows, with no quotes in those where one stands astray: it would swallow the rows below."""
    letters = np.frombuffer(data, dtype=np.uint8)
    ends = np.append(np.flatnonzero(letters == 10), len(letters))
    quotes = np.flatnonzero(letters == 34)
    upto = np.searchsorted(quotes, ends)
    counts = np.diff(upto, prepend=0)
    beside = np.zeros(256, dtype=bool)
    beside[[10, 13, 32, 34, ord(delimiter)]] = True
    opens = (np.arange(len(quotes)) - np.repeat(upto - counts, counts)) % 2 == 0
    around = np.where(opens, quotes - 1, quotes + 1)
    inside = (around >= 0) & (around < len(letters))
    stray = quotes[inside][~beside[letters[around[inside]]]]
    odd = np.union1d(np.flatnonzero(counts % 2), np.searchsorted(ends, stray))
    if not len(odd):
        return data
    mended = bytearray(data)
    for line in odd.tolist():
        begin = int(ends[line - 1]) + 1 if line else 0
        mended[begin : ends[line]] = mended[begin : ends[line]].replace(b'"', b" ")
    return bytes(mended)


def _wide(data: bytes, delimiter: str, width: int) -> bytes:
    """The same rows, the first one with as many cells as the header has: the parser counts on it."""
    end = data.find(b"\n")
    first = data if end < 0 else data[:end]
    short = width - 1 - first.count(delimiter.encode())
    if short <= 0:
        return data
    first = first.rstrip(b"\r") + delimiter.encode() * short
    return first if end < 0 else first + data[end:]


def _figures(cells: pl.Series, mark: str, grouped: bool) -> FloatArray:
    if cells.dtype == pl.String:
        if grouped:
            cells = cells.str.replace_all(mark, "", literal=True).str.replace("\u2212", "-", literal=True)
            cells = cells.str.replace_all(r"(\d)[\u00a0\u202f '\u2019](\d)", "${1}${2}")
        cells = cells.str.extract(_FIGURE).str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
    cells = cells.cast(pl.Float64)
    return np.asarray((cells.fill_null(float("nan")) if cells.null_count() else cells).to_numpy())


def _meant(values: FloatArray, most: float) -> tuple[FloatArray, int]:
    """The values with NaN where no logger can mean them, and how many those are."""
    if values.max(initial=0.0) <= most and values.min(initial=0.0) >= -most:
        return values, 0
    wild = np.abs(values) > most
    count = int(np.count_nonzero(wild))
    return (np.where(wild, np.nan, values) if count else values), count


def _seconds(cells: pl.Series) -> FloatArray:
    """Seconds since midnight of `14:03:22.5` or `140322.5`, seconds of `03:22.5`, with a date or not."""
    text = pl.col("cell").str
    bare = not bool(cells.str.contains(":", literal=True).any())
    pattern = _BARE if bare else _CLOCK
    frame = pl.DataFrame({"cell": cells}).select(
        *(
            text.extract(pattern, place).str.replace(",", ".").cast(pl.Float64).alias(name)
            for place, name in enumerate("abc", 1)
        ),
        text.contains(r"(?i)p\.?m").fill_null(False).alias("late"),
        text.contains(r"(?i)a\.?m").fill_null(False).alias("early"),
    )
    first, second, third = (frame[name].fill_null(float("nan")).to_numpy() for name in "abc")
    late, early = frame["late"].to_numpy(), frame["early"].to_numpy()
    hours = np.where(late & (first < 12), first + 12, np.where(early & (first == 12), 0.0, first))
    return np.asarray(np.where(np.isnan(third), first * 60 + second, hours * 3600 + second * 60 + third))
