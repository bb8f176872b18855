"""`bellhousing car`."""

from __future__ import annotations

from pathlib import Path

import click

from bellhousing.cli.doors import json_option, shop_at, shop_option, tell, tell_all


@click.group("car")
def command() -> None:
    """Cars of the shop."""


@command.command("add")
@click.argument("name")
@click.option(
    "--box", default="three-speed-vacuum", show_default=True, help="A shipped box or family, or a path."
)
@click.option("--axle-ratio", help="Final drive, for example 3.08.")
@click.option("--tyre-radius", help="Rolling radius, for example '0.345 m' or '13.6 in'.")
@click.option("--altitude", help="Altitude of the workshop, for example '300 ft'.")
@click.option("--note", default="", help="Anything worth remembering.")
@shop_option
@json_option
def add(
    name: str,
    box: str,
    axle_ratio: str | None,
    tyre_radius: str | None,
    altitude: str | None,
    note: str,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Add a car by the NAME the shop calls it, for example "grey saloon"."""
    from bellhousing.tasks import opening

    car = opening.open_car(
        shop_at(shop_folder),
        name,
        box=box,
        axle_ratio=axle_ratio,
        tyre_radius=tyre_radius,
        altitude=altitude,
        note=note,
    )
    tell(car, as_json, lambda: f"{car.name} is kept as {car.slug}, box {car.box}.")


@command.command("list")
@shop_option
@json_option
def list_cars(shop_folder: Path | None, as_json: bool) -> None:
    """All cars of the shop."""
    from bellhousing.cli import show
    from bellhousing.tasks import opening, shop_boxes

    shop = shop_at(shop_folder)
    cars = opening.cars(shop)

    def shown() -> str:
        boxes = shop_boxes.titles(shop, (car.box for car in cars))
        rows = show.table((car.slug, car.name, boxes[car.box], car.note) for car in cars)
        return rows or "No cars yet: add one with 'bellhousing car add NAME'."

    tell_all(list(cars), as_json, shown)
