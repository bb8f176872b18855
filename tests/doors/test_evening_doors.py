"""The evening view's addresses: tables by box and by what is broken, refusals as JSON, its policy."""

from __future__ import annotations

from typing import cast

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from bellhousing.tasks import shop_boxes


def test_the_table_is_in_the_unit_of_the_reader(web: TestClient) -> None:
    """Road speeds come in the unit that was asked for, pressures stay as they are."""
    mph = web.get("/evening/table.json?box=box-b").json()
    kmh = web.get("/evening/table.json?box=box-b&unit=km/h").json()
    assert kmh["speed"][-1] == pytest.approx(160.93, abs=0.01)
    assert kmh["valves"][0]["up"][5] == pytest.approx(1.609344 * mph["valves"][0]["up"][5], abs=0.02)
    assert kmh["line"] == mph["line"]
    assert kmh["turns"] * kmh["speed"][-1] == pytest.approx(mph["turns"] * mph["speed"][-1], rel=1e-4)


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("/evening/table.json?box=../box-a", "no box"),
        ("/evening/table.json?box=box-a&broken=rod-long", "cannot be broken"),
        ("/evening/table.json?box=box-a&how=nan", "no severity"),
        ("/evening/table.json?box=box-a&how=2", "severity of 2"),
        ("/evening/drive.json?box=box-a&drive=home", "no drive"),
        ("/evening/case/none.json", "no case"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(web: TestClient, address: str, says: str) -> None:
    """As JSON with what was wrong and what would be right, never a broken page."""
    answer = web.get(address)
    assert answer.status_code == 422
    assert says in answer.json()["error"]["what"]
    assert answer.json()["error"]["remedy"]


def test_own_boxes_are_listed_before_a_car_has_one(empty: TestClient) -> None:
    """One that can be drawn is among the boxes; one that cannot is named with the reason."""
    shop = cast(Starlette, empty.app).state.shop
    for slug in ("our-good", "our-spoilt"):
        shop_boxes.save_box(shop, shop_boxes.begun_text(shop, "box-a").replace("our-box-a", slug))
    spoilt = shop_boxes.own_file(shop, "our-spoilt")
    assert spoilt is not None
    spoilt.write_text(spoilt.read_text("utf-8").replace("sun_teeth: 30", "sun_teeth: 31"), "utf-8")
    page = empty.get("/evening").text
    assert '<option value="our-good"' in page
    assert '<option value="our-spoilt"' not in page
    assert "1 box of the shop cannot be drawn yet" in page
    assert "<li>our-spoilt: " in page


def test_the_page_holds_to_its_policy(web: TestClient) -> None:
    """No script and no style stands in the page itself; a box that does not exist is not chosen."""
    answer = web.get("/evening?box=nothing")
    assert answer.status_code == 200
    assert "<style" not in answer.text
    assert " style=" not in answer.text
    assert answer.text.count("<script") == 1
    assert '<option value="box-a" data-kind="three-speed-vacuum" selected>' in answer.text
    assert "unsafe" not in answer.headers["Content-Security-Policy"]


def test_a_case_is_told_in_the_units_of_the_reader(web: TestClient) -> None:
    """What is read out and what was understood of it; what to write stays in the words of the workshop."""
    (told,) = (
        step
        for step in web.get("/evening/case/smoking-saloon.json?unit=km/h").json()["steps"]
        if "Line pressure" in step["tell"]
    )
    assert "883 kPa" in told["tell"]
    assert "psi" not in told["tell"] + told["understood"]
    assert "128 psi" in told["said"]
