"""An invented job from complaint to closing, with everything an owner's report can hold."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

from PIL import Image, ImageDraw

from bellhousing.records.entries import Car
from bellhousing.tasks import (
    accounting,
    building,
    ledger,
    ledger_parts,
    measuring,
    noting,
    opening,
    ordering,
    photos,
)
from bellhousing.tasks.shop import Shop, open_shop

COMPLAINT = "Shifts late and hard, some blue smoke when I pull away. My father never had that with it."
SETTINGS = """\
name: Invented Gearbox Workshop
lines: [1 Example Lane, Nowhere, telephone 000 000]
warranty: >-
  Twelve months or 10,000 miles on our work and the parts we fitted, whichever comes first.
"""


class Clock:
    """A clock that moves on by a minute each time it is read, and by days when told."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


def picture(colour: tuple[int, int, int], words: str) -> bytes:
    """An invented photo of one colour with words on it, as JPEG."""
    image = Image.new("RGB", (900, 600), colour)
    draw = ImageDraw.Draw(image)
    draw.ellipse((300, 150, 600, 450), outline=(240, 240, 230), width=14)
    draw.text((40, 540), words, fill=(250, 250, 240))
    held = io.BytesIO()
    image.save(held, "JPEG", quality=85)
    return held.getvalue()


def full_shop(folder: Path, *, cache: Path | None = None) -> Shop:
    """A shop with one car; job 1 is worked through to the end, job 2 waits for the owner's yes."""
    clock = Clock()
    shop = open_shop(folder, clock=clock, cache=cache)
    (folder / "shop.yaml").write_text(SETTINGS, encoding="utf-8")
    shop.store.add_car(
        Car(
            slug="grey-saloon",
            name="grey saloon (invented)",
            box="box-a",
            note="",
            owner="A. N. Owner",
            axle_ratio=3.08,
            tyre_radius_m=0.345,
            altitude_m=0.0,
        )
    )
    opening.open_job(shop, "grey-saloon", COMPLAINT, odometer="61,240 miles")
    for text in (
        "blue smoke when pulling away after idling",
        "fluid level low",
        "loses fluid but never a spot on the floor",
        "1-2 at 40 mph light throttle",
        "2-3 at 64 mph light throttle",
        "manifold vacuum 18 inHg",
        "line pressure idle D 128 psi hot",
        "no sound from the left door speaker",
    ):
        noting.note(shop, 1, text)
    opening.open_job(shop, "grey-saloon", COMPLAINT, odometer="61,260 miles")
    noting.note(shop, 2, "blue smoke when pulling away after idling")
    noting.note(shop, 2, "2-3 at 64 mph light throttle")
    accounting.set_terms(shop, 2, rate="£80/h", tax="20")
    _worked(shop, clock)
    return shop


def _worked(shop: Shop, clock: Clock) -> None:
    accounting.set_terms(shop, 1, rate="£80/h", tax="20")
    accounting.authorise(shop, 1, "diagnose", "120", by="owner", how="telephone", when="2 March")
    accounting.authorise(shop, 1, "repair", "420", by="owner", how="in the shop", when="3 March")
    accounting.put_hours(shop, 1, "1.0", "Looked at and driven with the gauge on", stage="diagnose")
    photos.add_photo(
        shop,
        1,
        picture((120, 40, 30), "fluid"),
        name="a.jpg",
        caption="Fluid in the vacuum hose",
        part="Modulator",
    )
    clock.now += timedelta(days=1)
    for part in ("modulator", "pan", "filter"):
        ledger_parts.move_part(shop, 1, part, off=True)
    ledger_parts.note_part(
        shop, 1, "modulator", "diaphragm torn, fluid inside", "replace", reason="holds no vacuum"
    )
    ledger_parts.note_part(shop, 1, "modulator-valve", "free, no scoring", "reuse")
    ledger_parts.note_baseline(shop, 1, "modulator", "modulator-holds-vacuum", value="falls at once")
    ordering.add_line(shop, 1, "modulator", why="diaphragm torn")
    ordering.set_status(shop, 1, "modulator", "ordered", price="62", without_numbers="one kind fits all")
    ordering.note_arrival(shop, 1, "modulator", "same")
    ordering.set_status(shop, 1, "modulator", "fitted")
    ordering.note_old_part(shop, 1, "modulator", "taken-by-owner")
    measuring.measure_on_job(shop, 1, "front end play 0.017 in")
    for part in ("filter", "pan", "modulator"):
        ledger_parts.move_part(shop, 1, part, off=False)
    for what in ("filter element", "pan gasket", "modulator ring"):
        ledger.renewed(shop, 1, what)
    ledger.renewed(shop, 1, "pickup-ring")
    for flange in ("pan", "modulator-clamp"):
        ledger.tick(shop, 1, "bolts-out", flange)
        ledger.tick(shop, 1, "bolts-back", flange)
        building.note_torque(shop, 1, flange)
    accounting.put_hours(shop, 1, "1.2", "Modulator, filter and pan gasket renewed", stage="repair")
    accounting.put_price(shop, 1, "fluid", "Fluid of the manual’s grade, 4.2 litres", "38")
    building.note_gate(shop, 1, "fluid-level-hot", "0 in")
    building.note_gate(shop, 1, "line-pressure-after", "66 psi")
    photos.add_photo(
        shop,
        1,
        picture((40, 90, 60), "new"),
        name="b.jpg",
        caption="New modulator, hose dry after the drive",
        part="Modulator",
    )
    for text in (
        "no blue smoke when pulling away",
        "1-2 at 13 mph light throttle",
        "2-3 at 20 mph light throttle",
        "line pressure idle D 66 psi hot",
    ):
        noting.note(shop, 1, text)
    opening.close_job(shop, 1, "mended", ["modulator-diaphragm-torn"])
