"""`bellhousing share`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell, tell_all


@click.group("share")
def command() -> None:
    """Links by which an owner sees the report or the estimate of one job, and nothing else."""


@command.command("make")
@click.argument("job", type=NUMBER)
@click.option("--estimate", is_flag=True, help="The estimate, not the report.")
@click.option("--days", type=int, help="How many days it holds (30, if not said).")
@click.option("--at", "base", metavar="ADDRESS", help="The shop's address, like https://shop.example.")
@shop_option
@json_option
def make(
    job: int, estimate: bool, days: int | None, base: str | None, shop_folder: Path | None, as_json: bool
) -> None:
    """Make a link to a job's report; what opens it is shown this once and kept nowhere."""
    from bellhousing.tasks import sharing

    page = sharing.ESTIMATE if estimate else sharing.REPORT
    wanted = sharing.USUAL_DAYS if days is None else days
    made = sharing.share(shop_at(shop_folder), job, page, days=wanted)
    path = f"/shared/{made.token}"
    told = (
        f"{base.rstrip('/')}{path}"
        if base
        else f"{path}\n  (after the address that 'bellhousing serve' prints; or give it with --at)"
    )
    tell(
        made,
        as_json,
        lambda: f"{told}\nLink {made.number}, {made.page} of job {job}: {made.text}.\nIt is shown this once.",
    )


@command.command("list")
@click.argument("job", type=NUMBER)
@shop_option
@json_option
def list_links(job: int, shop_folder: Path | None, as_json: bool) -> None:
    """The links of a job, newest first, without what opens them."""
    from bellhousing.cli import show
    from bellhousing.tasks import sharing

    links = sharing.shares_of(shop_at(shop_folder), job)
    tell_all(
        list(links),
        as_json,
        lambda: (
            show.table((str(link.number), link.page, link.state, link.text) for link in links)
            or f"No links yet: make one with 'bellhousing share make {job}'."
        ),
    )


@command.command("take-back")
@click.argument("job", type=NUMBER)
@click.argument("link", type=NUMBER)
@shop_option
@json_option
def take_back(job: int, link: int, shop_folder: Path | None, as_json: bool) -> None:
    """Let a LINK of a job show nothing any more, by its number in the list."""
    from bellhousing.tasks import sharing

    taken = sharing.revoke(shop_at(shop_folder), job, link)
    tell(taken, as_json, lambda: f"Link {taken.number}: {taken.text}.")
