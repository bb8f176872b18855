"""Proof and fit on the page of a job."""

from __future__ import annotations

from collections.abc import Callable

from starlette.testclient import TestClient

from bellhousing.tasks import noting, opening
from bellhousing.tasks.shop import Shop

LATE = ("1-2 light 30 mph", "1-2 medium 38 mph")
GOOD = ("1-2 light 12.5 mph", "1-2 medium 19 mph", "2-3 light 18 mph", "line pressure D idle 66 psi")


def test_the_job_page_proves_it_when_asked(web: TestClient, demo: Shop, new_job: Callable[[], int]) -> None:
    """Before and after as two jobs of one car: verdict, picture and what was not tested."""
    before, after = new_job(), new_job()
    for job, said in ((before, LATE), (after, GOOD)):
        for text in said:
            noting.note(demo, job, text)
    answer = web.get(f"/job/{after}/proof.json", params={"before": before}).json()
    assert answer["before"]["as_sound"] < answer["after"]["as_sound"]
    page = web.get(f"/job/{after}", params={"prove": 1, "before": before}).text
    assert 'id="prove"' in page
    assert answer["verdict"] in page
    assert "Before: 1–2 at 30 mph" in page
    assert "2–3 at full throttle" in page
    drawn = web.get(f"/job/{after}/proof.svg", params={"before": before})
    assert drawn.headers["content-type"].startswith("image/svg")
    fitted = web.get(f"/job/{after}/fit.json").json()
    assert len(fitted["rows"]) == len(GOOD)


def test_a_job_without_a_drive_says_what_is_missing(web: TestClient, new_job: Callable[[], int]) -> None:
    """The page stands, with the reason; nothing is worked out unasked."""
    job = new_job()
    plain = web.get(f"/job/{job}")
    assert plain.status_code == 200
    assert "no shift was driven" not in plain.text.lower()
    asked = web.get(f"/job/{job}", params={"prove": 1})
    assert asked.status_code == 200
    assert "no shift was driven" in asked.text.lower()
    assert web.get(f"/job/{job}/proof.json").status_code == 422


def test_an_earlier_job_that_does_not_exist_is_told(web: TestClient, new_job: Callable[[], int]) -> None:
    """Beside the form, with the page whole."""
    for wrong in ("99999", "last year"):
        page = web.get(f"/job/{new_job()}", params={"prove": 1, "before": wrong})
        assert page.status_code == 200
        assert 'id="prove-problem"' in page.text


def test_fits_kept_with_the_car_show_their_drift(web: TestClient, demo: Shop) -> None:
    """Three jobs kept from page and JSON: the third page shows the drift, and what is kept says so."""
    opening.open_car(
        demo, "Drifting coupe", box="A", axle_ratio="3.08", tyre_radius="0.345 m", altitude="0 m"
    )
    jobs = [opening.open_job(demo, "drifting-coupe", "Shifts early").number for _ in range(3)]
    for job, psi in zip(jobs, (23.0, 22.0, 21.0), strict=True):
        noting.note(demo, job, f"governor pressure at 20 mph {psi} psi")
        noting.note(demo, job, "2-3 light 18 mph")
    first = web.get(f"/job/{jobs[0]}", params={"prove": 1}).text
    assert "Keep this fit with the car" in first
    assert "Drift since" not in first
    for job in jobs[:2]:
        sent = web.post(
            f"/job/{job}/fit", data={}, headers={"origin": str(web.base_url)}, follow_redirects=False
        )
        assert sent.status_code == 303
        assert sent.headers["location"].endswith("prove=1#prove")
    assert "kept with the car" in web.get(f"/job/{jobs[0]}", params={"prove": 1}).text
    last = web.get(f"/job/{jobs[2]}", params={"prove": 1}).text
    assert f"(job {jobs[0]})" in last
    assert "of the 3 dates that a line needs" in last
    answer = web.get(f"/job/{jobs[2]}/fit.json").json()
    assert [one["name"] for one in answer["earlier"]] == [f"job {job}" for job in jobs[:2]]
    assert not answer["kept"]
