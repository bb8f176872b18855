"""Files written where somebody says: never over one that is there already."""

from __future__ import annotations

from pathlib import Path

from bellhousing.errors import BellhousingError, InputFileError


def write_new(
    path: Path, content: bytes, *, what: str = "the file", refuse: type[BellhousingError] = InputFileError
) -> None:
    """Write a file that is not there yet; `what` it is called where it cannot be written.

    Raises
    ------
    InputFileError, or what `refuse` names : it is there, or cannot be written.
    """
    try:
        with path.open("xb") as stream:
            stream.write(content)
    except FileExistsError:
        raise refuse(
            "a file of that name is there already", where=str(path), remedy="give another name"
        ) from None
    except OSError as error:
        raise refuse(
            f"{what} cannot be written: {error.strerror}",
            where=str(path),
            remedy="give another name or folder",
        ) from None
