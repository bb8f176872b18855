"""`bellhousing export`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option, tell


@click.command("export")
@click.argument("archive", type=click.Path(path_type=Path))
@shop_option
@json_option
def command(archive: Path, shop_folder: Path | None, as_json: bool) -> None:
    """Write everything of the shop into ARCHIVE, a zip of JSON lines, CSV, photos, logs and box files."""
    from bellhousing.tasks import keeping

    with shop_at(shop_folder) as shop:
        answer = keeping.export(shop, archive)
    tell(
        answer,
        as_json,
        lambda: (
            f"Wrote {answer.rows} rows and {answer.files} files to {answer.path}\n"
            "It holds the names and words of owners: keep it safe."
        ),
    )
