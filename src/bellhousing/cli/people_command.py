"""`bellhousing people`."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option, tell, tell_all

NOBODY = "Nobody yet: bellhousing people set-passphrase makes the proprietor"
ROLE = click.Choice(("reader", "mechanic", "proprietor"), case_sensitive=False)


@click.group("people", invoke_without_command=True)
@shop_option
@json_option
@click.pass_context
def command(context: click.Context, shop_folder: Path | None, as_json: bool) -> None:
    """Who may come in when the app is open to the workshop; without a command, list them.

    A reader looks only, a mechanic works on jobs, a proprietor does everything.
    """
    if context.invoked_subcommand is None:
        _list(shop_folder, as_json)


@command.command("list")
@shop_option
@json_option
def list_people(shop_folder: Path | None, as_json: bool) -> None:
    """Who may come in, and what for."""
    _list(shop_folder, as_json)


def _list(shop_folder: Path | None, as_json: bool) -> None:
    from bellhousing.tasks import people

    with shop_at(shop_folder) as shop:
        found = people.everybody(shop)
    tell_all(list(found), as_json, lambda: "\n".join(one.text for one in found) or NOBODY)


@command.command("add")
@click.argument("name")
@click.option("--role", type=ROLE, default="mechanic", show_default=True)
@shop_option
@json_option
def add(name: str, role: str, shop_folder: Path | None, as_json: bool) -> None:
    """Let somebody in: add "Anna" --role mechanic. The pass phrase is asked and not shown."""
    from bellhousing.tasks import people

    with shop_at(shop_folder) as shop:
        people.checked_name(name)
        answer = people.add(shop, name, role, phrase=_asked(name))
    tell(answer, as_json, lambda: answer.text)


@command.command("role")
@click.argument("name")
@click.argument("role", type=ROLE)
@shop_option
@json_option
def role(name: str, role: str, shop_folder: Path | None, as_json: bool) -> None:
    """Give somebody another role; they log in anew."""
    from bellhousing.tasks import people

    with shop_at(shop_folder) as shop:
        answer = people.set_role(shop, name, role)
    tell(answer, as_json, lambda: answer.text)


@command.command("remove")
@click.argument("name")
@shop_option
@json_option
def remove(name: str, shop_folder: Path | None, as_json: bool) -> None:
    """Let somebody in no more, from this moment; what they wrote keeps their name."""
    from bellhousing.tasks import people

    with shop_at(shop_folder) as shop:
        answer = people.remove(shop, name)
    tell(answer, as_json, lambda: f"{answer.name} is let in no more")


@command.command("set-passphrase")
@click.argument("name", required=False)
@shop_option
@json_option
def set_passphrase(name: str | None, shop_folder: Path | None, as_json: bool) -> None:
    """Set a pass phrase, the proprietor's unless a NAME is given; asked twice and not shown.

    In a shop without people this makes the proprietor.  Where nobody is at the keyboard it is read as one
    line.
    """
    from bellhousing.tasks import people

    with shop_at(shop_folder) as shop:
        answer = people.set_phrase(shop, name, _asked(name or "the proprietor"))
    tell(answer, as_json, lambda: answer.text)


@command.command("make-certificate")
@click.option("--name", "names", multiple=True, help="A name or address the app is reached by.")
@click.option("--new-authority", is_flag=True, help="Make the authority anew; tablets must trust it again.")
@shop_option
@json_option
def make_certificate(
    names: tuple[str, ...], new_authority: bool, shop_folder: Path | None, as_json: bool
) -> None:
    """Make the shop's own authority and a certificate of one year for this machine's names."""
    import json

    from bellhousing.cli.workshop import machine_names
    from bellhousing.records.certificates import make_certificates

    with shop_at(shop_folder) as shop:
        wanted = (*names, *machine_names())
        made = make_certificates(shop.folder, wanted, at=shop.clock(), anew=new_authority)
    if as_json:
        paths = {"authority": str(made.authority), "certificate": str(made.certificate), "key": str(made.key)}
        click.echo(json.dumps(paths | {"names": made.names, "until": made.until.isoformat()}))
        return
    trusted = "" if not made.new_authority else f"Tablets are told to trust {made.authority} once.\n"
    until = made.until.date().isoformat()
    click.echo(
        f"A certificate for {', '.join(made.names)} holds until {until}.\n{trusted}"
        "bellhousing serve --workshop uses it by itself; make it anew before it runs out."
    )


def _asked(name: str) -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    asked: str = click.prompt(
        f"Pass phrase of {name}", hide_input=True, confirmation_prompt="Once more", err=True
    )
    return asked
