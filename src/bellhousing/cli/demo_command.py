"""`bellhousing demo`."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from pathlib import Path

import click

from bellhousing.cli.doors import json_option


@click.command("demo")
@click.option("--port", type=click.IntRange(0, 65535), default=None, help="Port; 0 takes a free one.")
@click.option(
    "--shop",
    "shop_folder",
    type=click.Path(path_type=Path),
    help="Keep the invented shop in this folder; without it, it is gone when the program ends.",
)
@json_option
def command(port: int | None, shop_folder: Path | None, as_json: bool) -> None:
    """Start the web app with an invented shop: three cars, one of them mid-job.

    Nothing of your own shop is touched.
    """
    from bellhousing.cli import web_door
    from bellhousing.tasks.demo import open_demo

    bound = web_door.listen(web_door.PORT if port is None else port, or_any=port is None)
    with ExitStack() as stack:
        folder = shop_folder
        if folder is None:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="bellhousing-demo-")))
        shop = stack.enter_context(open_demo(folder))
        web_door.run(shop, bound, as_json=as_json, first_line="An invented shop, three cars, is open at")
