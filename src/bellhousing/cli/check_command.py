"""`bellhousing check`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import folder_at, json_option, records_address, shop_option, tell

if TYPE_CHECKING:
    from bellhousing.tasks.checking import CheckAnswer


@click.command("check")
@click.option("--mend", is_flag=True, help="Put damaged photos and logs back from the backups.")
@shop_option
@json_option
@click.pass_context
def command(context: click.Context, mend: bool, shop_folder: Path | None, as_json: bool) -> None:
    """Read the shop through and say what to do: database, photos, box files, logs, backups, clock, disk.

    Ends with 1 if anything is left to do.
    """
    from bellhousing.tasks import checking

    answer = checking.check(folder_at(shop_folder), records=records_address(), mend=mend)
    tell(answer, as_json, lambda: _told(answer))
    if not answer.sound:
        context.exit(1)


def _told(answer: CheckAnswer) -> str:
    if not answer.troubles:
        return f"All is well: {', '.join(answer.looked_at)}."
    return "\n".join(f"{one.area}: {one.what}\n    {one.remedy}" for one in answer.troubles)
