"""What measured parts explain, of a findings file and of a job; numbers that count among the findings."""

from __future__ import annotations

from pathlib import Path

import pytest

from bellhousing.errors import BellhousingError, InputFileError
from bellhousing.tasks import measuring, noting, opening
from bellhousing.tasks.bench import bench_of_file, bench_of_job
from bellhousing.tasks.bench_evidence import heard_on_job
from bellhousing.tasks.bench_shapes import BenchAnswer
from bellhousing.tasks.file_answers import causes_of_file
from bellhousing.tasks.findings_file import parse_findings
from bellhousing.tasks.ranked_jobs import causes_of_job
from bellhousing.tasks.shop import Shop

WORN = """\
box: A
findings:
  - line pressure idle D 40 psi hot
  - line pressure D at 1000 rpm 64 psi
  - 2-3 at 64 mph light throttle
  - 30 drops a minute parked
measured:
  - pump face clearance 0.0042 0.0041 0.0043 in
  - gear tip to crescent 0.0085 in
  - front end play 0.021 in
  - pump ring reach -0.06 mm
"""


@pytest.fixture
def answer(tmp_path: Path) -> BenchAnswer:
    """The answer to a file of a worn pump."""
    return bench_of_file(_file(tmp_path, WORN))


def _file(folder: Path, text: str) -> Path:
    path = folder / "bench.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def _outcomes(answer: BenchAnswer) -> dict[str, str]:
    return {reading.finding: reading.outcome for reading in answer.readings}


def test_each_reading_is_judged_beside_what_is_foretold(answer: BenchAnswer) -> None:
    """The low idle is the pump, the late shift is not, the rest is as a sound box."""
    found = _outcomes(answer)
    assert found["line-drive-idle"] == "explains it"
    assert found["line-drive-1000"] == "nothing to explain"
    assert found["upshift-23-light"] == "does not"
    assert "Keep looking for second to third, light throttle" in answer.text
    idle = next(reading for reading in answer.readings if reading.finding == "line-drive-idle")
    assert idle.low is not None
    assert idle.high is not None
    assert idle.low <= 40.0 <= idle.high < 66.0
    assert idle.unit == "psi"


def test_what_else_the_parts_would_show_is_told(answer: BenchAnswer) -> None:
    """A worn pump is low in reverse too, which nobody read yet."""
    assert "line-drive-idle" not in {entry.finding for entry in answer.foretold}
    told = {entry.finding: entry for entry in answer.foretold}
    assert any(name.startswith("line-") for name in told)


def test_numbers_say_what_they_change(answer: BenchAnswer) -> None:
    """The end play changes no reading here, and is judged all the same."""
    changes = {entry.measure: entry.changes for entry in answer.numbers}
    assert "pump" in changes["pump-face-clearance"]
    assert changes["front-end-play"] == ""
    assert "drips" in changes["pump-ring-reach"]


def test_the_width_is_students_as_where_it_is_measured(shop: Shop) -> None:
    """Three readings leave few degrees of freedom: what holds 95 in 100 is wider than two deviations."""
    opening.open_car(shop, "Grey saloon", box="A")
    job = opening.open_job(shop, "grey-saloon", "late shifts").number
    measured = measuring.measure_on_job(shop, job, "direct pack clearance 0.068 0.066 0.069 in")
    (number,) = bench_of_job(shop, job).numbers
    assert number.expanded == pytest.approx(measured.expanded, rel=0.005)
    assert number.expanded > 3.0 * number.uncertainty


def test_drops_counted_are_held_against_the_ring(answer: BenchAnswer) -> None:
    """No end of a count lies below nought."""
    drips = next(reading for reading in answer.readings if reading.finding == "drops-parked")
    assert drips.low is not None
    assert drips.low >= 0.0
    assert drips.outcome in ("explains it", "explains part", "does not")
    assert drips.sound_high is not None
    assert drips.sound_high < 15.0


def test_numbers_count_as_findings_with_the_causes(tmp_path: Path) -> None:
    """The same file asked for its causes: the pump's clearances speak for the pump."""
    with_numbers = causes_of_file(_file(tmp_path, WORN))
    without = causes_of_file(_file(tmp_path, WORN.split("measured:")[0]))
    worn = {one: entry.probability for one, entry in ((c.cause, c) for c in with_numbers.causes)}
    before = {one: entry.probability for one, entry in ((c.cause, c) for c in without.causes)}
    assert worn["pump-worn"] > before["pump-worn"]
    assert "pump-gears" in {entry.finding for entry in with_numbers.findings}


def test_burnt_plates_said_among_the_findings_take_part(tmp_path: Path) -> None:
    """Without any number: plates seen burnt explain a slip in first."""
    text = "box: A\nfindings:\n  - forward plates burnt\n  - slips in first\n"
    answer = bench_of_file(_file(tmp_path, text))
    assert _outcomes(answer) == {"slip-first": "explains it"}
    assert answer.plates == ("Forward clutch plates: burnt",)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("box: A\nfindings:\n  - slips in first\n", "nothing was measured"),
        ("box: A\nfindings: []\nmeasured:\n  - the moon 3 in\n", "line 4"),
        ("box: A\nfindings: []\nmeasured:\n  - pump face clearance 40 mm\n", "line 4"),
        ("box: A\nfindings: []\nmeasured: pump face clearance 1 thou\n", "must be a list"),
        ("box: A\nfindings: []\nmeasured:\n  - {}\n", "must be a sentence"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line(text: str, says: str, tmp_path: Path) -> None:
    """Nothing measured, unknown names, impossible figures, other shapes."""
    with pytest.raises(BellhousingError, match=says):
        bench_of_file(_file(tmp_path, text))


def test_a_file_without_measurements_reads_as_before() -> None:
    """The key may be missing, and may be there with nothing after it."""
    assert parse_findings("findings: []").measured == ()
    assert parse_findings("findings: []\nmeasured:\n").measured == ()


def test_a_job_is_answered_from_what_was_measured_on_it(shop: Shop, job: int) -> None:
    """Numbers kept by measuring, readings kept by notes."""
    noting.note(shop, job, "line pressure idle D 40 psi hot")
    with pytest.raises(InputFileError, match="nothing was measured"):
        bench_of_job(shop, job)
    measuring.measure_on_job(shop, job, "pump face clearance 0.0042 in")
    measuring.measure_on_job(shop, job, "gear tip to crescent 0.0085 in")
    answer = bench_of_job(shop, job)
    assert _outcomes(answer)["line-drive-idle"] == "explains it"
    assert all(entry.number is not None for entry in answer.numbers)
    assert answer.notes == ()


def test_on_a_job_the_number_stands_for_the_finding(shop: Shop, job: int) -> None:
    """The measurement is heard under its own entry, once, and the causes count it."""
    measuring.measure_on_job(shop, job, "pump face clearance 0.0050 in")
    heard = heard_on_job(shop, job)
    assert [entry.evidence.finding for entry in heard if entry.evidence is not None] == ["pump-gears"]
    assert len(heard) == len(noting.heard_on_job(shop, job))
    answer = causes_of_job(shop, job)
    assert answer.notes == ()
    assert {entry.finding for entry in answer.findings} == {"pump-gears"}
