"""Boxes and cars in the browser's door: typing in a box, refusals by line, lists of cars, one car's years."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from bellhousing.boxes.load import shipped_text
from bellhousing.tasks.shop_boxes import BoxCheckAnswer

OWN = shipped_text("blank").replace("slug: blank", "slug: grey-box").replace("name: Blank", "name: Grey box")


def test_a_box_is_typed_in_kept_and_used_for_a_car(empty: TestClient) -> None:
    """Refused with its line while wrong, kept when right, then a car has it by its short name."""
    wrong = OWN.replace("  spring_pressure: unknown", "  spring_presure: 65 psi", 1)
    line = wrong.split("\n").index("  spring_presure: 65 psi") + 1
    check = empty.post("/boxes/check", data={"text": wrong}, headers={"accept": "application/json"})
    fault = BoxCheckAnswer.model_validate_json(check.text).faults[0]
    assert (fault.line, "spring_pressure" in fault.text) == (line, True)
    refused = empty.post("/boxes", data={"text": wrong})
    assert refused.status_code == 422
    assert "spring_presure: 65 psi" in refused.text
    kept = empty.post("/boxes", data={"text": OWN.replace("unknown", "65 psi", 0)}, follow_redirects=False)
    assert kept.headers["location"] == "/boxes/grey-box"
    page = empty.get("/boxes/grey-box").text
    assert "What it cannot work out yet" in page
    assert "No figures for governor" in page
    again = empty.post("/boxes", data={"text": OWN})
    assert "there is a box" in again.text.casefold()
    right = empty.post("/boxes", data={"text": OWN.replace("Grey box", "Greyer"), "replace": "grey-box"})
    assert "Greyer" in right.text
    assert "box grey-box was “grey-box." in empty.get("/settings").text
    car = empty.post(
        "/cars", json={"name": "grey saloon", "box": "grey-box"}, headers={"accept": "application/json"}
    )
    assert car.json()["box"] == "grey-box"
    assert "grey-box" in empty.get("/boxes").text


@pytest.mark.parametrize("slug", ["box-a", "three-speed-vacuum"])
def test_a_shipped_box_cannot_be_written_over(empty: TestClient, slug: str) -> None:
    """Its short name is taken, whatever the text says."""
    answer = empty.post("/boxes", data={"text": shipped_text(slug), "replace": slug})
    assert answer.status_code == 422
    assert "comes with the program" in answer.text


@pytest.mark.parametrize(
    "path", ["/boxes/no-such", "/boxes/..%2frecords", "/car/nobody", "/boxes/new?from=x"]
)
def test_what_is_not_there_says_where_to_look(empty: TestClient, path: str) -> None:
    """Not found, with a remedy, and nothing outside the folder of boxes."""
    assert empty.get(path).status_code == 404


def test_the_car_page_has_its_jobs_and_readings(web: TestClient) -> None:
    """Jobs by number, each reading with its table, the same as JSON."""
    page = web.get("/car/grey-saloon").text
    assert 'href="/job/3"' in page
    assert "Line pressure" in page or "Manifold vacuum" in page
    told = web.get("/car/grey-saloon.json").json()
    assert told["car"]["slug"] == "grey-saloon"
    assert told["readings"]
    assert "Grey saloon" in web.get("/cars?q=grey").text
