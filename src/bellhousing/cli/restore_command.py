"""`bellhousing restore`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import folder_at, json_option, records_address, shop_option, tell

if TYPE_CHECKING:
    from bellhousing.tasks.keeping import RestoreAnswer


@click.command("restore")
@click.argument("backup", metavar="BACKUP")
@shop_option
@json_option
def command(backup: str, shop_folder: Path | None, as_json: bool) -> None:
    """Put BACKUP back: a name from `bellhousing backup --list`, or `latest`.

    The app must be stopped. What is there now is kept beside it and never written over.
    """
    from bellhousing.tasks import keeping

    answer = keeping.restore(folder_at(shop_folder), backup, records=records_address())
    tell(answer, as_json, lambda: _told(answer))


def _told(answer: RestoreAnswer) -> str:
    told = f"Put back {answer.name}: {answer.rows} rows, {answer.files} files."
    return told if answer.kept is None else f"{told}\nWhat was there before is kept in {answer.kept}"
