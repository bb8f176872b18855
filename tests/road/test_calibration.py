"""Boxes known by their readings: what is fitted, what is left alone, how cars are drawn, what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import box_from_bytes, load_box
from bellhousing.diagnosis.prepare import CarFacts, prepare
from bellhousing.errors import BoxFileError
from bellhousing.road.calibration import calibrated, fit_table
from bellhousing.road.cars import NUMBERS, draw_cars, middle_car
from bellhousing.road.driving import up_speed
from bellhousing.road.pressures import felt_vacuum
from bellhousing.road.table_rows import PrintedTable
from bellhousing.road.vehicle import MPH, bare_vehicle
from tests.road.printed_tables import full_table, line_row, table_file
from tests.shipped import catalogue_as_shipped

THREE_PRESSURES = [line_row("D", 16), line_row("D", 0), line_row("R", 16)]


def box_of(rows: list[str], more: str = "") -> Box:
    """The fitted box of some rows."""
    return calibrated(box_from_bytes(table_file(rows, more)))


def upshift_width(box: Box, valve: str, vacuum: float) -> float:
    """Width of the band of 95 in 100 of an upshift [mph]."""
    cars = draw_cars(box, 2000, np.random.default_rng(3))
    car = bare_vehicle(box, 3.1, 0.35, 0.0)
    shown = up_speed(cars, car, valve, felt_vacuum(cars, np.full(2000, vacuum)))
    low, high = np.quantile(shown, [0.025, 0.975], method="inverted_cdf")
    return float(high - low) / MPH


def test_three_pressures_tell_nothing_of_the_shift_valves() -> None:
    """What three pressures do not tell keeps the family's value, scatter and origin: no false confidence."""
    box, family = box_of(THREE_PRESSURES), load_box("three-speed-vacuum")
    assert box.joint is not None
    for key in NUMBERS:
        if key.startswith(("shift_valves.", "governor.", "detent.")):
            assert key not in box.joint.keys
            assert box.number(key).origin == "family"
            assert box.number(key).scatter == pytest.approx(family.number(key).scatter)
            assert box.number(key).value == pytest.approx(family.number(key).value)
    assert box.number("regulator.spring_pressure").origin == "readings"
    assert (
        box.number("regulator.spring_pressure").scatter < family.number("regulator.spring_pressure").scatter
    )
    for valve in ("first_second", "second_third"):
        assert upshift_width(box, valve, 0.0) > 0.85 * upshift_width(family, valve, 0.0)


def test_more_rows_leave_less_open() -> None:
    """The whole table narrows the full-throttle shifts well below what three pressures leave."""
    few, many = box_of(THREE_PRESSURES), box_of(full_table())
    for valve in ("first_second", "second_third"):
        assert upshift_width(many, valve, 0.0) < 0.7 * upshift_width(few, valve, 0.0)


def test_units_still_differ() -> None:
    """However long the table, the cars drawn differ by what units of one kind differ by."""
    box = box_of(full_table())
    assert box.joint is not None
    drawn = draw_cars(box, 4000, np.random.default_rng(5))
    for key, unit_scatter in zip(box.joint.keys, box.joint.unit_scatter, strict=True):
        given = box.number(key)
        assert given.value is not None
        assert given.origin == "readings"
        assert given.scatter / given.value > unit_scatter * (1.0 - 1e-9)
        assert float(np.std(np.log(drawn[key]))) > 0.9 * unit_scatter


def test_cars_are_drawn_together() -> None:
    """Numbers of which the table tells only a ratio hang together: it scatters less than its parts."""
    box = box_of(full_table())
    drawn = draw_cars(box, 4000, np.random.default_rng(5))
    force, area = np.log(drawn["modulator.spring_force"]), np.log(drawn["modulator.valve_area"])
    assert float(np.corrcoef(force, area)[0, 1]) > 0.3
    assert float(np.std(force - area)) < 0.8 * float(np.hypot(np.std(force), np.std(area)))


