"""Rows of a log kept as a Parquet file beside the shop's records, never in them."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from bellhousing.errors import InputFileError
from bellhousing.road.logs.blocks import Progress, Stop, blocks, layout_of_file
from bellhousing.road.logs.columns import Column

FOLDER = "logs"


def keep_log(
    path: Path,
    columns: tuple[Column, ...],
    folder: Path,
    *,
    again: bool = False,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Path:
    """Keep a log's file as it is and its used columns as Parquet (by meaning, in SI); the Parquet's path.

    Files are named by the SHA-256 of the log, so that keeping one twice keeps it once; `again` writes the
    Parquet anew, for other columns. The rows go through memory block by block.

    Raises
    ------
    InputFileError : the folder cannot be written to.
    ReadingStopped : `stop` said so.
    """
    name = _digest(path)
    target = folder / FOLDER / f"{name}.parquet"
    parts = folder / FOLDER / f"{name}.parts"
    whole = folder / FOLDER / f"{name}.new"
    if target.exists() and not again:
        return target
    layout = layout_of_file(path)
    try:
        parts.mkdir(parents=True, exist_ok=True)
        for number, rows in enumerate(blocks(path, layout, columns, progress=progress, stop=stop)):
            data: dict[str, NDArray[np.float64] | list[str | None]] = {
                column.meaning: rows.figures[column.meaning] * column.unit.factor + column.unit.offset
                for column in columns
                if column.meaning in rows.figures
            }
            pl.DataFrame(data | rows.texts).write_parquet(parts / f"{number:06d}.parquet")
        if original_of(target) is None:
            original = folder / FOLDER / f"{name}{path.suffix or '.txt'}"
            shutil.copyfile(path, whole)
            whole.replace(original)
        pl.scan_parquet(parts / "*.parquet").sink_parquet(whole)
        # The rows come last and whole: where they are, the log is kept.
        whole.replace(target)
    except (OSError, pl.exceptions.PolarsError) as error:
        raise InputFileError(
            f"the log cannot be kept: {getattr(error, 'strerror', None) or error}",
            where=str(target),
            remedy="make room on the disk, or give yourself the right to write there, then add it again",
        ) from None
    finally:
        shutil.rmtree(parts, ignore_errors=True)
        whole.unlink(missing_ok=True)
    return target


def original_of(kept: Path) -> Path | None:
    """The file a kept log came as, None where it is gone."""
    beside = sorted(kept.parent.glob(f"{kept.stem}.*"))
    return next((path for path in beside if path.suffix not in (".parquet", ".parts", ".new")), None)


def kept_meanings(path: Path) -> tuple[str, ...]:
    """What the columns of a kept log hold."""
    return tuple(pl.scan_parquet(path).collect_schema().names())


def kept_rows(
    path: Path, meanings: list[str], rows: int = 250_000
) -> Iterator[dict[str, NDArray[np.float64]]]:
    """Columns of a kept log [SI], `rows` at a time."""
    frame = pl.scan_parquet(path).select(meanings)
    total = int(frame.select(pl.len()).collect().item())
    for begin in range(0, total, rows):
        part = frame.slice(begin, rows).collect()
        yield {name: part[name].to_numpy() for name in meanings}


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
