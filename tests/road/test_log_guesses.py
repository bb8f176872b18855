"""What is guessed of a log by its head and its figures: columns, units, thousands, order, dead sensors."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bellhousing.errors import InputFileError
from bellhousing.road.logs.columns import guess_columns, parse_correction
from bellhousing.road.logs.layout import layout_of
from bellhousing.road.logs.order import in_order
from bellhousing.road.logs.read import read_log
from tests.road.invented_drives import Logger, loop, sampled, written
from tests.road.reading_logs import all_found, gears, read_text, worst_speed

ROWS = sampled(loop(), Logger(seed=11))
KMH = ROWS["mph"] * 1.609344
ABSOLUTE = 101.3 - ROWS["vacuum"] * 3.386


def guessed(head: str, row: str, *, encoding: str = "utf-8") -> dict[str, str]:
    """What each meaning was found in, with its unit."""
    text = head + "\n" + "\n".join(row.replace("#", str(place)) for place in range(30)) + "\n"
    layout = layout_of(text.encode(encoding), "a.csv", whole=True)
    return {column.meaning: f"{column.name.strip()} | {column.unit.name}" for column in guess_columns(layout)}


@pytest.mark.parametrize(
    ("head", "row", "meaning", "name"),
    [
        ("Temps;Vitesse;Régime;Pression admission (kPa)", "#,1;32,#;1850;45,#", "engine-speed", "Régime"),
        (
            "Temps;Vitesse;Régime;Pression admission (kPa)",
            "#,1;32,#;1850;45,#",
            "manifold-pressure",
            "Pression",
        ),
        ("temps;vitesse (km/h);régime (tr/mn);papillon (%)", "#;32,#;1850;4,#", "engine-speed", "régime"),
        ("Temps;Vitesse (km/h);Régime;Dépression (mbar)", "#;32,#;1850;410", "vacuum", "Dépression"),
        ("Tiempo;Velocidad;Régimen del motor;Mariposa (%)", "#;32,#;1850;4,#", "throttle", "Mariposa"),
        ("Zeit;v_Fzg;n_Mot;p_Saug [mbar]", "#;32,#;1850;41#", "manifold-pressure", "p_Saug"),
        ("Zeit;Motordrehzahl;Kardanwelle 1/min;Unterdruck", "#;1850;1#;14,#", "output-speed", "Kardanwelle"),
        ("time,speed mph,crankshaft (Hz),vac", "#,32.#,31.#,14.#", "engine-speed", "crankshaft"),
        (
            "Zeit/s;Tempo/(km/h);Motor/rpm;Unterdruck/kPa",
            "#;32,#;1850;41,#",
            "vacuum",
            "Unterdruck/kPa | kPa",
        ),
        ("t/s;v/km/h;n/(1/min);p_Saug/mbar", "#;32,#;1850;41#", "speed", "v/km/h | km/h"),
        ("t/s;v/km/h;n/(1/min);p_Saug/mbar", "#;32,#;1850;41#", "engine-speed", "n/(1/min) | rpm"),
        ("time,speed,RPM,Tach", "#,3#.1,0,18#", "engine-speed", "Tach"),
        ("time,Speed,GPS speed,rpm", "#,0.0,3#.1,18#", "speed", "GPS speed"),
    ],
)
def test_words_of_several_languages_are_known(head: str, row: str, meaning: str, name: str) -> None:
    """Accents, compounds and abbreviations; a dead column gives way to its living twin."""
    assert guessed(head, row).get(meaning, "none").startswith(name)


@pytest.mark.parametrize(
    ("head", "row", "meaning"),
    [
        ("time,speed mph,rpm,Fan speed (rpm)", "#,3#.1,18#,180#", "output-speed"),
        ("time,speed mph,Engine rpm,turbine rpm", "#,3#.1,18#,170#", "output-speed"),
        ("time,speed mph,rpm,rpm", "#,3#.1,18#,18#", "output-speed"),
        ("time,rpm,battery V,oil temp", "#,18#,13.#,8#", "speed"),
        ("time,speed mph,rpm,Battery voltage (V)", "#,3#.1,18#,13.#", "throttle"),
        ("time,speed mph,rpm,Oil pressure (kPa)", "#,3#.1,18#,30#", "line-pressure"),
        ("time,speed mph,rpm,Fuel rail (kPa)", "#,3#.1,18#,30#", "line-pressure"),
    ],
)
def test_a_unit_alone_makes_no_column_what_it_is_not(head: str, row: str, meaning: str) -> None:
    """Fans, batteries and oil are neither shafts, pedals nor line pressure."""
    assert meaning not in guessed(head, row)


@pytest.mark.parametrize(
    ("head", "rows"),
    [
        ("Logger;3\nCar;2\n\nZeit;Speed (mph);Drehzahl", "#,1;3#,1;18#"),
        ("s,mph,rpm\nZeit,Speed,Drehzahl", "#.1,3#.1,18#"),
        ("Zeit,Speed,Drehzahl\ns,mph,rpm\nfloat,float,float", "#.1,3#.1,18#"),
        ('"Zeit\n(s)","Speed\n(mph)","Drehzahl\n(rpm)"', '"#.1","3#.1","18#"'),
        ("|Zeit|Speed mph|Drehzahl|\n|---|---|---|", "|#.1|3#.1|18#|"),
        ("Zeit  Speed mph  Drehzahl", "#.1  3#.1  18#"),
        ("'Zeit','Speed mph','Drehzahl'", "'#.1','3#.1','18#'"),
    ],
)
def test_a_head_is_found_wherever_it_stands(head: str, rows: str) -> None:
    """Below a preamble as wide as a pair, under its units, above kinds, over several lines, in any quotes."""
    found = guessed(head, rows)
    assert found["time"].startswith("Zeit")
    assert found["speed"].endswith("| mph")
    assert found["engine-speed"].startswith("Drehzahl")


def test_thousands_marked_without_decimals_are_no_decimals(tmp_path: Path) -> None:
    """`1,204` beside `812` in quotes, also where the first comes late, and `1 204`."""
    idling = "".join(f'{t / 10:.1f},0.0,"{700 + t % 5}"\n' for t in range(2500))
    rows = zip(ROWS["t"] + 250.0, ROWS["mph"], ROWS["rpm"], strict=True)
    late = "t,mph,rpm\n" + idling + "".join(f'{t:.2f},{v:.1f},"{n:,.0f}"\n' for t, v, n in rows)
    assert worst_speed(all_found(loop(), read_text(tmp_path, late), from_clock=250.0)) < 1.0
    for mark, delimiter in ((",", ","), ("\u202f", ";")):
        turns = [f'"{x:,.0f}"'.replace(",", mark) for x in ROWS["rpm"]]
        text = written({"t": ROWS["t"], "mph": ROWS["mph"], "rpm": turns}, delimiter=delimiter)
        assert worst_speed(all_found(loop(), read_text(tmp_path, text))) < 1.0


def test_a_tachometer_for_half_the_cylinders_is_noticed(tmp_path: Path) -> None:
    """Engine speed twice what it is, its unit written: read right, and said."""
    text = written({"t": ROWS["t"], "speed [km/h]": KMH, "engine [rpm]": ROWS["rpm"] * 2})
    reading = read_text(tmp_path, text)
    assert worst_speed(all_found(loop(), reading)) < 1.0
    assert any("halved" in said for said in reading.warnings)


@pytest.mark.parametrize(
    ("name", "values", "said"),
    [
        ("vacuum [inHg]", ABSOLUTE, "cannot be vacuum in inHg"),
        ("MAP [kPa]", ROWS["vacuum"], "cannot be manifold pressure in kPa"),
        ("vacuum [inHg]", np.full_like(ABSOLUTE, 15.2), "stands at 15.2 inHg throughout"),
    ],
)
def test_a_manifold_that_cannot_be_is_not_used(
    tmp_path: Path, name: str, values: np.ndarray[tuple[int], np.dtype[np.float64]], said: str
) -> None:
    """A wrong unit or a dead sensor: the shifts are read, set against no throttle, and it is said why."""
    text = written({"t": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"], name: values})
    reading = read_text(tmp_path, text)
    assert reading.shifts
    assert all(shift.signal is None for shift in reading.shifts)
    assert any(said in warning for warning in reading.warnings)


def test_figures_that_stand_for_no_reading_leave_the_vacuum_as_it_was(tmp_path: Path) -> None:
    """Cells of 65535 and of nought now and then."""
    vacuum = ROWS["vacuum"].copy()
    vacuum[7::31], vacuum[3::41] = 65535.0, 0.0
    columns = {"t": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"]}
    sound = read_text(tmp_path, written(columns | {"vacuum [inHg]": ROWS["vacuum"]}))
    spoilt = read_text(tmp_path, written(columns | {"vacuum [inHg]": vacuum}))
    for one, other in zip(sound.shifts, spoilt.shifts, strict=True):
        assert one.signal == pytest.approx(other.signal, abs=3400.0)


def test_rows_in_any_order_are_driven_in_theirs(tmp_path: Path) -> None:
    """Newest first, and shuffled five by five."""
    head, *rows = written({"t": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"]}).splitlines()
    five = [rows[place + other] for place in range(0, len(rows) - 4, 5) for other in (3, 0, 4, 1, 2)]
    for lines in (rows[::-1], five):
        reading = read_text(tmp_path, "\n".join((head, *lines)) + "\n")
        assert worst_speed(all_found(loop(), reading)) < 1.0


@pytest.mark.beside("the order that was put in", code="road.logs.order.in_order")
def test_a_clock_set_back_is_no_disorder() -> None:
    """One step back is left to the clock's repair; two drives shuffled in themselves stay two."""
    stamps = np.arange(200.0) * 0.1
    assert in_order(np.concatenate([stamps, stamps])) is None
    mixed = stamps.reshape(-1, 4)[:, [2, 0, 3, 1]].ravel()
    order = in_order(np.concatenate([mixed, mixed]))
    assert order is not None
    assert np.array_equal(np.concatenate([mixed, mixed])[order], np.concatenate([stamps, stamps]))


