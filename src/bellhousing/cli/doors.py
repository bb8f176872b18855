"""What every command needs: its common options, the shop, and where a JOB or FILE leads."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

import click

if TYPE_CHECKING:
    from pydantic import BaseModel

    from bellhousing.tasks.shop import Shop

F = TypeVar("F", bound=Callable[..., Any])


class Noted(Protocol):
    """An answer that says which sentences of a findings file only became notes."""

    @property
    def notes(self) -> Sequence[str]: ...

    def model_dump_json(self, *, indent: int | None = None) -> str: ...


A = TypeVar("A", bound=Noted)

JOB_OR_FILE = "JOB_OR_FILE"
RECORDS = "bellhousing.records"
"""Where a command keeps what --records said, for as long as it runs."""


class Number(click.IntRange):
    """The number of a job or an entry."""

    name = "number"


NUMBER = Number(min=1, max=10**11)


def json_option(function: F) -> F:
    """Adds --json."""
    return click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")(function)


def shop_option(function: F) -> F:
    """Adds --shop, the folder of the shop's data, and --records, where its records are."""
    function = click.option(
        "--records",
        metavar="ADDRESS",
        envvar="BELLHOUSING_RECORDS",
        expose_value=False,
        callback=_remember_records,
        help="Database of the shop's records, like postgresql://shop@server/bellhousing, where they are "
        "not kept in its folder (or set BELLHOUSING_RECORDS).",
    )(function)
    return click.option(
        "--shop",
        "shop_folder",
        type=click.Path(path_type=Path),
        envvar="BELLHOUSING_SHOP",
        help="Folder of the shop's data (or set BELLHOUSING_SHOP).",
    )(function)


def _remember_records(context: click.Context, option: click.Parameter, value: str | None) -> None:
    context.meta[RECORDS] = value


def records_address() -> str | None:
    """Where the command at hand was told that the records are, None for the shop's folder."""
    context = click.get_current_context(silent=True)
    return None if context is None else context.meta.get(RECORDS)


def folder_at(folder: Path | None) -> Path:
    """The folder of a shop's data, the user's own data folder unless another is named."""
    from bellhousing.tasks.shop import default_folder

    return default_folder() if folder is None else folder


def shop_at(folder: Path | None) -> Shop:
    """The shop kept in a folder, with its records where the command was told."""
    from bellhousing.tasks.shop import open_shop

    return open_shop(folder_at(folder), records=records_address())


def job_number(text: str) -> int | None:
    """The number of a job if the text is digits only, else None: then it is a file."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else None


def refuse_box(box: str | None) -> None:
    """Refuse --box beside the number of a job."""
    if box is not None:
        raise click.UsageError("--box goes with a findings file; a job has the box of its car")


def tell_of_job_or_file(
    context: click.Context,
    job_or_file: str,
    shop_folder: Path | None,
    as_json: bool,
    *,
    of_file: Callable[[Path], A],
    of_job: Callable[[Shop, int], A],
    human: Callable[[A], str],
    box: str | None,
) -> None:
    """Answer for a job or a findings file; leave with 1 if the file was not all understood."""
    number = job_number(job_or_file)
    if number is None:
        answer = of_file(findings_file(job_or_file))
    else:
        refuse_box(box)
        answer = of_job(shop_at(shop_folder), number)
    tell(answer, as_json, lambda: human(answer))
    if number is None:
        leave_not_understood(context, not_understood(answer.notes), as_json)


def tell(answer: BaseModel | Noted, as_json: bool, human: Callable[[], str]) -> None:
    """Print an answer as JSON or as text for people."""
    click.echo(answer.model_dump_json(indent=2) if as_json else human())


def tell_all(answers: list[BaseModel], as_json: bool, human: Callable[[], str]) -> None:
    """Print several answers of one kind."""
    if as_json:
        click.echo(
            json.dumps([answer.model_dump(mode="json") for answer in answers], ensure_ascii=False, indent=2)
        )
    else:
        click.echo(human())


def findings_file(text: str) -> Path:
    """The path of a findings file.

    Raises
    ------
    InputFileError : nothing is named.
    """
    if not text.strip():
        from bellhousing.errors import InputFileError

        raise InputFileError(
            "neither a job nor a file is named",
            remedy="give the number of a job, or the path of a findings file",
        )
    return Path(text)


def leave_not_understood(context: click.Context, lines: Sequence[str], as_json: bool) -> None:
    """Leave with status 1 if anything said in this command was refused or only kept as a note.

    Each is named on the error channel; with --json the answer holds them already.
    """
    if not lines:
        return
    if not as_json:
        sys.stdout.flush()
        for line in lines:
            click.echo(line, err=True)
    context.exit(1)


def not_understood(said: Sequence[str]) -> list[str]:
    """A line for each sentence of a findings file that only became a note."""
    return [f"“{text}” was not understood and kept as a note" for text in said]
