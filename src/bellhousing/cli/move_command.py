"""`bellhousing move`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import folder_at, json_option, records_address, shop_option, tell

if TYPE_CHECKING:
    from bellhousing.tasks.keeping import MoveAnswer


@click.command("move")
@click.argument("target", metavar="ADDRESS")
@shop_option
@json_option
def command(target: str, shop_folder: Path | None, as_json: bool) -> None:
    """Move the shop's records to ADDRESS, an empty database: a server's address, or a file.

    Every row of every table is compared afterwards. Stop the app first; photos and logs stay where they are.
    """
    from bellhousing.tasks import keeping

    answer = keeping.move_records(folder_at(shop_folder), target, records=records_address())
    tell(answer, as_json, lambda: _told(answer))


def _told(answer: MoveAnswer) -> str:
    lines = [f"Moved {sum(answer.rows.values())} rows of {len(answer.rows)} tables, each the same there:"]
    lines += [f"  {name}  {rows}" for name, rows in answer.rows.items() if rows]
    lines += [f"from {answer.left}", f"to   {answer.arrived}"]
    if answer.kept is not None:
        lines.append(
            f"The old file stays as {answer.kept}; from now on give --records, or BELLHOUSING_RECORDS."
        )
    return "\n".join(lines)
