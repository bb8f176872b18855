"""Answers to a findings file, with no database behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.errors import BellhousingError, FindingError, InputFileError
from bellhousing.tasks.answers import Answer, NextAnswer, ShiftMapAnswer
from bellhousing.tasks.bench_evidence import OnBench, heard_from_bench, said_on_bench
from bellhousing.tasks.findings_file import FindingsFile, read_findings_file
from bellhousing.tasks.hearing import NOT_UNDERSTOOD, Heard, Listener, hear
from bellhousing.tasks.preparation import Preparation
from bellhousing.tasks.ranking import rank
from bellhousing.tasks.shift_maps import shift_map
from bellhousing.tasks.shipped import shipped_catalogue


@dataclass(frozen=True)
class Case:
    """A findings file with what was heard in it and the model of its box and car."""

    file: FindingsFile
    heard: tuple[Heard, ...]
    prepared: Prepared


def causes_of_file(path: Path, *, box: str | None = None) -> Answer:
    """The causes of what a findings file says, and what to look at next; `box` stands in for the file's own.

    Sentences that are not understood are kept as notes in the answer.

    Raises
    ------
    InputFileError : a malformed file, a finding that cannot be, naming its line.
    FindingError : nothing at all was understood.
    BoxFileError : a box that does not exist or cannot be used.
    """
    read = read_case(path, box)
    return rank(read.prepared, read.heard, assumed=read.file.assumed)


def next_of_file(path: Path) -> NextAnswer:
    """What to look at next after what a findings file says; raises as `causes_of_file`."""
    answer = causes_of_file(path)
    return NextAnswer(next=answer.next, forbidden=answer.forbidden, notes=answer.notes)


def shift_map_of_file(path: Path, *, fault: str | None = None) -> ShiftMapAnswer:
    """The shift map of a file's box and car against what it says was driven; raises as `causes_of_file`."""
    read = _read(path, None)
    notes = tuple(entry.answer.said for entry in read.heard if entry.evidence is None)
    return shift_map(read.prepared, read.heard, fault).model_copy(update={"notes": notes})


def read_case(path: Path, box: str | None = None) -> Case:
    """Read a findings file in which something was understood; raises as `causes_of_file`."""
    case = _read(path, box)
    _need_something(case.heard, str(path))
    return case


def read_bench_case(path: Path, box: str | None = None) -> tuple[Case, tuple[OnBench, ...]]:
    """Read a findings file with what was measured on the bench; raises as `causes_of_file`."""
    return _read_all(path, box)


def _read(path: Path, box_name: str | None) -> Case:
    return _read_all(path, box_name)[0]


def _read_all(path: Path, box_name: str | None) -> tuple[Case, tuple[OnBench, ...]]:
    file = read_findings_file(path)
    box = box_named(file.box, path) if box_name is None else load_box(box_name)
    heard, numbers = _told(file, box, str(path))
    return Case(file, heard, Preparation(shipped_catalogue()).prepared(box, file.car)), numbers


def box_and_looks(path: Path) -> tuple[Box, frozenset[str]]:
    """The box of a findings file, with the slugs of the findings and measures it tells of.

    Raises
    ------
    InputFileError, BoxFileError : as `causes_of_file`
    """
    file = read_findings_file(path)
    box = box_named(file.box, path)
    heard, numbers = _told(file, box, str(path))
    looks = {entry.evidence.finding for entry in heard if entry.evidence is not None}
    return box, frozenset(looks | {entry.measured.id for entry in numbers})


def _told(file: FindingsFile, box: Box, name: str) -> tuple[tuple[Heard, ...], tuple[OnBench, ...]]:
    catalogue = shipped_catalogue()
    heard = _hear_all(file, catalogue, box, name)
    numbers = _measured(file, box, name)
    return heard + heard_from_bench(numbers, box, catalogue), numbers


def _measured(file: FindingsFile, box: Box, name: str) -> tuple[OnBench, ...]:
    """What was measured, the last of each measure at its place."""
    found: dict[str, OnBench] = {}
    for said, line in zip(file.measured, file.measured_lines, strict=True):
        try:
            entry = said_on_bench(said, box)
        except BellhousingError as error:
            raise _refused(error, f"{name}, line {line}") from None
        found[entry.measured.id] = entry
    return tuple(found.values())


def box_named(name: str, path: Path) -> Box:
    """Return the box that a findings file names: a file beside it, else a shipped one or another path."""
    beside = path.parent / name
    return load_box(str(beside)) if beside.is_file() else load_box(name)


def _hear_all(file: FindingsFile, catalogue: Catalogue, box: Box, name: str) -> tuple[Heard, ...]:
    listener = Listener.of(catalogue)
    heard: list[Heard] = []
    for said, line in zip(file.said, file.lines, strict=True):
        for entry in hear(said, listener, box, heard):
            if entry.refusal is not None and not entry.not_understood:
                raise _refused(entry.refusal, f"{name}, line {line}")
            heard.append(entry)
    return tuple(heard)


def _refused(error: BellhousingError, where: str) -> InputFileError:
    place = where if error.where is None else f"{where}: {error.where}"
    return InputFileError(error.what, where=place, remedy=error.remedy)


def _need_something(heard: Sequence[Heard], name: str) -> None:
    if heard and all(entry.evidence is None for entry in heard):
        only = heard[0]
        if len(heard) == 1 and only.refusal is not None and only.answer.note != NOT_UNDERSTOOD:
            raise _refused(only.refusal, name)
        notes = [entry.answer.note or NOT_UNDERSTOOD for entry in heard[:5]]
        said = "; ".join(
            f"“{entry.answer.said}”" if note == NOT_UNDERSTOOD else note
            for entry, note in zip(heard, notes, strict=False)
        )
        raise FindingError(
            f"nothing in the file was understood: {said}",
            where=name,
            remedy="say what was seen or measured, for example 'line pressure idle D 62 psi hot'",
        )
