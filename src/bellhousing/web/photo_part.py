"""The photos on a job's page: the strip, what a photo may belong to, what was taken back."""

from __future__ import annotations

from dataclasses import dataclass

from bellhousing.tasks.photos import (
    BeforeAfter,
    PhotoAnswer,
    before_and_after,
    photos_of_job,
    taken_back_of_job,
)
from bellhousing.tasks.shop import Shop
from bellhousing.web.pages import whole_of


@dataclass(frozen=True)
class PhotoPart:
    """The photos that stand, those taken back, pairs worth comparing, and the finding a new one is about."""

    photos: tuple[PhotoAnswer, ...]
    taken_back: tuple[PhotoAnswer, ...]
    pairs: tuple[BeforeAfter, ...]
    about: int | None


def photo_part(shop: Shop, number: int, about: str = "") -> PhotoPart:
    """The photos of a job; `about` is the entry a new photo is to belong to, as its address says."""
    return PhotoPart(
        photos=photos_of_job(shop, number),
        taken_back=taken_back_of_job(shop, number),
        pairs=before_and_after(shop, number),
        about=whole_of(about),
    )