def test_a_speed_that_sticks_is_left_out(tmp_path: Path) -> None:
    """The engine's speed stands while the car speeds up: no shift is made of it, and it is said."""
    stuck = np.full_like(ROWS["rpm"], 812.0)
    reading = read_text(tmp_path, written({"t": ROWS["t"], "mph": ROWS["mph"], "rpm": stuck}))
    assert not reading.shifts
    assert any("engine speed stood for" in said for said in reading.warnings)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time,speed,rpm\n", "no row of figures"),
        ("time,speed,rpm\n0,1,700\n1,2,800\n", "no more than 2 row"),
        ("time,speed,rpm\n" + "".join(f"PT{t}S,{t},900\n" for t in range(60)), "no row has a time"),
        (
            "time,speed,rpm\n" + "".join(f"{t},1,3{t},2,900\n" for t in range(60)),
            "commas part cells and decimals",
        ),
        (
            "time,mph,rpm\n0,1,700\n" * 20 + "rpm,mph,time\n" + "0,1,700\n" * 9,
            "from line 41 on the columns are others: rpm, mph, time",
        ),
        ("1," * 5000 + "\n" + "2," * 5000 + "\n", "columns"),
    ],
)
def test_a_log_that_holds_nothing_is_refused_in_words(tmp_path: Path, text: str, said: str) -> None:
    """A head alone, two rows, times nobody can read, and a row without an end."""
    with pytest.raises(InputFileError, match=said):
        read_text(tmp_path, text)


