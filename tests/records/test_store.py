"""Cars, jobs, findings and verdicts as they go in and come out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy import make_url, text
from sqlalchemy.exc import IntegrityError

from bellhousing.errors import RecordError
from bellhousing.records.entries import Car, Conclusion, Entry, OdometerReading
from bellhousing.records.store import Store, open_store
from bellhousing.records.tables import UtcDateTime
from bellhousing.records.upgrading import writing

LINE = Entry(
    said="line pressure idle D 62 psi, hot",
    finding="line-drive-idle",
    value_si=427475.0,
    unit="psi",
    standard_uncertainty=10342.0,
    conditions={"hot": True, "vacuum_inhg": 17.5, "notes": ["hose on"]},
)
CONCLUSION = Conclusion(
    findings=(1,),
    seed=2**80 + 1,
    box="box-a",
    box_digest="aa",
    catalogue_digest="bb",
    program_version="0.1.0",
    causes=({"fault": "vacuum-hose-off", "probability": 0.8125}, {"fault": "engine-vacuum-low"}),
    neglected=0.004,
    details={"samples": 2000},
)


def test_a_car_comes_back_as_it_went_in(store: Store, at: datetime) -> None:
    """Every field of a car, its odometer sorted by time."""
    car = Car(
        slug="green-coupe",
        name="Green coupé – “the old one”",
        box="box-a",
        note="tyres changed",
        owner="somebody",
        axle_ratio=3.08,
        tyre_radius_m=0.3505,
        altitude_m=-3.0,
        odometer=(OdometerReading(at, 1.5e8), OdometerReading(at + timedelta(days=9), 1.6e8)),
    )
    assert store.add_car(car) == car
    assert [known.slug for known in store.cars()] == ["green-coupe", "grey-saloon"]
    assert store.cars()[0] == car
    earlier = store.add_odometer("green-coupe", at=at - timedelta(days=30), who="m", distance_m=1.4e8)
    assert [reading.distance_m for reading in earlier.odometer] == [1.4e8, 1.5e8, 1.6e8]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"slug": "Green Coupe"}, "cannot name a car"),
        ({"slug": "grey-saloon"}, "there is a car of that name"),
        ({"name": "  "}, "a car needs a name"),
        ({"box": ""}, "a car needs a box"),
        ({"tyre_radius_m": 0.0}, "tyre radius is 0"),
        ({"axle_ratio": float("nan")}, "axle ratio is not a number"),
    ],
)
def test_a_car_that_cannot_be_is_refused(store: Store, change: dict[str, object], said: str) -> None:
    """The refusal says what was wrong, and nothing is kept."""
    with pytest.raises(RecordError, match=said):
        store.add_car(replace(Car(slug="green-coupe", name="Green", box="box-a"), **change))  # type: ignore[arg-type]
    assert len(store.cars()) == 1


def test_jobs_are_numbered_opened_and_closed(store: Store, at: datetime) -> None:
    """A job keeps its complaint verbatim; closing and opening again are dated."""
    second = store.open_job("grey-saloon", complaint="  whines\n", at=at, who="m", odometer_m=1.2e8)
    assert (second.number, second.complaint, second.status) == (2, "  whines\n", "open")
    assert store.car("grey-saloon").odometer == (OdometerReading(at, 1.2e8, "m"),)
    later = at + timedelta(days=1)
    assert store.close_job(1, at=later, who="Anna", note="hose replaced").status == "closed"
    with pytest.raises(RecordError, match="job 1 is closed already"):
        store.close_job(1, at=later, who="m")
    assert [job.number for job in store.jobs()] == [2, 1]
    assert [job.number for job in store.jobs(status="open")] == [2]
    assert store.jobs(car="nobody") == ()
    assert [job.number for job in store.jobs(limit=1)] == [2]
    assert store.reopen_job(1, at=later, who="m").status == "open"
    assert [change.status for change in store.status_changes(1)] == ["open", "closed", "open"]
    assert store.status_changes(1)[1].note == "hose replaced"
    assert [change.who for change in store.status_changes(1)] == ["m", "Anna", "m"]


def test_what_is_not_there_is_named(store: Store, at: datetime) -> None:
    """Every look-up of something unknown says which one."""
    for ask, said in (
        (lambda: store.car("nobody"), "there is no car 'nobody'"),
        (lambda: store.job(9), "there is no job 9"),
        (lambda: store.findings(9), "there is no job 9"),
        (lambda: store.verdicts(9), "there is no job 9"),
        (lambda: store.finding(9), "there is no entry 9"),
        (lambda: store.verdict(9), "there is no verdict 9"),
        (lambda: store.open_job("nobody", complaint="", at=at, who="m"), "there is no car 'nobody'"),
        (lambda: store.add_finding(9, LINE, at=at, who="m"), "there is no job 9"),
        (lambda: store.correct_finding(9, LINE, at=at, who="m"), "there is no entry 9"),
        (lambda: store.withdraw_finding(9, at=at, who="m"), "there is no entry 9"),
    ):
        with pytest.raises(RecordError, match=said):
            ask()


def test_a_finding_comes_back_as_it_went_in(store: Store, place: str, at: datetime) -> None:
    """Also after the file was closed and opened again, figures to the last bit."""
    noted = store.add_finding(1, LINE, at=at, who="bench one", key="a1")
    states = Entry(said="fluid brown or black", finding="fluid-colour", states=("brown", "black"))
    store.add_finding(1, states, at=at, who="bench one")
    store.close()
    with open_store(place) as again:
        assert again.findings(1) == (noted, again.finding(2))
        assert {name: getattr(noted, name) for name in LINE.__dataclass_fields__} == vars(LINE)
        assert again.finding(2).states == ("brown", "black")
        assert again.finding(1).at == at
        assert again.finding(1).at.tzinfo is UTC


def test_a_local_time_is_kept_as_the_same_moment(store: Store) -> None:
    """Times in another zone come back in UTC; times without a zone are refused."""
    local = datetime(2026, 5, 1, 11, 0, tzinfo=timezone(timedelta(hours=2)))
    assert store.add_finding(1, LINE, at=local, who="m").at == datetime(2026, 5, 1, 9, 0, tzinfo=UTC)
    with pytest.raises(RecordError, match="no time zone"):
        store.add_finding(1, LINE, at=datetime(2026, 5, 1), who="m")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"said": " "}, "nothing is said"),
        ({"finding": None}, "not what was read"),
        ({"unit": None}, "has no unit"),
        ({"value_si": float("inf")}, "value is not a number"),
        ({"standard_uncertainty": -1.0}, "standard uncertainty is -1"),
        ({"conditions": {"hot": float("nan")}}, "conditions cannot be kept"),
        ({"conditions": {1: "first"}}, "conditions cannot be kept"),
        ({"conditions": {"when": datetime(2026, 1, 1)}}, "conditions cannot be kept"),
    ],
)
def test_an_entry_that_cannot_be_kept_is_refused(
    store: Store, at: datetime, change: dict[str, object], said: str
) -> None:
    """Nothing is rounded, dropped or turned into something else in silence."""
    with pytest.raises(RecordError, match=said):
        store.add_finding(1, replace(LINE, **change), at=at, who="m")  # type: ignore[arg-type]
    assert store.findings(1) == ()


def test_a_correction_stands_in_the_place_of_what_it_corrects(store: Store, at: datetime) -> None:
    """The old entry stays in the book; what stands is the new one, in the old one's place."""
    for said in ("one", "two", "three"):
        store.add_finding(1, Entry(said=said), at=at, who="m")
    new = store.correct_finding(1, Entry(said="one, rather"), at=at, who="m")
    newest = store.correct_finding(new.id, Entry(said="one, at last"), at=at, who="m")
    gone = store.withdraw_finding(2, at=at, who="m", reason="wrong car")
    assert [entry.said for entry in store.current_findings(1)] == ["one, at last", "three"]
    assert len(store.findings(1)) == 6
    assert [entry.id for entry in store.history(new.id)] == [1, new.id, newest.id]
    assert [entry.said for entry in store.history(2)] == ["two", "wrong car"]
    assert gone.withdrawn
    assert gone.supersedes == 2


