"""Readings at the bench: budget, ring, temperature, and what would tell where a reading does not."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from bellhousing.errors import InputFileError, QuantityError
from bellhousing.fits.instruments import find_instrument, read_instruments, shipped_instruments
from bellhousing.fits.measurement import (
    Heat,
    check_possible,
    judged,
    measure,
    ring_spread,
    what_would_tell,
)
from bellhousing.fits.measures import find_measure, shipped_measures
from bellhousing.fits.verdict import CANNOT_TELL

THOU = 25.4e-6
DIAL = shipped_instruments()["dial-indicator"]


def test_one_reading_takes_what_is_usual_for_the_instrument() -> None:
    """Repeatability, half a step and the permissible error, root of the sum of squares."""
    found = measure([21 * THOU], DIAL, unit="in")
    wanted = math.sqrt(1.0**2 + (1.0 / math.sqrt(12)) ** 2 + (1.0 / math.sqrt(3)) ** 2)
    assert found.standard_uncertainty / THOU == pytest.approx(wanted, rel=1e-9)
    assert [line.input.kind for line in found.budget.components] == ["B", "B", "B"]


def test_repeats_are_seen() -> None:
    """The spread of the readings themselves stands in the budget, with its degrees of freedom."""
    found = measure([20 * THOU, 21 * THOU, 22 * THOU], DIAL, unit="in")
    first = found.budget.components[0]
    assert (first.input.kind, first.input.freedom) == ("A", 2.0)
    assert first.contribution / THOU == pytest.approx(1.0 / math.sqrt(3))
    assert math.isfinite(found.budget.freedom)


def test_the_same_step_each_time_is_no_certainty() -> None:
    """Three equal readings still repeat as the instrument does."""
    found = measure([21 * THOU] * 3, DIAL, unit="in")
    assert found.budget.components[0].contribution / THOU == pytest.approx(1.0 / math.sqrt(3))


def test_a_warm_part_is_brought_back_to_twenty_degrees() -> None:
    """An aluminium bore read with steel at 40 °C is smaller at 20 °C."""
    heat = Heat(313.15, 2.0, expansion=11.5e-6)
    warm = measure([0.1], shipped_instruments()["long-inside-micrometer"], unit="mm", heat=heat)
    assert warm.value == pytest.approx(0.1 * (1 - 11.5e-6 * 20), rel=1e-9)
    cold = measure([0.1], shipped_instruments()["long-inside-micrometer"], unit="mm")
    assert warm.standard_uncertainty > cold.standard_uncertainty
    assert len(warm.budget.components) == 5


def test_readings_that_cannot_be_are_refused() -> None:
    """None at all, no number, and outside what is possible."""
    for readings in ([], [math.nan]):
        with pytest.raises(QuantityError):
            measure(readings, DIAL, unit="in")
    with pytest.raises(QuantityError, match="impossible"):
        check_possible(0.3, (0.0, 0.006), "in", "front end play")


def test_a_spread_around_the_ring_is_a_finding() -> None:
    """Beyond its limit it says what it means; within it says nothing is wrong."""
    coned = ring_spread([41 * THOU, 56 * THOU, 43 * THOU], 10 * THOU, THOU, unit="in", tells="a coned plate")
    assert coned.found
    assert "0.015 in" in coned.text
    assert "a coned plate" in coned.text
    even = ring_spread([41 * THOU, 43 * THOU, 42 * THOU], 10 * THOU, THOU, unit="in", tells="a coned plate")
    assert not even.found
    assert even.probability < 0.01


@pytest.mark.parametrize("thou", [16.4, 16.8, 17.2, 17.6, 18.3, 19.2, 7.5])
def test_what_would_tell_does_tell(thou: float) -> None:
    """The repeats and instruments named, taken at their word, judge the same figure."""
    every = shipped_instruments()
    found = measure([thou * THOU], DIAL, unit="in")
    low, high = 6 * THOU, 18 * THOU
    told = what_would_tell(found, low, high, every)
    if judged(found, low, high).outcome != CANNOT_TELL:
        assert told is None
        return
    assert told is not None
    for name in told.instruments:
        other = measure([thou * THOU], find_instrument(name), unit="in")
        assert judged(other, low, high).outcome != CANNOT_TELL
    if told.repeats is not None:
        again = measure([thou * THOU] * told.repeats, DIAL, unit="in")
        assert judged(again, low, high).outcome != CANNOT_TELL
        fewer = measure([thou * THOU] * (told.repeats - 1), DIAL, unit="in")
        assert judged(fewer, low, high).outcome == CANNOT_TELL


def test_a_spread_of_the_part_is_not_cured_by_an_instrument() -> None:
    """Two readings two thousandths apart under a fine dial: more readings, never a coarser one."""
    fine = shipped_instruments()["fine-dial-indicator"]
    told = what_would_tell(
        measure([12 * THOU, 14 * THOU], fine, unit="in"), 6 * THOU, 18 * THOU, shipped_instruments()
    )
    assert told is not None
    assert told.instruments == ()
    assert told.repeats == 3
    wide = measure([12 * THOU, 22 * THOU, 17 * THOU], DIAL, unit="in")
    again = what_would_tell(wide, 6 * THOU, 18 * THOU, shipped_instruments())
    assert again is not None
    assert again.instruments == ()


def test_end_play_in_one_word_is_understood() -> None:
    """Names are compared word by word, "endplay" and "run-out" as they are usually split."""
    every = list(shipped_measures().values())
    assert find_measure("front endplay 0.012 in", every).id == "front-end-play"
    assert find_measure("flexplate run-out 0.012 in", every).id == "flexplate-runout"
    with pytest.raises(QuantityError, match=r"front end play.*among the notes"):
        find_measure("endplay 0.012 in", every)


def test_something_is_named_in_most_doubtful_cases() -> None:
    """Half a thousandth from the limit a finer dial tells, a thousandth from it repeats do."""
    every = shipped_instruments()
    near = what_would_tell(measure([17.3 * THOU], DIAL, unit="in"), 6 * THOU, 18 * THOU, every)
    assert near is not None
    assert near.instruments
    on = what_would_tell(measure([18 * THOU], DIAL, unit="in"), 6 * THOU, 18 * THOU, every)
    assert on is not None
    assert "on the limit itself" in on.text


def test_every_usual_measure_has_its_instrument() -> None:
    """Known, of the right kind, and with figures; a look needs none."""
    every = shipped_instruments()
    names = [measure.name for measure in shipped_measures().values()]
    assert len(names) >= 36
    assert len(set(names)) == len(names)
    for entry in shipped_measures().values():
        if not entry.look:
            low, high = entry.possible
            assert low < high, entry.id
            found = measure([(low + high) / 2], every[entry.instrument], unit=entry.unit)
            assert found.standard_uncertainty > 0.0, entry.id


def test_a_measure_is_found_by_any_of_its_names() -> None:
    """Every name and other word leads to its own measure and to no other."""
    three_speed = [m for m in shipped_measures().values() if m.id not in ("front-pack-clearance",)]
    for entry in three_speed:
        for name in (entry.name, *entry.words):
            assert find_measure(f"{name} 0.01 in", three_speed).id == entry.id, name


def test_a_user_keeps_his_own_instruments(tmp_path: Path) -> None:
    """A copy of the file is read the same way, and its slips are named."""
    path = tmp_path / "mine.yaml"
    path.write_text(
        "instruments:\n  my-dial: {name: my dial, reads: [play], resolution: 0.01 mm, "
        "permissible_error: 0.02 mm, repeatability: 0.005 mm}\n",
        encoding="utf-8",
    )
    mine = read_instruments(path)["my-dial"]
    assert (mine.resolution, mine.permissible_error) == pytest.approx((1e-5, 2e-5))
    for slip in ("resolution: 0.01", "resolution: 0.01 kg", "resoluton: 0.01 mm"):
        path.write_text(
            path.read_text(encoding="utf-8").replace("resolution: 0.01 mm", slip), encoding="utf-8"
        )
        with pytest.raises(InputFileError):
            read_instruments(path)
        path.write_text(
            path.read_text(encoding="utf-8").replace(slip, "resolution: 0.01 mm"), encoding="utf-8"
        )