def test_an_output_shaft_that_does_not_go_with_the_road_is_not_used(tmp_path: Path) -> None:
    """Twice as fast, or dead: the road speed is taken, and it is said."""
    output = ROWS["mph"] * 0.44704 * 3.08 / 0.345 * 60 / (2 * np.pi)
    for factor in (2.0, 0.0):
        columns = {"t": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"], "output rpm": output * factor}
        reading = read_text(tmp_path, written(columns))
        assert worst_speed(all_found(loop(), reading)) < 1.0
        assert any("'output rpm' turns" in said for said in reading.warnings)


def test_zeros_that_were_set_aside_are_no_binary_file(tmp_path: Path) -> None:
    """A logger that lost its power leaves a block of nulls at the end."""
    text = written({"t": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"]})
    reading = read_text(tmp_path, text.encode() + b"\x00" * 4096)
    assert worst_speed(all_found(loop(), reading)) < 1.0


def test_what_was_said_to_be_in_no_column_is_said_again(tmp_path: Path) -> None:
    """A vacuum put away once is not missing without a word; a unit that is none is named as such."""
    path = tmp_path / "drive.csv"
    path.write_text(
        written({"t": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"], "vacuum": ROWS["vacuum"]}),
        encoding="utf-8",
    )
    reading = read_log(path, gears(), remembered=(parse_correction("vacuum=none"),))
    assert any("no column is taken for vacuum" in said for said in reading.warnings)
    with pytest.raises(InputFileError, match="'furlongs' is no unit"):
        read_log(path, gears(), corrections=(parse_correction("speed=mph in furlongs"),))


@pytest.mark.parametrize(
    "spoilt", ['""7.84,20,900', '4,"20,900', '4,"20","900"\n"5', '4,5"",9"00', '(h)","9']
)
def test_quotes_gone_astray_cost_their_row_alone(tmp_path: Path, spoilt: str) -> None:
    """In a file with quoted cells: no row below is swallowed, and nothing stops."""
    head, *rows = written({"t": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"]}).splitlines()
    quoted = [",".join(f'"{cell}"' for cell in row.split(",")) for row in rows]
    lines = [head, *quoted[:400], spoilt, *quoted[400:]]
    assert worst_speed(all_found(loop(), read_text(tmp_path, "\n".join(lines) + "\n"))) < 1.0


def test_an_output_shaft_alone_may_have_holes(tmp_path: Path) -> None:
    """Three seconds without its sensor cut the drive in two."""
    output = ROWS["mph"] * 0.44704 * 3.08 / 0.345 * 60 / (2 * np.pi)
    output[100:140] = np.nan
    reading = read_text(tmp_path, written({"t": ROWS["t"], "output rpm": output, "rpm": ROWS["rpm"]}))
    assert len(reading.shifts) > 5
