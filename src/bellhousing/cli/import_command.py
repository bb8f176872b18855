"""`bellhousing import`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option, tell

if TYPE_CHECKING:
    from bellhousing.tasks.keeping import ArchiveAnswer


@click.command("import")
@click.argument("archive", type=click.Path(path_type=Path))
@shop_option
@json_option
def command(archive: Path, shop_folder: Path | None, as_json: bool) -> None:
    """Take ARCHIVE, as `bellhousing export` writes it, into an empty shop: all of it or nothing."""
    from bellhousing.tasks import keeping

    with shop_at(shop_folder) as shop:
        answer = keeping.take_in(shop, archive)
    tell(answer, as_json, lambda: _told(answer))


def _told(answer: ArchiveAnswer) -> str:
    lines = [f"Took in {answer.rows} rows and {answer.files} files from {answer.path}"]
    lines += [f"The box file {old} lies at {new} now." for old, new in answer.moved_boxes.items()]
    return "\n".join(lines)
