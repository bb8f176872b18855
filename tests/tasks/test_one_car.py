"""Driving, fitting and proving one car through the tasks, from drive to log to verdict."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from bellhousing.errors import FindingError, InputFileError, QuantityError
from bellhousing.tasks import noting, opening
from bellhousing.tasks.fit_shapes import DriftAnswer, FitAnswer
from bellhousing.tasks.fitting_car import fit, fit_of_job
from bellhousing.tasks.one_car_sources import Side, Wanted, source_of_file, source_of_job
from bellhousing.tasks.proving import proof
from bellhousing.tasks.road_drive import drive_car, manoeuvre_names
from bellhousing.tasks.road_logs import read_road_log
from bellhousing.tasks.shop import Shop

WANTED = Wanted(box="A")
HEAD = "box: A\ncar: {axle_ratio: 3.08, tyre_radius: 0.345 m}\nfindings:\n"
LATE = HEAD + '  - "1-2 light 30 mph"\n  - "1-2 medium 38 mph"\n'
GOOD = HEAD + "".join(
    f'  - "{text}"\n'
    for text in (
        "1-2 light 12.5 mph",
        "1-2 medium 19 mph",
        "2-3 light 18 mph",
        "2-3 medium 44 mph",
        "line pressure in drive at idle 66 psi",
        "line pressure in drive hose off 140 psi",
        "governor pressure at 20 mph 22 psi",
        "governor pressure at 50 mph 41 psi",
    )
)


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """Findings before and after."""
    before, after = tmp_path / "before.yaml", tmp_path / "after.yaml"
    before.write_text(LATE)
    after.write_text(GOOD)
    return before, after


def test_a_drive_becomes_a_log_that_is_read_back(tmp_path: Path) -> None:
    """The upshifts of a medium pull, written with sensor errors, are found by the reader of logs."""
    log = tmp_path / "pull.csv"
    made = drive_car(box="A", name="medium-pull", log=log, noise=3)
    assert [(one.from_, one.to) for one in made.shifts] == [(1, 2), (2, 3)]
    read = read_road_log(log, box="A")
    assert [(one.from_, one.to) for one in read.shifts] == [(1, 2), (2, 3)]
    for told, true in zip(read.shifts, made.shifts, strict=True):
        # The ratio begins to change about a third of a second after the valve has moved.
        assert 0.0 < told.t_s - true.t_s < 0.8


def test_a_fault_acts_as_in_the_diagnosis() -> None:
    """A hose that is off shifts late, by the steady map of the same car."""
    sound = drive_car(box="A", name="light-pull")
    late = drive_car(box="A", name="medium-pull", faults=("vacuum-hose-off",), severity=1.0)
    assert late.shifts[0].road_speed_mph > 2.0 * sound.shifts[0].road_speed_mph
    assert late.shifts[0].map_mph == pytest.approx(late.shifts[0].road_speed_mph, abs=0.3)


def test_a_four_speed_is_driven_too(tmp_path: Path) -> None:
    """Its log has every shift; a rod too long shifts late, where the map of the same car has it."""
    sound = drive_car(box="B", name="medium-pull", log=tmp_path / "b.csv")
    assert [(one.from_, one.to) for one in sound.shifts] == [(1, 2), (2, 3), (3, 4)]
    assert sound.energy.meshes > 0.0
    assert abs(sound.energy.missing) < 1e-3 * sound.energy.supplied
    read = read_road_log(tmp_path / "b.csv", box="B")
    assert [(one.from_, one.to) for one in read.shifts] == [(1, 2), (2, 3), (3, 4)]
    out = drive_car(box="B", name="medium-pull", faults=("tv-rod-out-of-setting",), severity=1.0)
    assert out.shifts[0].road_speed_mph > 1.1 * sound.shifts[0].road_speed_mph
    for made in (sound, out):
        for one in made.shifts:
            assert one.map_mph == pytest.approx(one.road_speed_mph, abs=0.5)


def test_a_kickdown_has_no_steady_map() -> None:
    """The pedal comes onto its stop while third is forced; the map's throttle is another one."""
    made = drive_car(box="B", name="forced-downshift")
    assert (made.shifts[0].from_, made.shifts[0].to, made.shifts[0].map_mph) == (4, 3, None)
    assert made.slipping == ()


