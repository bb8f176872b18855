"""The window beside a reading: the manual's figure, the band predicted for a sound car, or the usual one."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bellhousing.boxes.box import Box
from bellhousing.diagnosis.catalogue import Catalogue, Finding
from bellhousing.diagnosis.prepare import CarFacts, Prepared
from bellhousing.fits.verdict import conformity
from bellhousing.quantities.odds import in_100
from bellhousing.quantities.parse import parse_measured
from bellhousing.road.calibration import calibrated
from bellhousing.road.cars import draw_cars
from bellhousing.road.shown import show_cars, vehicle

MANUAL = "this box's manual"
PREDICTED = "predicted for this box and car"
USUAL = "usual for the kind"


@dataclass(frozen=True)
class Window:
    """Permitted band of a reading [SI] and where it comes from."""

    low: float
    high: float
    source: str


@dataclass(frozen=True)
class Verdict:
    """Chance that the true value lies inside the window, and how to say so."""

    inside: float
    text: str


def window(prepared: Prepared, finding_id: str) -> Window | None:
    """Window of a reading: the manual's, then the band holding 95 of 100 sound cars, then the family's."""
    typed = prepared.box.windows.get(finding_id)
    if typed is not None:
        return Window(typed.low, typed.high, MANUAL)
    finding = prepared.catalogue.finding(finding_id)
    predicted = prepared.shown.readings.get(finding_id)
    if predicted is not None:
        found = predicted_window(finding, predicted[0])
        if found is not None:
            return found
    if finding.usual is not None:
        return Window(*finding.usual, USUAL)
    return None


def predicted_window(finding: Finding, sound: NDArray[np.floating]) -> Window | None:
    """The band that holds 95 of 100 sound cars, half a reading's own half-width wider at each end.

    `sound` is what sound cars show [SI], not finite where one shows nothing; None where one in ten do.
    """
    shown = sound[np.isfinite(sound)].astype(float)
    if len(shown) <= 0.9 * len(sound):
        return None
    low, high = np.quantile(shown, [0.025, 0.975])
    slack = finding.half_width / 2.0
    least, most = finding.possible or (-math.inf, math.inf)
    return Window(max(float(low - slack), least), min(float(high + slack), most), PREDICTED)


def sound_windows(
    box: Box, car: CarFacts, catalogue: Catalogue, *, seed: int = 1, cars: int = 160
) -> dict[str, Window]:
    """The manual's or the predicted window of every reading that depends on the box, without its faults.

    The cars are those that `prepare` draws of the same box, car and seed, so the windows are the same.
    """
    box = calibrated(box)
    catalogue = catalogue.of_family(box.kind)
    drawn = draw_cars(box, cars, np.random.default_rng(seed))
    shown = show_cars(drawn, vehicle(box, car.axle_ratio, car.tyre_radius, car.altitude)).readings
    found: dict[str, Window] = {}
    for finding in catalogue.findings.values():
        typed = box.windows.get(finding.id)
        band = None if finding.id not in shown else predicted_window(finding, shown[finding.id])
        if typed is not None:
            band = Window(typed.low, typed.high, MANUAL)
        if band is not None:
            found[finding.id] = band
    return found


def verdict(band: Window, value: float, standard_uncertainty: float) -> Verdict:
    """Chance that the true value conforms: Phi((high - y)/u) - Phi((low - y)/u), JCGM 106:2012 section 7."""
    inside = conformity(band.low, band.high, value, standard_uncertainty)
    if inside >= 0.5:
        return Verdict(inside, f"inside, {in_100(inside)}")
    side = "above" if value > band.high else "below" if value < band.low else "outside"
    return Verdict(inside, f"{side}, {in_100(1.0 - inside)}")


def words_region(prepared: Prepared, finding: Finding, word: str) -> tuple[float, float, float]:
    """The region of values a word names: low, high [SI] and the chance that 'it never happened' is meant."""
    meaning = finding.words[word]
    if not isinstance(meaning, str):
        low, high = (math.inf if end is None else _number(end, finding.unit) for end in meaning)
        return (-math.inf if meaning[0] is None else low), high, 0.0
    band = window(prepared, finding.id)
    low, high = (band.low, band.high) if band is not None else (0.0, math.inf)
    regions = {
        "below": (-math.inf, low, 0.0),
        "inside": (low, high, 0.0),
        "above": (high, math.inf, 0.25),
        "never": (math.inf, math.inf, 1.0),
        "absent": (-math.inf, 0.5, 0.0),
        "none": (-math.inf, finding.half_width, 0.0),
    }
    return regions[meaning]


def _number(text: object, unit: str) -> float:
    return parse_measured(str(text), usual_unit=unit).value
