"""Thousands of cars through one manoeuvre at once: fixed steps, state arrays over cars.

Between events the speeds follow the classical Runge-Kutta method. What begins to stick or to slip does so at
the next step, by its own impulse; shift valves and phases change at the moment interpolated within a step;
what slipping elements hold is carried on in a straight line. So the whole is of second order in the step, and
of fourth where nothing slips, locks or shifts. Three-speeds on which nothing is about to change take four
steps at once, where the error estimate of the method allows it; rows in between lie on the cubic through both
ends.
"""

from __future__ import annotations

from bellhousing.boxes.box import Box
from bellhousing.boxes.kinds import FOUR_SPEED
from bellhousing.errors import QuantityError
from bellhousing.road.cars import Cars
from bellhousing.road.drive.drive import Drive
from bellhousing.road.drive.four.run import FourSpeedRun, four_speed_run
from bellhousing.road.drive.kept import Kept
from bellhousing.road.drive.manoeuvres import Manoeuvre
from bellhousing.road.drive.road_load import Body
from bellhousing.road.drive.set_up import TooStiff
from bellhousing.road.drive.three_speed import ThreeSpeedRun, three_speed_run
from bellhousing.road.vehicle import Vehicle

STEP = 0.01
"""Usual step [s]."""


def simulate(
    box: Box,
    cars: Cars,
    car: Vehicle,
    manoeuvre: Manoeuvre,
    *,
    step: float = STEP,
    record: float = 0.1,
    road: Body | None = None,
    until: float = 0.0,
) -> Drive:
    """Drive every car through a manoeuvre; faults act through the cars' parameters, as in the diagnosis.

    Parameters
    ----------
    box : gives what no car draws: inertia of the turbine, volume of the accumulators
    cars : the cars, (n,)
    car : gears, axle and tyre
    step : of the integration [s]; halved by itself where converter and turbine are too stiff for it, and the
        drive begun again where an engine that nothing holds runs up beyond what its step bears
    record : time between the rows kept [s]
    road : what of the car meets the road
    until : how long they are driven on at least when all have done with their manoeuvre [s]

    Raises
    ------
    BoxFileError : a number or gear train that is not known
    QuantityError : a step that is no figure between 0.1 ms and 20 ms, or a range this box is not driven in
    """
    if not 1e-4 <= step <= 0.02:
        raise QuantityError(f"a step of {step} s", remedy="between 0.0001 s and 0.02 s")
    start = four_speed_run if box.kind == FOUR_SPEED else three_speed_run
    while True:
        try:
            run = start(box, cars, car, manoeuvre, step, road or Body())
            return _through(run, manoeuvre, record, until)
        except TooStiff:
            step /= 2.0


def _through(run: FourSpeedRun | ThreeSpeedRun, manoeuvre: Manoeuvre, record: float, until: float) -> Drive:
    every = max(1, round(record / run.h))
    number, last = 0, round(manoeuvre.longest / run.h)
    run.kept = Kept(every, last // every + 1)
    while number <= last:
        over = run.foot.done.all() and number * run.h >= until
        number += run.advance(number, every, last)
        if over:
            break
    return run.kept.drive(manoeuvre.name, run.commands, run.h)
