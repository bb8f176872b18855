"""Cars with faults of the catalogue, bent as the diagnosis bends them."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

import numpy as np

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.catalogue import Fault
from bellhousing.diagnosis.prepare import PhysicalModel
from bellhousing.errors import FindingError
from bellhousing.road.cars import Cars
from bellhousing.road.vehicle import Vehicle
from bellhousing.tasks.shipped import shipped_catalogue

Broken = tuple[str, int | None]
"""A fault, and which of the ways it can take; None = the first."""


def breakable(box: Box, fault: Fault) -> bool:
    """Whether a fault can be put into a simulated car of a box: it has the part, and the road shows it."""
    return bool(fault.effects) and (fault.part is None or fault.part not in box.missing_parts)


def afflicted(box: Box, cars: Cars, car: Vehicle, faults: Sequence[Broken], severity: float) -> Cars:
    """The same cars with faults, from mild (severity 0) to severe (1).

    Raises
    ------
    FindingError : a fault that this box cannot have, or that changes nothing on the road.
    """
    if not faults:
        return cars
    catalogue = shipped_catalogue().of_family(box.kind)
    possible = [
        fault
        for fault in catalogue.faults.values()
        if fault.part is None or fault.part not in box.missing_parts
    ]
    names = [fault.id for fault in possible]
    branches = np.zeros((len(cars), len(names)))
    for name, way in faults:
        if name not in names:
            near = difflib.get_close_matches(name, names, n=1)
            raise FindingError(
                f"there is no fault '{name}' on this box",
                remedy=f"did you mean '{near[0]}'?" if near else "see the list of causes",
            )
        effects = catalogue.faults[name].effects
        if not effects:
            raise FindingError(f"'{name}' changes nothing on the road", remedy="it shows only to eye and ear")
        ways = {effect.branch for effect in effects if effect.branch is not None}
        if way is not None:
            branches[:, names.index(name)] = (way - 0.5) / len(ways)
    model = PhysicalModel(
        vehicle=car,
        cars=cars,
        effects=tuple(fault.effects for fault in possible),
        severity=np.full((len(cars), len(names)), severity),
        branch=branches,
        noise=np.zeros(len(cars)),
    )
    return model.afflicted([tuple(names.index(name) for name, _ in faults)])