def test_what_cannot_be_driven_is_refused(tmp_path: Path) -> None:
    """A fault, a manoeuvre, a rate, a box of another kind, and a folder that is not there."""
    with pytest.raises(FindingError, match="did you mean 'vacuum-hose-off'"):
        drive_car(box="A", name="light-pull", faults=("vacuum-hose-of",))
    with pytest.raises(QuantityError, match="no manoeuvre"):
        drive_car(box="A", name="donuts")
    with pytest.raises(QuantityError, match="rate"):
        drive_car(box="A", name="stall", rate="often")
    with pytest.raises(FindingError, match="no fault 'vacuum-hose-off'"):
        drive_car(box="B", name="stall", faults=("vacuum-hose-off",))
    with pytest.raises(InputFileError, match="cannot be written"):
        drive_car(box="A", name="stall", log=tmp_path / "no" / "log.csv")
    assert "road-loop" in manoeuvre_names()


def test_before_and_after_are_proved_on_one_picture(files: tuple[Path, Path], tmp_path: Path) -> None:
    """Late before, sound after; the picture shows both and says so in words."""
    before, after = (source_of_file(path, WANTED) for path in files)
    picture = tmp_path / "proof.svg"
    answer = proof(before, after, picture=picture)
    assert answer.before is not None
    assert answer.before.as_sound < 0.05
    assert answer.after.as_sound > 0.8
    assert answer.verdict.startswith("It shifts as a sound one does")
    assert "1–2 at full throttle" in answer.not_tested
    drawn = picture.read_text()
    assert "Before: 1–2 at 30 mph" in drawn
    assert "After: 2–3 at 44 mph" in drawn
    assert "before, first drive" in drawn


def test_a_job_keeps_before_and_after_a_change_apart(shop: Shop, job: int) -> None:
    """What was driven before the screw was turned is none of the drive after it."""

    def driven(side: Side) -> list[str]:
        return [row.name for row in source_of_job(shop, job, side).observed if row.shift]

    early, late = "2-3 at 64 mph light throttle", "2-3 at 44 mph light throttle"
    noting.note(shop, job, early)
    noting.note(shop, job, "screw in 2 turns")
    assert driven("after") == [early]  # nothing was driven after it yet
    noting.note(shop, job, late)
    assert (driven("before"), driven("after")) == ([early], [late])


def test_two_simulated_drives_prove_a_hose_put_back(tmp_path: Path) -> None:
    """From the log of a car without its hose and of the same car with it."""
    logs = []
    for name, faults in (("off", ("vacuum-hose-off",)), ("on", ())):
        log = tmp_path / f"{name}.csv"
        drive_car(box="A", name="medium-pull", faults=faults, severity=1.0, log=log, noise=5)
        logs.append(source_of_file(log, WANTED))
    answer = proof(*logs)
    assert answer.before is not None
    assert answer.before.as_sound < 0.1
    assert answer.after.as_sound > 0.7


def test_a_fit_tells_what_it_can_and_says_what_it_cannot(files: tuple[Path, Path]) -> None:
    """Regulator and governor are told; the 1-2 valve's detent gain is not; the hose-off drive is foretold."""
    answer = fit(source_of_file(files[1], WANTED), date="2026-05-01")
    told = {one.id for one in answer.parameters if one.told}
    assert {"regulator-base", "governor-level", "modulator-full"} <= told
    assert "1–2 valve's full-throttle gain" in answer.cannot_tell
    assert not any(row.odd for row in answer.rows)
    first = answer.hose_off[0]
    assert first.low is not None
    assert first.middle is not None
    assert first.high is not None
    assert first.low < first.middle < first.high


GOVERNOR = ((20, 22.0), (30, 26.0), (50, 41.0))
START, YEARLY = 1.05, 0.992


def worn(share: float) -> tuple[str, ...]:
    """What a gauge shows with a share of the governor left."""
    governor = tuple(f"governor pressure at {v} mph {psi * share:.1f} psi" for v, psi in GOVERNOR)
    return (*governor, "line pressure in drive at idle 66 psi")


def level(answer: FitAnswer) -> DriftAnswer:
    """The drift of the governor's level."""
    found = next(one.drift for one in answer.parameters if one.id == "governor-level")
    assert found is not None
    return found