def test_an_entry_is_corrected_once_and_the_refusal_names_what_stands(store: Store, at: datetime) -> None:
    """A second correction of an old entry would make two truths of one."""
    store.add_finding(1, LINE, at=at, who="m")
    store.correct_finding(1, LINE, at=at, who="m")
    store.correct_finding(2, LINE, at=at, who="m")
    with pytest.raises(RecordError, match="entry 1 was corrected before: entry 3 now stands for it"):
        store.correct_finding(1, LINE, at=at, who="m")
    with pytest.raises(RecordError, match="entry 3 now stands for it"):
        store.withdraw_finding(2, at=at, who="m")
    store.withdraw_finding(3, at=at, who="m")
    with pytest.raises(RecordError, match="entry 2 was withdrawn by entry 4"):
        store.correct_finding(2, LINE, at=at, who="m")
    with pytest.raises(RecordError, match="entry 4 is a withdrawal"):
        store.correct_finding(4, LINE, at=at, who="m")
    assert len(store.findings(1)) == 4
    assert store.current_findings(1) == ()


def test_the_same_key_sent_twice_is_kept_once(store: Store, at: datetime) -> None:
    """For jobs, findings, corrections and withdrawals, also long after."""
    job = store.open_job("grey-saloon", complaint="slips", at=at, who="m", key="j")
    later = at + timedelta(hours=3)
    assert store.open_job("grey-saloon", complaint="slips", at=later, who="m", key="j") == job
    noted = store.add_finding(1, LINE, at=at, who="m", key="a")
    corrected = store.correct_finding(noted.id, LINE, at=at, who="m", key="b")
    assert store.add_finding(1, LINE, at=later, who="m", key="a") == noted
    assert store.correct_finding(noted.id, LINE, at=later, who="m", key="b") == corrected
    gone = store.withdraw_finding(corrected.id, at=at, who="m", key="c")
    assert store.withdraw_finding(corrected.id, at=later, who="m", key="c") == gone
    assert len(store.findings(1)) == 3
    with pytest.raises(RecordError, match="key was used before, for something else"):
        store.add_finding(1, replace(LINE, said="something else"), at=at, who="m", key="a")
    with pytest.raises(RecordError, match="key was used before, for something else"):
        store.add_finding(2, LINE, at=at, who="m", key="a")
    with pytest.raises(RecordError, match="that key cannot be kept"):
        store.add_finding(1, LINE, at=at, who="m", key="")


