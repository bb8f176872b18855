"""`bellhousing serve`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option

FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command("serve")
@click.option("--port", type=click.IntRange(0, 65535), default=None, help="Port; 0 takes a free one.")
@click.option("--workshop", is_flag=True, help="Open it to the workshop's network; people log in.")
@click.option("--name", "names", multiple=True, help="A further name or address it is reached by.")
@click.option("--tls-cert", type=FILE, help="Certificate in PEM, instead of the shop's own.")
@click.option("--tls-key", type=FILE, help="Its key in PEM.")
@click.option("--behind-proxy", metavar="ADDRESS", help="The one proxy in front of it that is believed.")
@click.option(
    "--backups",
    type=click.IntRange(0, 1000),
    default=14,
    show_default=True,
    help="A backup is made each day and so many are kept; 0 makes none.",
)
@click.option(
    "--log",
    type=click.Choice(["plain", "json"]),
    default="plain",
    envvar="BELLHOUSING_LOG",
    help="json: what happens as JSON lines on the error channel, without a word of what the shop holds.",
)
@shop_option
@json_option
def command(
    port: int | None,
    workshop: bool,
    names: tuple[str, ...],
    tls_cert: Path | None,
    tls_key: Path | None,
    behind_proxy: str | None,
    backups: int,
    log: str,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Start the web app on your own shop's data, for this machine only unless --workshop is given.

    --workshop needs a pass phrase first (bellhousing people set-passphrase) and speaks TLS with the shop's
    own certificate, if one was made (bellhousing people make-certificate), or with the one given.
    """
    from bellhousing.cli import web_door
    from bellhousing.cli import workshop as doors

    if not workshop and (names or tls_cert or tls_key or behind_proxy):
        raise click.UsageError("--name, --tls-cert, --tls-key and --behind-proxy go with --workshop")
    if (tls_cert is None) != (tls_key is None):
        raise click.UsageError("--tls-cert and --tls-key go together")
    with shop_at(shop_folder) as shop:
        opening = doors.Opening()
        if workshop:
            from bellhousing.records.certificates import kept_certificate
            from bellhousing.tasks.people import need_a_proprietor

            need_a_proprietor(shop)
            own = kept_certificate(shop.folder)
            opening = doors.opened_to_workshop(names, tls_cert, tls_key, behind_proxy, own)
        bound = web_door.listen(web_door.PORT if port is None else port, or_any=False, host=opening.bind)
        where = "open to the workshop at" if workshop else "open at"
        first_line = f"The shop in {shop.folder} is {where}"
        web_door.run(
            shop,
            bound,
            as_json=as_json,
            first_line=first_line,
            opening=opening,
            log_lines=log == "json",
            backups=backups,
        )
