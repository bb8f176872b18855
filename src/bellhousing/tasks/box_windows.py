"""The windows of a box's readings in a car: the manual's, the predicted ones, the usual ones."""

from __future__ import annotations

from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.prepare import CarFacts
from bellhousing.diagnosis.windows import sound_windows
from bellhousing.quantities.show import show, show_interval
from bellhousing.quantities.units import from_si
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.findings_file import car_figure
from bellhousing.tasks.preparation import CARS, SEED
from bellhousing.tasks.shipped import shipped_catalogue


class WindowAnswer(Shape):
    """The window of a reading in its usual unit; `finding` is its key under `windows` of a box file."""

    finding: str
    name: str
    text: str
    low: float
    high: float
    unit: str
    source: str


class BoxWindowsAnswer(Shape):
    """Every reading of a box in a car that has a window of the manual's or a predicted one."""

    box_name: str
    car: str
    windows: tuple[WindowAnswer, ...]


def windows_of_box(box: str, *, axle_ratio: str, tyre_radius: str, altitude: str) -> BoxWindowsAnswer:
    """The windows of the readings that depend on the box; `box` is a name or the path of a box file.

    Raises
    ------
    BoxFileError : no such box, or a file with faults, all of them listed.
    InputFileError : a figure of the car that cannot be.
    """
    loaded, catalogue = load_box(box), shipped_catalogue()
    car = CarFacts(
        car_figure("axle_ratio", axle_ratio, called="axle ratio"),
        car_figure("tyre_radius", tyre_radius, called="tyre radius"),
        car_figure("altitude", altitude),
    )
    found = []
    for name, band in sound_windows(loaded, car, catalogue, seed=SEED, cars=CARS).items():
        finding = catalogue.finding(name)
        found.append(
            WindowAnswer(
                finding=finding.id,
                name=finding.name,
                text=show_interval(band.low, band.high, finding.unit),
                low=float(from_si(band.low, finding.unit)),
                high=float(from_si(band.high, finding.unit)),
                unit=finding.unit,
                source=band.source,
            )
        )
    tyre, up = show(car.tyre_radius, "m", digits=3), show(car.altitude, "m")
    told = f"axle {car.axle_ratio:g}, tyre radius {tyre}, {up} up"
    return BoxWindowsAnswer(box_name=loaded.name, car=told, windows=tuple(found))
