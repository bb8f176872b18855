"""Very many cars through one manoeuvre in blocks, on as many processors as there are."""

from __future__ import annotations

import copyreg
import io
import pickle
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import fields, replace
from types import MappingProxyType

import numpy as np

from bellhousing.boxes.box import Box
from bellhousing.road.cars import Cars
from bellhousing.road.drive.drive import Drive
from bellhousing.road.drive.manoeuvres import Manoeuvre
from bellhousing.road.drive.simulate import STEP, simulate
from bellhousing.road.vehicle import Vehicle

BLOCK = 500
"""Cars of one block. It does not ask how many work on them, so that the answer does not either."""


def simulate_apart(
    executor: Executor,
    box: Box,
    cars: Cars,
    car: Vehicle,
    manoeuvre: Manoeuvre,
    *,
    step: float = STEP,
    record: float = 0.1,
    block: int = BLOCK,
) -> Drive:
    """As `simulate`, block by block on whatever the executor has to work with.

    All cars take the step of the stiffest, and are driven until the last of them has done. Arrays of one car
    or of many are the same to three-speeds, to the last digit; to four-speeds to the order in which the
    processor adds.

    Raises
    ------
    BoxFileError, QuantityError : as `simulate`
    """
    parts = [cars.take(np.arange(at, min(at + block, len(cars)))) for at in range(0, len(cars), block)]
    made = list(
        executor.map(_driven, [_sent(box, part, car, manoeuvre, step, record, 0.0) for part in parts])
    )
    # The smallest step is the one nothing must be halved for; what ended early is driven on.
    least, longest = min(one.step for one in made), max(len(one.time) for one in made)
    again = [at for at, one in enumerate(made) if one.step != least or len(one.time) != longest]
    if again:
        until = max(float(one.time[-1]) for one in made) + record
        jobs = [_sent(box, parts[at], car, manoeuvre, least, record, until) for at in again]
        others = executor.map(_driven, jobs)
        for at, one in zip(again, others, strict=True):
            made[at] = one
    return _joined(made)


class _Pickler(pickle.Pickler):
    """Sends the mappings of a box, which are not to be written to, to another process."""

    dispatch_table = copyreg.dispatch_table | {MappingProxyType: lambda proxy: (_fixed, (dict(proxy),))}


def _fixed(values: dict[str, object]) -> MappingProxyType[str, object]:
    return MappingProxyType(values)


def _sent(*job: object) -> bytes:
    stream = io.BytesIO()
    _Pickler(stream, pickle.HIGHEST_PROTOCOL).dump(job)
    return stream.getvalue()


def _driven(job: bytes) -> Drive:
    box, cars, car, manoeuvre, step, record, until = pickle.loads(job)
    return simulate(box, cars, car, manoeuvre, step=step, record=record, until=until)


def _joined(made: Sequence[Drive]) -> Drive:
    """The blocks side by side, as many rows as all of them have."""
    rows = min(len(one.time) for one in made)
    names = [one.name for one in fields(Drive) if isinstance(getattr(made[0], one.name), np.ndarray)]
    names.remove("time")
    arrays = {name: np.concatenate([getattr(one, name)[:rows] for one in made], axis=1) for name in names}
    firsts = np.cumsum([0, *(one.cars for one in made)])
    commands = [
        replace(command, car=command.car + int(first))
        for first, one in zip(firsts, made, strict=False)
        for command in one.commands
    ]
    commands.sort(key=lambda command: command.time)
    first = made[0]
    return Drive(
        manoeuvre=first.manoeuvre,
        step=first.step,
        commands=tuple(commands),
        time=first.time[:rows],
        **arrays,
    )