def test_drawn_cars_have_the_given_means() -> None:
    """Mean and scatter of the cars drawn are those of the figures, as for any other box."""
    box = box_of(full_table())
    assert box.joint is not None
    drawn = draw_cars(box, 20_000, np.random.default_rng(6))
    for key in box.joint.keys:
        given = box.number(key)
        assert float(drawn[key].mean()) == pytest.approx(given.value, rel=0.02)
        assert float(drawn[key].std()) == pytest.approx(given.scatter, rel=0.15)


def test_middle_car_meets_the_rows() -> None:
    """The middle car of the fitted box shows the table to within two steps."""
    box = box_of(full_table())
    assert box.table is not None
    shown = PrintedTable(box, box.table).foretold(middle_car(box))[0]
    for row, value in zip(box.table.rows, shown, strict=True):
        width = row.high - row.low
        assert row.low - 1.5 * width < value < row.high + 1.5 * width, row.name


def test_figures_the_file_gives_stay() -> None:
    """A figure typed from the bench keeps its value, scatter and origin beside a table."""
    box = box_of(full_table(), "regulator: {spring_pressure: {value: 66 psi, scatter: 1 psi}}\n")
    given = box.number("regulator.spring_pressure")
    assert given.origin == "box"
    assert given.text == "66 psi"
    assert box.joint is not None
    assert "regulator.spring_pressure" not in box.joint.keys


def test_box_without_a_table_is_left_alone() -> None:
    """A box by parts, and one that is fitted already, are handed back as they are."""
    a = load_box("box-a")
    assert calibrated(a) is a
    fitted = box_of(THREE_PRESSURES)
    assert calibrated(fitted) is fitted


def test_a_table_needs_the_family_it_is_fitted_in() -> None:
    """Without the family's figures there is nothing to fit, and the error says what to write."""
    alone = box_from_bytes(table_file(THREE_PRESSURES).replace(b"family: three-speed-vacuum\n", b""))
    with pytest.raises(BoxFileError, match="write `family: three-speed-vacuum`"):
        calibrated(alone)


def test_a_row_that_does_not_belong_is_named() -> None:
    """A pressure that no box shows together with the others is refused, with its line and row."""
    rows = full_table()
    rows[0] = rows[0].replace("65 psi", "20 psi")
    with pytest.raises(BoxFileError) as caught:
        box_of(rows)
    assert "line 8: row 1: line D 16 inHg 1200 rpm, 20 psi: the other rows" in str(caught.value)
    assert "higher" in str(caught.value)


def test_a_wrong_unit_is_found_by_the_others() -> None:
    """Road speeds typed in mph that were km/h stand out."""
    rows = [row.replace("62 mph", "100 mph").replace("63 mph", "101 mph") for row in full_table()]
    assert rows != full_table()
    with pytest.raises(BoxFileError, match="upshift 2-3 5 inHg"):
        box_of(rows)


def test_axle_of_a_row() -> None:
    """A row printed for another axle is read as such: the same output speed gives the same fit."""
    rows = full_table()
    other = [f"{row}, axle_ratio: 3.1" if "mph" in row else row for row in rows]
    one, two = box_of(rows), box_of(other)
    for key in NUMBERS:
        assert one.number(key).value == pytest.approx(two.number(key).value)


def test_prepare_takes_the_library_box() -> None:
    """A box by its readings is prepared like any other; its figures come from the table."""
    prepared = prepare(load_box("box-by-readings"), CarFacts(), catalogue_as_shipped(), cars=20)
    assert prepared.box.number("shift_valves.second_third.offset").origin == "readings"
    assert prepared.box.number("forward_clutch.plates").origin == "family"
    assert np.isfinite(prepared.shown.readings["line-drive-idle"]).all()


@pytest.mark.bench
def test_how_long_a_fit_takes(benchmark: BenchmarkFixture) -> None:
    """One fit of the longest of these tables; the aim is a second."""
    box = box_from_bytes(table_file(full_table()))
    assert benchmark(lambda: fit_table(box)) is not None
