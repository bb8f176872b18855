"""Numbers of the bench as findings of the catalogue, and what measured rings drip."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.diagnosis.bench_drips import SEALED, SITES, parked_drops
from bellhousing.diagnosis.bench_findings import MEANINGS, bench_findings
from bellhousing.diagnosis.catalogue import Catalogue
from bellhousing.diagnosis.evidence import check_evidence
from bellhousing.diagnosis.leak_levels import levels_of
from bellhousing.fits.measures import shipped_measures
from bellhousing.hydraulics.drip import drop_volume
from bellhousing.road.bench import LIPS, MEASURED, SOUND, BenchNumber
from tests.shipped import catalogue_as_shipped

INCH = 0.0254


@pytest.fixture(scope="module")
def box() -> Box:
    """Box A."""
    return load_box("box-a")


@pytest.fixture(scope="module")
def catalogue(box: Box) -> Catalogue:
    """The catalogue as it is for a box of that kind."""
    return catalogue_as_shipped().of_family(box.kind)


def _states(box: Box, catalogue: Catalogue, *numbers: tuple[str, float, float]) -> dict[str, tuple[str, ...]]:
    given = [BenchNumber(name, value * INCH, spread * INCH) for name, value, spread in numbers]
    return {one.evidence.finding: one.evidence.states for one in bench_findings(given, box, catalogue)}


def test_everything_named_is_measured_and_means_a_finding(box: Box, catalogue: Catalogue) -> None:
    """Slugs of the bench, findings and states all exist, here and in the list of what is measured."""
    known = set(shipped_measures())
    assert set(MEANINGS) <= known
    assert {*MEASURED, *SOUND, *LIPS, *SITES} <= known
    assert set(SITES) == set(SEALED)
    assert set(SITES.values()) <= {site.id for site in box.leak_sites}
    assert set(MEANINGS) <= set(box.measurements)
    for meaning in MEANINGS.values():
        finding = catalogue.finding(meaning.finding)
        if meaning.inside:
            assert {meaning.inside, meaning.beyond} <= set(finding.states)
        else:
            assert finding.thresholds is not None


def test_inside_beyond_and_neither(box: Box, catalogue: Catalogue) -> None:
    """Well inside is sound, well beyond is worn, near the limit is no finding."""
    name = "pump-face-clearance"
    assert _states(box, catalogue, (name, 0.0017, 0.0002)) == {"pump-gears": ("sound",)}
    assert _states(box, catalogue, (name, 0.0040, 0.0002)) == {"pump-gears": ("worn",)}
    assert _states(box, catalogue, (name, 0.0025, 0.0002)) == {}


def test_one_worn_number_is_enough_and_one_in_doubt_keeps_it_open(box: Box, catalogue: Catalogue) -> None:
    """Several numbers of one part: the worst decides, and sound is said only when all are."""
    sound, worn, doubt = ("pump-face-clearance", 0.0017, 0.0001), 0.0120, 0.0080
    tip = "pump-crescent-clearance"
    assert _states(box, catalogue, sound, (tip, worn, 0.0005)) == {"pump-gears": ("worn",)}
    assert _states(box, catalogue, sound, (tip, doubt, 0.0005)) == {}
    assert _states(box, catalogue, sound, (tip, 0.0050, 0.0005)) == {"pump-gears": ("sound",)}


def test_a_finding_with_a_figure_takes_the_figure(box: Box, catalogue: Catalogue) -> None:
    """End play goes in as measured, with its own uncertainty."""
    (one,) = bench_findings([BenchNumber("front-end-play", 0.034 * INCH, 0.001 * INCH)], box, catalogue)
    assert one.evidence.finding == "input-end-play"
    assert one.evidence.value == pytest.approx(0.034 * INCH)
    assert one.evidence.standard_uncertainty == pytest.approx(0.001 * INCH)
    check_evidence(one.evidence, catalogue, box)


def test_a_flat_ring_is_one_that_hardly_reaches(box: Box, catalogue: Catalogue) -> None:
    """For a seal less is worse."""
    for reach, state in ((0.5e-3, "supple"), (-0.1e-3, "ring-flat")):
        (one,) = bench_findings([BenchNumber("pump-ring-reach", reach, 0.01e-3)], box, catalogue)
        assert one.evidence.states == (state,)


def test_what_no_finding_asks_for_is_none(box: Box, catalogue: Catalogue) -> None:
    """A pack clearance moves the road, and the catalogue asks nothing of it."""
    assert bench_findings([BenchNumber("forward-pack-clearance", 0.1 * INCH, 0.0)], box, catalogue) == ()


def _drops(box: Box, reach: float, name: str = "pump-ring-reach") -> np.ndarray:
    drops = parked_drops(box, [BenchNumber(name, reach, 2e-6)], sound=math.nan)
    assert drops is not None
    return 60.0 * drops


def test_a_ring_that_reaches_is_dry_and_one_that_stands_clear_drips(box: Box) -> None:
    """More the further it stands clear."""
    assert np.all(_drops(box, 1e-4) == 0.0)
    little, much = float(np.median(_drops(box, -1e-5))), float(np.median(_drops(box, -6e-5)))
    assert 0.0 < little < much


def test_a_place_above_the_fluid_does_not_drip_parked(box: Box) -> None:
    """The same gap lower down drips; without a number nothing is said."""
    high = {site.id: site for site in box.leak_sites}["modulator"].height
    low = {site.id: site for site in box.leak_sites}["connector"].height
    assert high is not None
    assert low is not None
    assert low.value < high.value
    lower = float(_drops(box, -5e-5, "connector-ring-reach").mean())
    upper = float(_drops(box, -5e-5, "modulator-ring-reach").mean())
    assert lower / SEALED["connector-ring-reach"] > upper / SEALED["modulator-ring-reach"]
    assert parked_drops(box, [], sound=math.nan) is None


@pytest.mark.beside(
    "the mean of all that scatters, part by part, by scipy", code="diagnosis.bench_drips.parked_drops"
)
def test_drops_by_their_mean(box: Box) -> None:
    """Fluid through the slot round the wall under the mean head that is left, over drops of every size.

    The head is a normal one cut off at nothing; the flow's own factor has its mean by the logarithmic normal
    distribution.
    """
    gap, off, wall, contact = 6e-5, 1.5e-5, 240e-3, 1.5e-3
    level = levels_of(box).overnight
    place = {site.id: site for site in box.leak_sites}["pump-ring-joint"].height
    assert place is not None
    spread = math.hypot(level.spread, place.scatter)
    above = (level.height - place.value) / spread
    head = spread * (norm.pdf(above) + above * norm.cdf(above))
    low, high, rho15 = (
        box.number(f"fluid.{key}").value for key in ("viscosity_40", "viscosity_100", "density_15")
    )
    assert low is not None
    assert high is not None
    assert rho15 is not None
    rho = rho15 * (1.0 - 7e-4 * 5.0)
    line = np.polyfit(np.log([313.15, 373.15]), np.log(np.log([1e6 * low + 0.7, 1e6 * high + 0.7])), 1)
    viscosity = 1e-6 * (math.exp(math.exp(np.polyval(line, math.log(293.15)))) - 0.7) * rho
    cubes = quad(lambda angle: max(gap + off * math.cos(angle), 0.0) ** 3, 0.0, 2.0 * math.pi)[0]
    flow = 0.5 * wall * cubes * rho * 9.80665 * head / (12.0 * viscosity * contact) * math.exp(0.35**2 / 2.0)
    tips = 1.2e-3 + 3.3e-3 * (np.arange(100) + 0.5) / 100
    by_mean = 60.0 * flow * float(np.mean(1.0 / drop_volume(tips, 0.030, 860.0)))
    assert float(_drops(box, -gap).mean()) == pytest.approx(by_mean, rel=0.03)