def test_a_verdict_comes_back_as_it_went_in(store: Store, at: datetime) -> None:
    """With its seed, though it is longer than a database integer, and the entries it used."""
    store.add_finding(1, LINE, at=at, who="m")
    verdict = store.add_verdict(1, CONCLUSION, at=at)
    assert {name: getattr(verdict, name) for name in CONCLUSION.__dataclass_fields__} == vars(CONCLUSION)
    assert store.verdicts(1) == (verdict,)
    assert (verdict.id, verdict.job, verdict.at) == (1, 1, at)


def test_a_verdict_is_of_its_own_jobs_entries(store: Store, at: datetime) -> None:
    """An entry of another job, or none at all, cannot have led to it; nothing is half kept."""
    store.open_job("grey-saloon", complaint="slips", at=at, who="m")
    store.add_finding(2, LINE, at=at, who="m")
    with pytest.raises(RecordError, match="entry 1 is not of that job"):
        store.add_verdict(1, CONCLUSION, at=at)
    with pytest.raises(RecordError, match="there is no entry 7"):
        store.add_verdict(1, replace(CONCLUSION, findings=(7,)), at=at)
    with pytest.raises(RecordError, match=r"neglected probability is 1\.5"):
        store.add_verdict(2, replace(CONCLUSION, neglected=1.5), at=at)
    assert store.verdicts(1) == store.verdicts(2) == ()


