"""`bellhousing serve`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option


@click.command("serve")
@click.option("--port", type=click.IntRange(0, 65535), default=None, help="Port; 0 takes a free one.")
@shop_option
@json_option
def command(port: int | None, shop_folder: Path | None, as_json: bool) -> None:
    """Start the web app on your own shop's data, for this machine only."""
    from bellhousing.cli import web_door

    bound = web_door.listen(web_door.PORT if port is None else port, or_any=False)
    with shop_at(shop_folder) as shop:
        web_door.run(shop, bound, as_json=as_json, first_line=f"The shop in {shop.folder} is open at")
