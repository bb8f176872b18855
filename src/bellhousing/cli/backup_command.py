"""`bellhousing backup`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import folder_at, json_option, shop_at, shop_option, tell, tell_all

if TYPE_CHECKING:
    from bellhousing.tasks.keeping import BackupAnswer


@click.command("backup")
@click.option("--list", "listing", is_flag=True, help="List the backups there are, the oldest first.")
@click.option("--keep", type=click.IntRange(1, 1000), help="How many backups stay; 14 unless told.")
@shop_option
@json_option
def command(listing: bool, keep: int | None, shop_folder: Path | None, as_json: bool) -> None:
    """Back up the shop into its own folder, while it is in use or not, and see that it can be put back."""
    from bellhousing.tasks import keeping

    if listing:
        made = keeping.backups(folder_at(shop_folder))
        lines = "\n".join(_line(one) for one in made) or "There is no backup."
        tell_all(list(made), as_json, lambda: lines)
        return
    with shop_at(shop_folder) as shop:
        answer = keeping.back_up(shop) if keep is None else keeping.back_up(shop, keep=keep)
    tell(answer, as_json, lambda: "\n".join((f"Backed up as {_line(answer)}", *answer.verified)))


def _line(one: BackupAnswer) -> str:
    return f"{one.name}  {one.rows} rows, {one.files} files, {one.bytes / 1e6:.1f} MB"