@pytest.mark.parametrize("table", ["findings", "verdicts", "verdict_findings", "job_status"])
def test_the_database_itself_refuses_to_change_what_is_written(
    store: Store, at: datetime, table: str
) -> None:
    """Even a statement from outside the store cannot rewrite the book."""
    store.add_finding(1, LINE, at=at, who="m")
    store.add_verdict(1, CONCLUSION, at=at)
    column = {"verdict_findings": "finding"}.get(table, "job")
    for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET {column} = 1"):
        with (
            writing(store.engine) as connection,
            pytest.raises(IntegrityError, match=f"{table} are written once"),
        ):
            connection.execute(text(statement))
    assert len(store.findings(1)) == len(store.verdicts(1)) == 1


def test_the_database_itself_refuses_what_points_at_nothing(store: Store) -> None:
    """On every connection, whatever the program's own checks let through."""
    with writing(store.engine) as connection, pytest.raises(IntegrityError, match=r"(?i)foreign key"):
        connection.execute(
            text("INSERT INTO odometer (car, at, distance_m) VALUES ('nobody', '2026-05-01', 1)")
        )


def test_a_moment_is_stored_in_utc_whatever_its_zone() -> None:
    """The column turns it itself; a database that keeps zones gets the zone."""
    local = datetime(2026, 5, 1, 11, 0, tzinfo=timezone(timedelta(hours=2)))
    column = UtcDateTime()
    assert column.process_bind_param(local, make_url("sqlite://").get_dialect()()) == datetime(
        2026, 5, 1, 9, 0
    )
    assert column.process_bind_param(local, make_url("postgresql://").get_dialect()()) == datetime(
        2026, 5, 1, 9, 0, tzinfo=UTC
    )
    for given in (datetime(2026, 5, 1, 9, 0), local):
        back = column.process_result_value(given, make_url("sqlite://").get_dialect()())
        assert (back, back.tzinfo if back else None) == (datetime(2026, 5, 1, 9, 0, tzinfo=UTC), UTC)


def test_a_copy_is_made_while_in_use_and_never_over_a_file(
    store: Store, tmp_path: Path, at: datetime
) -> None:
    """The copy opens as records of its own."""
    store.add_finding(1, LINE, at=at, who="m")
    copy = store.back_up(tmp_path / "copy.sqlite")
    with open_store(copy) as other:
        assert other.findings(1) == store.findings(1)
    with pytest.raises(RecordError, match="a file of that name is there already"):
        store.back_up(copy)
    store.check()


def test_a_clock_set_back_does_not_change_the_order_of_what_was_noted(store: Store, at: datetime) -> None:
    """Entries are numbered: what was said last stands last, a correction after what it corrects."""
    first = store.add_finding(1, Entry(said="64 psi"), at=at, who="m")
    back = at - timedelta(days=400)
    store.correct_finding(first.id, Entry(said="66 psi"), at=back, who="m")
    store.add_finding(1, Entry(said="hose split"), at=back, who="m")
    store.open_job("grey-saloon", complaint="slips", at=back, who="m")
    store.close_job(1, at=back, who="m")
    assert [entry.said for entry in store.findings(1)] == ["64 psi", "66 psi", "hose split"]
    assert [entry.said for entry in store.current_findings(1)] == ["66 psi", "hose split"]
    assert [job.number for job in store.jobs()] == [2, 1]
    assert store.job(1).status == "closed"
    assert store.newest() == at
    store.check()
