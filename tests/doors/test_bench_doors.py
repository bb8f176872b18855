"""The bench through both doors: measuring on a job, choosing parts of a job or a file."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.tasks import fits, measuring, noting
from bellhousing.tasks.shop import Shop

FITS = """\
stacks:
  front-end-play:
    name: Front end play
    window: 0.006–0.018 in
    measured: 0.021 in ± 0.002 in
    members: [{part: front-washer, acts: closes, fitted: 0.072 in}]
  servo:
    name: Servo travel
    window: 1.5–2.5 mm
    members:
      - {name: bore, acts: opens, size: 63.50 mm ± 0.10 mm}
      - {part: pin, acts: closes}
stock:
  front-washer:
    name: front thrust washer
    tolerance: 0.0005 in
    sizes:
      - {size: 0.080 in, mark: green, stock: 1}
      - {size: 0.084 in, to_buy: 3, price: "4.50"}
  pin:
    name: apply pin
    sizes: [{size: 60.0 mm, stock: 2}]
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A fits file with one stack that can be filled and one that cannot."""
    path = tmp_path / "fits.yaml"
    path.write_text(FITS, encoding="utf-8")
    return path


def test_a_fits_file_as_json(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Parts, clearance, window and confidence of each stack, and what to order."""
    assert cli.run(["fits", str(file), "--json"]) == 0
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert set(answer) >= {"stacks", "joint", "buy", "price", "proven", "left_out", "rule", "notes"}
    play, servo = answer["stacks"]
    assert play["fits"] is True
    assert (play["parts"][0]["size"], play["parts"][0]["mark"]) == (0.08, "green")
    assert play["clearance"] == pytest.approx(0.013)
    assert (play["low"], play["high"], play["unit"]) == (0.006, 0.018, "in")
    assert play["probability"] > 0.99
    assert "0.021 in − 0.008 in = 0.013 in" in " ".join(play["arithmetic"])
    assert servo["fits"] is False
    assert servo["orders"][0]["size"] == pytest.approx(61.5)
    assert "1.5 mm longer than any listed" in servo["orders"][0]["text"]
    assert answer["buy"] == []
    assert play["spread"] is None
    assert (servo["spread"]["worst"], servo["spread"]["root_sum_square"]) == pytest.approx((0.1, 0.1))
    assert servo["spread"]["high"] - servo["spread"]["low"] == pytest.approx(0.19, abs=0.002)
    assert servo["spread"]["low"] < servo["clearance"] < servo["spread"]["high"]


