"""Logs as loggers really leave them: other columns, units and marks, and every kind of mess in the rows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellhousing.errors import InputFileError
from bellhousing.road.logs import read as reading_module
from bellhousing.road.logs.blocks import ReadingStopped
from bellhousing.road.logs.columns import parse_correction
from bellhousing.road.logs.read import read_log
from bellhousing.road.logs.remembered import recall, remember
from tests.road.invented_drives import FloatArray, Logger, any_drive, loop, sampled, seen, written
from tests.road.reading_logs import all_found, columns_of, gears, matched, read_text, shown, worst_speed

ROWS = sampled(loop(), Logger(seed=7))
COUNT = len(ROWS["t"])
ABSOLUTE = 101.3 - ROWS["vacuum"] * 3.386
KMH = ROWS["mph"] * 1.609344
Rows = dict[str, FloatArray]


def clock(seconds: FloatArray, *, whole: bool = False) -> list[str]:
    """A clock's strings."""
    return [
        f"{int(x // 3600) % 24:02d}:{int(x // 60) % 60:02d}:"
        + (f"{int(x % 60):02d}" if whole else f"{x % 60:05.2f}")
        for x in seconds
    ]


def plain(**changed: FloatArray) -> dict[str, FloatArray]:
    """The usual columns, some replaced."""
    return columns_of(ROWS | changed, "vacuum")


def holding(values: FloatArray, every: int) -> FloatArray:
    """An instrument that gives a new value only every so many rows."""
    return np.repeat(values[::every], every)[: len(values)]


