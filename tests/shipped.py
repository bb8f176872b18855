"""The shipped catalogue and models made with it, once for all tests of a worker; nothing changes them."""

from __future__ import annotations

from functools import cache

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.catalogue import Catalogue, load_catalogue
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare


@cache
def catalogue_as_shipped() -> Catalogue:
    """Everything the diagnosis knows of the trade; reading it takes a second."""
    return load_catalogue()


@cache
def ready(box: str, cars: int = 80) -> Prepared:
    """A shipped box in its usual car with everything its kind can have."""
    return prepare(load_box(box), CarFacts(), catalogue_as_shipped(), cars=cars)