def test_fits_kept_with_the_car_give_its_drift(shop: Shop, job: int) -> None:
    """Two dates cannot tell; four, with the governor losing a little each year, name the year it is out."""
    answers = []
    for number, year in enumerate((2014, 2018, 2022, 2026)):
        at = job if number == 0 else opening.open_job(shop, "grey-saloon", "Shifts early").number
        for text in worn(START * YEARLY ** (year - 2014)):
            noting.note(shop, at, text)
        answers.append(fit_of_job(shop, at, date=f"{year}-05-04", keep=True))
    first, second, _, last = answers
    assert first.earlier == ()
    assert all(one.drift is None for one in first.parameters)
    assert level(second).text == "cannot tell: 2 of the 3 dates that a line needs"
    found = level(last)
    assert [one.name for one in last.earlier] == ["job 1", "job 2", "job 3"]
    assert [one.date[:4] for one in found.seen] == ["2014", "2018", "2022", "2026"]
    assert found.per_year == pytest.approx(np.log(YEARLY), abs=0.004)
    assert found.leaves is not None
    early, middle, late = found.leaves
    assert early is not None
    assert middle is not None
    # A share of one is a level of one, so it passes the lower end of its window in this year.
    low = next(one.window[0] for one in last.parameters if one.id == "governor-level")
    crossing = 2014.34 + np.log(START / low) / -np.log(YEARLY)
    assert early < crossing < (late or 2046.0)
    assert middle == pytest.approx(crossing, abs=4.0)
    assert "leaves its window in about" in found.text


def test_a_fit_is_kept_once_and_the_newest_of_a_job_counts(shop: Shop, job: int) -> None:
    """Asked again nothing is added; after another reading the fit of that job is the newer one."""
    for text in worn(1.0):
        noting.note(shop, job, text)
    assert not fit_of_job(shop, job).kept
    assert fit_of_job(shop, job, keep=True).kept
    assert fit_of_job(shop, job, keep=True).kept
    assert fit_of_job(shop, job).kept
    (one,) = shop.store.fits_of("grey-saloon")
    assert (one.job, one.day.isoformat(), one.box) == (job, "2026-05-04", "box-a")
    assert fit_of_job(shop, job, date="2025-11-30", keep=True).date == "2025-11-30"
    assert fit_of_job(shop, job).date == "2025-11-30"
    noting.note(shop, job, "2-3 light 18 mph")
    assert not fit_of_job(shop, job).kept
    fit_of_job(shop, job, keep=True)
    (newer,) = shop.store.fits_of("grey-saloon")
    assert len(newer.data["rows"]) == len(one.data["rows"]) + 1
    with pytest.raises(InputFileError, match="no date"):
        fit_of_job(shop, job, date="2026-13-40")


def test_an_earlier_fit_may_come_from_a_file(files: tuple[Path, Path], tmp_path: Path) -> None:
    """Its date and file are named, and two dates cannot tell a drift."""
    source = source_of_file(files[1], WANTED)
    path = tmp_path / "earlier.json"
    path.write_text(fit(source, date="2024-05-01").model_dump_json())
    answer = fit(source, date="2026-05-01", earlier=[path])
    assert [(one.date, one.name) for one in answer.earlier] == [("2024-05-01", str(path))]
    assert "cannot tell" in level(answer).text


def driven(path: Path, unit: str) -> Path:
    """A drive as `road read --json` writes it: a shift down, the clock set back, two up, throttle so."""
    shifts = [
        {"t_s": t, "from": before, "to": after, "road_speed_mph": speed, "duration_s": 0.4, "flare_rpm": 0.0,
         "throttle": {"value": 15.0, "unit": unit}}
        for t, before, after, speed in ((140.0, 2, 1, 8.0), (11.0, 1, 2, 12.6), (14.0, 2, 3, 18.4))
    ]  # fmt: skip
    path.write_text(json.dumps({"shifts": shifts}))
    return path


def test_a_clock_set_back_costs_a_drive_no_shift(tmp_path: Path) -> None:
    """Upshifts whose stamps lie before that of a downshift in an earlier log are not right after it."""
    rows = source_of_file(driven(tmp_path / "a.json", "inHg"), WANTED).observed
    assert [row.shift for row in rows] == ["1-2", "2-3"]


def test_a_drive_without_vacuum_says_what_is_missing(tmp_path: Path) -> None:
    """Its shifts stand beside a throttle in per cent."""
    with pytest.raises(InputFileError, match="3 shifts of this drive stand beside a throttle in %"):
        source_of_file(driven(tmp_path / "a.json", "%"), WANTED)


def test_files_that_hold_nothing_are_refused(tmp_path: Path) -> None:
    """Something else's JSON, a fit of another box, a date that is none."""
    other = tmp_path / "other.json"
    other.write_text("[1, 2]")
    with pytest.raises(InputFileError, match="no shifts"):
        source_of_file(other, WANTED)
    good = tmp_path / "good.yaml"
    good.write_text(GOOD)
    source = source_of_file(good, WANTED)
    with pytest.raises(InputFileError, match="no fit"):
        fit(source, earlier=(other,))
    with pytest.raises(InputFileError, match="no date"):
        fit(source, date="yesterday")