def test_a_fits_file_in_words(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sum stands under the part, the order where nothing fits."""
    assert cli.run(["fits", str(file)]) == 0
    out = capsys.readouterr().out
    assert "Fit front thrust washer 0.080 in (green)." in out
    assert "a thicker one takes from the gap" in out
    assert "Nothing fits" in out
    assert "Nothing better exists." in out
    assert max(len(line) for line in out.splitlines()) <= 96


@pytest.mark.parametrize(
    ("text", "said"),
    [("stacks: 3\n", "group of keys"), ("stok: {}\n", "unknown key"), ("", "not a fits file")],
)
def test_a_broken_fits_file_is_named(
    tmp_path: Path, text: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """With exit status 1 and the line."""
    path = tmp_path / "broken.yaml"
    path.write_text(text, encoding="utf-8")
    assert cli.run(["fits", str(path)]) == 1
    assert said in capsys.readouterr().err
    assert cli.run(["fits", str(tmp_path / "none.yaml")]) == 1


@pytest.mark.parametrize("doubt", ["1e308 mm", "1e160 mm", "9" * 30 + " mm"])
def test_a_doubt_beyond_measure_is_refused(
    tmp_path: Path, doubt: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A slip of the pen whose square no figure holds ends in a sentence."""
    path = tmp_path / "slip.yaml"
    path.write_text(FITS.replace("± 0.10 mm", f"± {doubt}"), encoding="utf-8")
    assert cli.run(["fits", str(path)]) == 1
    assert "Servo travel: the clearance or how well it is known" in capsys.readouterr().err


def test_measuring_on_a_job_from_the_command_line(
    demo: Shop, new_job: Callable[[], int], capsys: pytest.CaptureFixture[str]
) -> None:
    """Kept, judged, listed with its budget; what is no measurement is refused with what would be right."""
    job = str(new_job())
    shop = ["--shop", str(demo.folder)]
    assert cli.run(["measure", job, "front end play 0.021 in", *shop]) == 0
    said = " ".join(capsys.readouterr().out.split())
    judged = "Front end play is 0.021 ± 0.0023 in, window 0.006–0.018 in (this box's manual): above"
    assert f"{judged}, more than 99 in 100." in said
    assert cli.run(["measure", job, "--budget", *shop]) == 0
    assert "error of the instrument (B, rectangular" in capsys.readouterr().out
    assert cli.run(["measure", job, "--json", *shop]) == 0
    (entry,) = json.loads(capsys.readouterr().out)
    assert (entry["measure"], entry["value"], entry["unit"], entry["outcome"]) == (
        "front-end-play",
        0.021,
        "in",
        "outside",
    )
    for wrong in ("front end play 9 in", "the ashtray 3 in", "front end play", "front end play 21"):
        assert cli.run(["measure", job, wrong, *shop]) == 1
        assert capsys.readouterr().err.strip()


def test_a_coarse_instrument_is_named_in_the_verdict(demo: Shop, new_job: Callable[[], int]) -> None:
    """Said with or without its name; a fine one says nothing of the kind."""
    job = new_job()
    taken = measuring.measure_on_job(demo, job, "pump body clearance 0.004 in")
    assert "Taken as read with the feeler gauges, too coarse for this window" in taken.text
    assert "feeler gauges in half thousandths or depth micrometer" in taken.too_coarse
    said = measuring.measure_on_job(demo, job, "pump body clearance 0.004 in with feelers")
    assert said.text.endswith("Too coarse for this window: feeler gauges.")
    fine = measuring.measure_on_job(demo, job, "pump body clearance 0.0045 in with fine feelers")
    assert (fine.too_coarse, "coarse" in fine.text) == ("", False)


def test_the_budget_says_what_the_rule_does_to_many_parts(demo: Shop, new_job: Callable[[], int]) -> None:
    """A coarse instrument turns sound ones away, a window with one end says nothing of the kind."""
    job = new_job()
    coarse = measuring.measure_on_job(demo, job, "front end play 0.012 in").risks
    fine = measuring.measure_on_job(demo, job, "front end play 0.012 in with fine dial").risks
    turned = [int(text.split(" sound ones")[0].split(", ")[-1].split(" ")[0]) for text in (coarse, fine)]
    assert turned[0] > turned[1] > 0
    assert "of those called inside are not" in coarse
    assert measuring.measure_on_job(demo, job, "flexplate runout 0.005 in").risks == ""


def test_a_later_measurement_counts_and_a_withdrawn_one_does_not(
    demo: Shop, new_job: Callable[[], int]
) -> None:
    """Nothing is overwritten: the first stays in the book."""
    job = new_job()
    first = measuring.measure_on_job(demo, job, "rear end play 0.024 in")
    second = measuring.measure_on_job(demo, job, "rear end play 0.013, 0.014 and 0.013 in with the fine dial")
    assert (len(second.readings), second.instrument) == (3, "dial indicator reading ten-thousandths")
    assert [entry.counts for entry in measuring.measured_on_job(demo, job)] == [False, True]
    assert second.number is not None
    noting.withdraw(demo, job, second.number, "misread the dial")
    (left,) = measuring.measured_on_job(demo, job)
    assert (left.number, left.counts) == (first.number, True)
    assert [entry.finding for entry in demo.store.findings(job)] == [None, None, None]


def test_the_same_line_sent_twice_is_kept_once(demo: Shop, new_job: Callable[[], int]) -> None:
    """By its key."""
    job = new_job()
    once = measuring.measure_on_job(demo, job, "front end play 0.012 in", key=f"measure-{job}")
    again = measuring.measure_on_job(demo, job, "front end play 0.012 in", key=f"measure-{job}")
    assert once.number == again.number


def test_parts_of_a_job_follow_what_was_measured(demo: Shop, new_job: Callable[[], int]) -> None:
    """Clearance and old washer measured: the new washer by that sum; what was not measured is told."""
    job = new_job()
    measuring.measure_on_job(demo, job, "front end play 0.021 in")
    told = fits.fits_of_job(demo, job)
    assert "not the front thrust washer" in " ".join(told.notes)
    measuring.measure_on_job(demo, job, "front thrust washer 0.0715 in")
    stack = next(entry for entry in fits.fits_of_job(demo, job).stacks if entry.stack == "front-end-play")
    assert stack.basis == fits.BY_CLEARANCE
    assert stack.parts[0].size == pytest.approx(0.080)
    assert stack.clearance == pytest.approx(0.0125, abs=1e-6)


def test_the_page_shows_a_measurement_on_its_limit_line(web: TestClient, new_job: Callable[[], int]) -> None:
    """Judged, with its budget behind a fold; not among the notes; parts when asked for."""
    job = new_job()
    kept = web.post(f"/job/{job}/measure", data={"text": "forward pack clearance 0.041 0.056 0.043 in"})
    assert kept.status_code == 200
    bench = kept.text.split('id="bench"')[2 if kept.text.count('id="bench"') > 1 else 1]
    assert "Forward pack clearance" in bench
    assert "<svg" in bench
    assert "a coned plate or a misplaced wave plate" in bench
    assert "Where the ± comes from" in bench
    assert "Kept as notes, not counted" not in kept.text
    assert "Parts to fit" not in kept.text
    asked = web.get(f"/job/{job}?fits=1")
    assert "Parts to fit" in asked.text
    (entry,) = web.get(f"/job/{job}/measured.json").json()
    assert entry["ring"]
    assert web.get(f"/job/{job}/fits.json").json()["proven"] is True


def test_what_is_no_measurement_comes_back_as_typed(web: TestClient, new_job: Callable[[], int]) -> None:
    """With what is wrong beside it, and nothing kept."""
    job = new_job()
    refused = web.post(f"/job/{job}/measure", data={"text": "front end play 9 in"})
    assert refused.status_code == 422
    assert 'value="front end play 9 in"' in refused.text
    assert "impossible" in refused.text
    assert web.get(f"/job/{job}/measured.json").json() == []
