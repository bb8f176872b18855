"""`bellhousing settings`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option, tell


@click.command("settings")
@click.argument("changes", nargs=-1, metavar="[NAME=VALUE]...")
@shop_option
@json_option
def command(changes: tuple[str, ...], shop_folder: Path | None, as_json: bool) -> None:
    """What the shop says of itself; with NAME=VALUE, change it, all or nothing.

    Names: name, lines (the address, ";" between its lines), who, words (british, american), units (inch,
    metric), theme (device, light, dark), paper (a4, us-letter), rate, tax, warranty, season, lay_up (months).
    An empty value is as usual again.
    """
    from bellhousing.errors import InputFileError
    from bellhousing.tasks.changing_settings import change_settings, settings_of_shop

    said = {}
    for change in changes:
        name, given, value = change.partition("=")
        if not given:
            raise InputFileError(
                f"'{change[:60]}' is no change", remedy="write it as NAME=VALUE, such as tax=20"
            )
        name = name.strip().replace("-", "_")
        said[name] = value.replace(";", "\n") if name == "lines" else value
    shop = shop_at(shop_folder)
    told = change_settings(shop, said) if said else settings_of_shop(shop)

    def shown() -> str:
        values = {**told.settings.model_dump(), "lines": "; ".join(told.settings.lines)}
        lines = [f"{name:10} {value}".rstrip() for name, value in values.items()]
        own = sum(one.own for one in told.instruments)
        lines.append(f"{len(told.instruments)} instruments, {own} of them the shop's own")
        lines.append(f"kept in {told.file}")
        return "\n".join([*lines, *([told.problem] if told.problem else [])])

    tell(told, as_json, shown)