FORMS: dict[str, tuple[str | bytes, float]] = {
    "semicolons and decimal commas": (
        written(
            {"Zeit": ROWS["t"], "Geschwindigkeit [km/h]": KMH, "Drehzahl [1/min]": ROWS["rpm"],
             "Saugrohrdruck [kPa]": ABSOLUTE}, delimiter=";", comma=True,
        ),
        0.0,
    ),
    "tabs and milliseconds": (
        written({"t_ms": ROWS["t"] * 1000, "gps_speed_kph": KMH, "rpm": ROWS["rpm"]}, delimiter="\t"), 0.0,
    ),
    "clock strings over midnight": (
        written({"Clock": clock(ROWS["t"] + 86340.0), "mph": ROWS["mph"], "Tach": ROWS["rpm"]}), 86340.0,
    ),
    "dates, UTF-16": (
        written(
            {"Timestamp": [f"2024-05-01T{text}Z" for text in clock(ROWS["t"] + 3600.0)], "mph": ROWS["mph"],
             "RPM": ROWS["rpm"]}
        ).encode("utf-16"),
        3600.0,
    ),
    "stamps to the second": (
        written({"Clock": clock(ROWS["t"] + 3600.0, whole=True), "mph": ROWS["mph"], "rpm": ROWS["rpm"]}),
        3600.0,
    ),
    "units in the cells": (
        "Time,Speed,RPM\n"
        + "".join(
            f"{t:.2f} s,{v:.1f} mph,{n:.0f} rpm\n"
            for t, v, n in zip(ROWS["t"], ROWS["mph"], ROWS["rpm"], strict=True)
        ),
        0.0,
    ),
    "a preamble and a row of units": (
        "logger 12; firmware 3\ncar: grey saloon\n\nt;v;n\ns;km/h;1/min\n"
        + written({"t": ROWS["t"], "v": KMH, "n": ROWS["rpm"]}, delimiter=";", comma=True).partition("\n")[2],
        0.0,
    ),
    "rows that sum up at the end": (
        written({"time": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"]})
        + "\nMin,0.0,600\nMax,62.1,4100\nAverage,25.4,1500\n", 0.0,
    ),
    "UTF-16, tabs, brackets, absolute pressure": (
        written({"Time [hh:mm:ss.s]": clock(ROWS["t"] + 3600.0), "V [m/s]": ROWS["mph"] * 0.44704,
                 "n [1/min]": ROWS["rpm"], "p_abs [kPa]": ABSOLUTE}, delimiter="\t").encode("utf-16"), 3600.0,
    ),
    "speed in every tenth row only": (
        "t,gps_speed_mps,rpm\n"
        + "".join(
            f"{t:.2f},{f'{v * 0.44704:.2f}' if place % 10 == 0 else ''},{n:.0f}\n"
            for place, (t, v, n) in enumerate(zip(ROWS["t"], ROWS["mph"], ROWS["rpm"], strict=True))
        ),
        0.0,
    ),
    "no header": (written(columns_of(ROWS)).partition("\n")[2], 0.0),
    "thousands of turns, metres a second": (
        written({"Time": ROWS["t"], "Speed": ROWS["mph"] * 0.44704, "RPM": ROWS["rpm"] / 1000}), 0.0,
    ),
    "output shaft instead of road speed": (
        written({"Time": ROWS["t"], "Output RPM": ROWS["mph"] * 0.44704 / 0.345 * 3.08 * 30 / np.pi,
                 "Engine RPM": ROWS["rpm"]}), 0.0,
    ),
    "one instrument to a row": (
        "Time,Speed mph,RPM\n"
        + "".join(
            f"{t:.2f},{v:.2f},\n{t + 0.03:.2f},,{n:.0f}\n"
            for t, v, n in zip(ROWS["t"], ROWS["mph"], ROWS["rpm"], strict=True)
        ),
        0.0,
    ),
    "days of a spreadsheet": (
        written(
            {"Date": 45360 + (36000 + ROWS["t"]) / 86400, "mph": ROWS["mph"], "RPM": ROWS["rpm"]}, digits=9
        ),
        45360 * 86400.0 + 36000.0,
    ),
    "a date and a clock in one row of digits": (
        written({"utc": [f"20240309T{text.replace(':', '')}Z" for text in clock(ROWS["t"] + 36000.0)],
                 "mph": ROWS["mph"], "rpm": ROWS["rpm"]}), 36000.0,
    ),
    "a clock of six digits and knots": (
        written({"UTC": [text.replace(":", "") for text in clock(ROWS["t"] + 36000.0)],
                 "SOG (kn)": ROWS["mph"] * 0.868976, "RPM": ROWS["rpm"]}), 36000.0,
    ),
    "marks between the thousands": (
        "time;speed_kmh;rpm\n"
        + "".join(
            f"{t:.2f};{v:.1f};{n:,.1f}".replace(",", "_").replace(".", ",").replace("_", ".") + "\n"
            for t, v, n in zip(ROWS["t"], KMH, ROWS["rpm"], strict=True)
        ),
        0.0,
    ),
    "cut off in the middle of a row": (
        written({"Time": ROWS["t"], "mph": ROWS["mph"], "rpm": ROWS["rpm"]})[:-9], 0.0,
    ),
    "rows counted, no clock": (
        written({"Sample": np.arange(1.0, COUNT + 1.0), "mph": ROWS["mph"], "rpm": ROWS["rpm"]}), 0.0,
    ),
    "Windows letters": (
        written(
            {"Temps [s]": ROWS["t"], "Vitesse éch. [km/h]": KMH, "Régime [tr/min]": ROWS["rpm"]}
        ).encode("cp1252"),
        0.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_any_form_is_read(tmp_path: Path, form: str) -> None:
    """Every shift within 1 mph, t_s on the log's own clock, which goes on over midnight."""
    text, began = FORMS[form]
    reading = read_text(tmp_path, text)
    assert len(shown(reading)) == 9
    assert worst_speed(all_found(loop(), reading, from_clock=began)) < 1.0


def jumps() -> Rows:
    t = ROWS["t"]
    return plain(t=t + np.where(t > 66, 3600.0, 0.0) - np.where(t > 105, 1800.0, 0.0))


def gap() -> Rows:
    keep = ~((ROWS["t"] > 30) & (ROWS["t"] < 42))
    return {name: values[keep] for name, values in plain().items()}


def spikes() -> Rows:
    random = np.random.default_rng(5)
    rpm, mph = ROWS["rpm"].copy(), ROWS["mph"].copy()
    rpm[random.choice(COUNT, 60, False)] = random.choice([0.0, 9500.0, 65535.0, 12.0], 60)
    mph[random.choice(COUNT, 60, False)] = random.choice([0.0, 255.0, 140.0, -20.0], 60)
    return plain(rpm=rpm, mph=mph)


def repeated() -> Rows:
    random = np.random.default_rng(6)
    rows = np.sort(np.concatenate([np.arange(COUNT), random.choice(COUNT, 200, False), np.arange(500, 560)]))
    return {name: values[rows] for name, values in plain().items()}


def repeated_piece() -> Rows:
    rows = np.concatenate([np.arange(700), np.arange(640, COUNT)])
    return {name: values[rows] for name, values in plain().items()}


def held() -> Rows:
    return plain(mph=holding(ROWS["mph"], 10))


MESSES: dict[str, tuple[Callable[[], Rows], str]] = {
    "clock jumps": (jumps, "clock was set 2"),
    "gap": (gap, "1 gap"),
    "spikes": (spikes, "spike"),
    "duplicated rows": (repeated, "written twice"),
    "a piece written twice": (repeated_piece, "out of order"),
    "GPS once a second": (held, "until it is new"),
}


@pytest.mark.parametrize(("ahead", "said"), [(3600.0, "clock was set 1"), (1800.0, "clock was set 1"),
                                             (1534.0, "1 gap")])  # fmt: skip
def test_a_clock_set_at_rest_is_told_from_a_pause(tmp_path: Path, ahead: float, said: str) -> None:
    """A car at rest idles on through both; half hours to the row are the clock, other times a pause."""
    reading = read_text(tmp_path, written(plain(t=ROWS["t"] + np.where(ROWS["t"] > 61.0, ahead, 0.0))))
    assert [said in text for text in reading.warnings if "gap" in text or "clock was" in text] == [True]
    assert len(shown(reading)) == len(seen(loop()))


@pytest.mark.parametrize("mess", MESSES, ids=str)
def test_every_mess_is_survived_and_said(tmp_path: Path, mess: str) -> None:
    """Every shift found, none invented, and a warning that names what was met."""
    make, said = MESSES[mess]
    reading = read_text(tmp_path, written(make()))
    if mess == "clock jumps":
        assert len(shown(reading)) == 9
        assert shown(reading)[4].clock == pytest.approx(3600 + 103.4, abs=0.3)
    else:
        assert worst_speed(all_found(loop(), reading)) < 1.3
    assert any(said in text for text in reading.warnings), reading.warnings


@pytest.mark.parametrize(
    ("head", "factor", "unit"), [("Speed [mph]", 1.609344, "km/h"), ("Speed [km/h]", 1.0, "mph")]
)
def test_a_wrong_unit_is_noticed_by_the_gears(tmp_path: Path, head: str, factor: float, unit: str) -> None:
    """The header says one, the gears only fit another: read right, with a warning."""
    reading = read_text(
        tmp_path, written({"Time": ROWS["t"], head: ROWS["mph"] * factor, "RPM": ROWS["rpm"]})
    )
    assert worst_speed(all_found(loop(), reading)) < 1.0
    assert any(f"read as {unit}" in text for text in reading.warnings)


BAD: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "is empty"),
    "blank lines": (b"\n\n\n", "is empty"),
    "binary": (bytes(np.random.default_rng(1).integers(0, 256, 5000, dtype=np.uint8)), "not a text file"),
    "a spreadsheet": (b"PK\x03\x04" + b"a" * 100, "spreadsheet"),
    "compressed": (b"\x1f\x8b" + b"a" * 100, "compressed"),
    "one column": (("speed\n" + "\n".join(map(str, range(100)))).encode(), "only one column"),
    "a letter": (b"Dear Sir,\nthe car, as discussed, slips.\n", ""),
    "only a header": (b"Time,Speed,RPM\n", ""),
    "all zeros": (
        written({"Time": ROWS["t"], "mph": 0 * KMH, "rpm": 0 * KMH}).encode(),
        "engine speed is zero",
    ),
    "never moves": (written({"Time": ROWS["t"], "mph": 0 * KMH, "rpm": ROWS["rpm"]}).encode(), "never moves"),
    "nothing known": (written({"a": ROWS["t"], "b": ROWS["vacuum"]}).encode(), "could be told to be"),
}


@pytest.mark.parametrize("name", BAD, ids=str)
def test_a_bad_log_is_refused_in_words(tmp_path: Path, name: str) -> None:
    """One error of one family, naming the file and what would be right."""
    data, said = BAD[name]
    with pytest.raises(InputFileError) as refused:
        read_text(tmp_path, data)
    assert said in str(refused.value)
    assert refused.value.remedy


def test_rows_that_hold_rubbish_are_left_out(tmp_path: Path) -> None:
    """Error words, blank lines, half rows and a header in the middle change nothing."""
    lines = written(plain()).splitlines()
    lines[300:300] = ["", "ERR,---,n/a,", lines[0], "12"]
    assert worst_speed(all_found(loop(), read_text(tmp_path, "\n".join(lines)))) < 1.0


def test_small_blocks_and_pieces_read_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file read 8 kB at a time and looked at 600 rows at a time gives the same: memory is bounded."""
    path = tmp_path / "drive.csv"
    path.write_text(written(plain()), encoding="utf-8")
    whole = read_log(path, gears())
    largest = []
    original = reading_module._Reader._tracks

    def watched(self: object, time: FloatArray, *rest: object) -> object:
        largest.append(len(time))
        return original(self, time, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(reading_module, "SEGMENT", 600)
    monkeypatch.setattr(reading_module._Reader, "_tracks", watched)
    progress: list[tuple[int, int]] = []
    pieces = read_log(path, gears(), block=8192, progress=lambda done, total: progress.append((done, total)))
    assert max(largest) < 1300 < COUNT
    assert len(largest) > 5
    found = [(shift.before, shift.after, round(shift.speed, 1)) for shift in pieces.shifts]
    assert found == [(shift.before, shift.after, round(shift.speed, 1)) for shift in whole.shifts]
    assert [done for done, _ in progress] == sorted(done for done, _ in progress)
    assert progress[-1][0] == progress[-1][1] == path.stat().st_size


def test_reading_can_be_stopped(tmp_path: Path) -> None:
    """The reader asks between blocks."""
    path = tmp_path / "drive.csv"
    path.write_text(written(plain()), encoding="utf-8")
    asked: list[int] = []

    def stop() -> bool:
        asked.append(1)
        return len(asked) > 3

    with pytest.raises(ReadingStopped):
        read_log(path, gears(), block=8192, stop=stop)
    assert len(asked) == 4


def test_what_was_said_of_the_columns_counts_and_is_remembered(tmp_path: Path) -> None:
    """A column nobody could guess, named once, is known for the next log with that header."""
    text = written({"a": ROWS["t"], "b": KMH, "c": ROWS["rpm"]})
    path = tmp_path / "odd.csv"
    path.write_text(text, encoding="utf-8")
    said = [parse_correction(one) for one in ("time=a", "speed=b in km/h", "engine-speed=3")]
    reading = read_log(path, gears(), corrections=said)
    assert worst_speed(all_found(loop(), reading)) < 1.0
    assert {column.how for column in reading.columns} == {"corrected"}
    remember(tmp_path, "some-header", said, ("a", "b", "c"))
    kept = recall(tmp_path, "some-header")
    assert set(kept) == set(said)
    assert {column.how for column in read_log(path, gears(), remembered=kept).columns} == {"remembered"}
    assert recall(tmp_path, "another-header") == ()


@pytest.mark.parametrize("text", ["speed", "colour=b", "speed=", "=b"])
def test_a_correction_that_says_nothing_is_refused(text: str) -> None:
    """It names the meanings there are."""
    with pytest.raises(InputFileError, match="meanings"):
        parse_correction(text)


def all_at_once(seed: int) -> tuple[str, float]:
    """A restless drive with every mess together, and when the clock was set [s]."""
    drove, random = any_drive(seed), np.random.default_rng(seed)
    rows = columns_of(sampled(drove, Logger(seed=seed, lag=0.9)), "vacuum")
    time, speed, engine = list(rows)[:3]
    for name, wrong in ((speed, (0.0, 255.0, -20.0)), (engine, (0.0, 9500.0, 65535.0))):
        rows[name][random.choice(len(rows[name]), 40, False)] = random.choice(wrong, 40)
    changes = np.array([shift.t for shift in drove.shifts])
    moments = np.arange(20.0, float(rows[time][-1]) - 20.0)
    calm = moments[np.min(np.abs(moments[:, None] - changes), axis=1) > 6.0]
    moving = calm[np.interp(calm, drove.t, drove.mph) > 8.0]
    hole, set_at = float(random.choice(calm)), float(random.choice(moving))
    kept = np.flatnonzero(np.abs(rows[time] - hole) > 1.5)
    kept = np.sort(np.concatenate([kept, random.choice(kept, 150, False)]))
    rows = {name: values[kept] for name, values in rows.items()}
    rows[time] = rows[time] + np.where(rows[time] > set_at, 3600.0, 0.0)
    return written(rows, delimiter=";", comma=True), set_at


@pytest.mark.parametrize("seed", range(3000, 3004))
def test_every_mess_together_costs_no_shift(tmp_path: Path, seed: int) -> None:
    """Semicolons, a late road speed, a jump, a gap, spikes and repeated rows: what a clean log tells."""
    drove = any_drive(seed)
    text, set_at = all_at_once(seed)
    reading = read_text(tmp_path, text)
    shifts = tuple(
        replace(shift, clock=shift.clock - (3600.0 if shift.clock > set_at + 1000.0 else 0.0))
        for shift in reading.shifts
    )
    pairs, missed, invented = matched(seen(drove), shifts)
    assert missed == []
    assert matched(drove.shifts, tuple(invented))[2] == []
    assert worst_speed(pairs) < 2.5
    assert 0.6 < reading.lag < 1.2
