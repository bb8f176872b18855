"""The one family of exceptions: each says what was wrong, where, and what would be right."""

from __future__ import annotations

from collections.abc import Sequence


class BellhousingError(Exception):
    """Base of every error a user may see.

    Parameters
    ----------
    what : what was wrong, in the reader's words
    where : file, line, field or finding it concerns
    remedy : what would be right
    """

    def __init__(self, what: str, *, where: str | None = None, remedy: str | None = None) -> None:
        super().__init__(what)
        self.what = _writable(what)
        self.where = None if where is None else _writable(where)
        self.remedy = None if remedy is None else _writable(remedy)

    def __str__(self) -> str:
        text = self.what if self.where is None else f"{self.what} ({self.where})"
        return text if self.remedy is None else f"{text}: {self.remedy}"


class QuantityError(BellhousingError):
    """A number or unit that cannot be read, has the wrong dimension or is impossible."""


class AmbiguousUnitError(QuantityError):
    """A bare figure that is impossible in the usual unit but possible in another: the user is asked."""

    def __init__(
        self, what: str, *, candidates: Sequence[str], where: str | None = None, remedy: str | None = None
    ) -> None:
        super().__init__(what, where=where, remedy=remedy)
        self.candidates = tuple(candidates)


class BoxFileError(BellhousingError):
    """A box file that cannot be used; `problems` lists every fault found, each with its line."""

    def __init__(
        self,
        what: str,
        *,
        problems: Sequence[str] = (),
        where: str | None = None,
        remedy: str | None = None,
    ) -> None:
        super().__init__(what, where=where, remedy=remedy)
        self.problems = tuple(_writable(problem) for problem in problems)

    def __str__(self) -> str:
        return "\n  ".join((super().__str__(), *self.problems))


class CatalogueError(BellhousingError):
    """A catalogue file (faults, findings, cautions) that contradicts itself or its schema."""


class FindingError(BellhousingError):
    """A finding that is empty, unknown, impossible, or about a part this box does not have."""


class GearTrainError(BellhousingError):
    """A gear train or set of applied elements that has no single answer."""


class Neutral(GearTrainError):
    """Too few elements are applied: the output is not driven."""


class TiedUp(GearTrainError):
    """Too many elements are applied: the members cannot turn."""


class RecordError(BellhousingError):
    """A record that does not exist, or that storage refused."""


class StillOpenError(RecordError):
    """A job that cannot be closed; `problems` lists what is open, each with what answers it."""

    def __init__(
        self, what: str, *, problems: Sequence[str], where: str | None = None, remedy: str | None = None
    ) -> None:
        super().__init__(what, where=where, remedy=remedy)
        self.problems = tuple(_writable(problem) for problem in problems)

    def __str__(self) -> str:
        return "\n  ".join((super().__str__(), *self.problems))


class InputFileError(BellhousingError):
    """A file handed in by the user that cannot be read or is not what it should be."""


def _writable(text: str) -> str:
    # A message quotes what was given, be it bytes that are no letters; it must reach its reader all the same.
    return text.encode("utf-8", "replace").decode("utf-8")
