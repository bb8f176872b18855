"""An invented shop to try things on: three cars, one of them mid-job."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from bellhousing.tasks import noting, opening
from bellhousing.tasks.shop import Clock, Shop, now, open_shop


def open_demo(folder: Path, *, clock: Clock = now, cache: Path | None = None) -> Shop:
    """Open the invented shop in a folder, filling it if it is empty; a filled one is left as it is.

    Raises
    ------
    RecordError : a folder that cannot be used.
    """
    shop = open_shop(folder, clock=clock, cache=cache)
    try:
        if not shop.store.cars():
            fill(shop)
    except BaseException:
        shop.close()
        raise
    return shop


def fill(shop: Shop) -> None:
    """Put the invented cars, jobs and findings into an empty shop; the mid-job car's job comes last."""
    described = _described()["cars"]
    for car in described:
        opening.open_car(
            shop,
            car["name"],
            box=car["box"],
            axle_ratio=car.get("axle_ratio"),
            tyre_radius=car.get("tyre_radius"),
            altitude=car.get("altitude"),
            note=car["note"],
        )
    for car in sorted(described, key=lambda entry: len(entry["jobs"][0].get("notes", ()))):
        for job in car["jobs"]:
            _fill_job(shop, car["name"], job)


def _fill_job(shop: Shop, car: str, job: Mapping[str, Any]) -> None:
    opened = opening.open_job(shop, car, job["complaint"], odometer=job["odometer"])
    for question, answer in job.get("answers", {}).items():
        noting.answer_question(shop, opened.number, question, answer)
    for text in job.get("notes", ()):
        noting.note(shop, opened.number, text)


def _described() -> Any:
    from ruamel.yaml import YAML

    text = (resources.files("bellhousing.tasks") / "data" / "demo.yaml").read_text("utf-8")
    return YAML(typ="safe", pure=True).load(text)
