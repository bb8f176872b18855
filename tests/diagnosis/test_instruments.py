"""The error an instrument shares among its readings: draws, the likelihood they give, and what they do."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm
from scipy.stats import t as student

from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.instruments import bias_share, drawn_bias, shared_shift, sharing
from bellhousing.diagnosis.likelihood import MISREAD, floor, on_readings, reading_uncertainty, shared_bias
from bellhousing.diagnosis.posterior import diagnose
from tests.diagnosis.by_hand import INHG, PSI, by_hand, read_with, small, states

CARS = 160


def test_the_draws_of_an_instrument_are_a_normal_spread_about_nothing() -> None:
    """Mean zero, spread one, the same every time, another order for another instrument."""
    first, second = drawn_bias("gauge 1", 1, CARS), drawn_bias("gauge 2", 1, CARS)
    assert first.mean() == pytest.approx(0.0, abs=1e-12)
    assert first.std() == pytest.approx(1.0, abs=0.01)
    assert np.array_equal(first, drawn_bias("gauge 1", 1, CARS))
    assert not np.array_equal(first, second)
    assert abs(float(np.corrcoef(first, second)[0, 1])) < 0.2


def test_a_mean_of_two_instruments_moves_by_the_mean_of_their_draws() -> None:
    """The weights of the instruments weigh their draws; what is left of the bias is the root of squares."""
    both = Evidence("line-drive-idle", value=1.0, instruments=(("gauge 1", 0.5), ("gauge 2", 0.5)))
    wanted = 0.5 * (drawn_bias("gauge 1", 1, CARS) + drawn_bias("gauge 2", 1, CARS))
    assert shared_shift(both, 1, CARS) == pytest.approx(wanted)
    assert bias_share(both) == pytest.approx(np.sqrt(0.5))
    assert bias_share(Evidence("line-drive-idle", value=1.0)) == 1.0


def test_only_an_instrument_with_two_readings_is_drawn() -> None:
    """A reading that shares its instrument with no other keeps the whole of its error to itself."""
    line, vacuum = read_with("gauge 1", "line-drive-idle", 1.0), read_with("vacuum gauge", "x", 1.0)
    assert [entry.instruments for entry in sharing([line, vacuum])] == [(), ()]
    other = read_with("gauge 1", "line-reverse-idle", 2.0)
    assert sharing([line, vacuum, other]) == [line, Evidence("x", value=1.0), other]


@pytest.mark.parametrize(("first", "second"), [(1.5, 1.5), (1.5, -1.5), (3.0, 3.0)])
def test_two_readings_of_one_gauge_against_the_integral_over_its_bias(first: float, second: float) -> None:
    """Where all cars are alike, the mean over the draws is the integral over a normal bias."""
    prepared = small()
    finding = prepared.catalogue.finding("line-drive-idle")
    bias, middle = shared_bias(finding), 65.0 * PSI
    alike = np.full((1, CARS), middle, dtype=np.float32)
    entries = [read_with("gauge 1", finding.id, middle + offset * bias) for offset in (first, second)]
    product = np.ones((1, CARS))
    for entry in entries:
        product *= on_readings(prepared, finding, entry, alike)

    total = reading_uncertainty(finding, entries[0])
    own = finding.half_width / 2.0
    misread = MISREAD * floor(finding, total)

    def each(offset: float, z: float) -> float:
        density = student.pdf((offset - z) * bias, 5, scale=own) / student.pdf(0.0, 5, scale=total)
        return float((1.0 - MISREAD) * density + misread)

    wanted, _ = quad(lambda z: norm.pdf(z) * each(first, z) * each(second, z), -8.0, 8.0)
    assert float(product.mean()) == pytest.approx(wanted, rel=0.02)
    apart = float(
        np.prod(
            [
                on_readings(prepared, finding, Evidence(finding.id, value=entry.value), alike)[0, 0]
                for entry in entries
            ]
        )
    )
    assert abs(np.log(apart / wanted)) > 2.0 * abs(np.log(float(product.mean()) / wanted))


def test_readings_with_one_gauge_as_by_hand() -> None:
    """Every cause agrees with plain enumeration, car by car, a mean of two gauges among the readings."""
    evidence = [
        read_with("gauge 1", "line-drive-idle", 76.0 * PSI),
        Evidence(
            "line-reverse-idle",
            value=112.0 * PSI,
            standard_uncertainty=1.5 * PSI,
            instruments=(("gauge 1", 0.5), ("gauge 2", 0.5)),
        ),
        read_with("gauge 2", "line-drive-1000", 80.0 * PSI),
        read_with("vacuum gauge", "modulator-vacuum-idle", 15.0 * INHG),
        states("fluid-in-modulator-hose", "wet"),
    ]
    found = diagnose(small(), evidence)
    for fault, wanted in by_hand().marginals(sharing(evidence)).items():
        assert found.cause(fault).probability == pytest.approx(wanted, abs=1e-3 + 2.0 * found.unexplored_mass)


def test_two_high_readings_of_one_gauge_say_less_than_of_two() -> None:
    """A gauge that reads high explains both."""
    prepared = small()

    def pump_worn(*gauges: str) -> float:
        readings = [("line-drive-idle", 56.0), ("line-neutral-idle", 56.0), ("line-drive-1000", 58.0)]
        evidence = [
            read_with(gauge, name, figure * PSI)
            for gauge, (name, figure) in zip(gauges, readings, strict=True)
        ]
        return diagnose(prepared, evidence, reasons=False).cause("pump-worn").probability

    assert pump_worn("gauge 1", "gauge 1", "gauge 1") < pump_worn("gauge 1", "gauge 2", "gauge 3") - 0.01
