"""Settings by page and command line: refused whole, kept in the shop's file; words of a country."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli.main import run
from bellhousing.tasks import accounting, opening
from bellhousing.tasks.changing_settings import change_settings
from bellhousing.tasks.shipped import parsed_once
from bellhousing.tasks.shop import Shop, open_shop
from bellhousing.tasks.work_book import usual_terms
from bellhousing.web.pages import environment
from bellhousing.words.glossary import AMERICAN, BRITISH, glossary


def test_the_command_line_changes_all_or_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A refused value leaves the file as it was; comments stay; the change tells who and what was."""
    (tmp_path / "shop.yaml").write_text("# ours\nname: Old name # known since 1974\n", "utf-8")
    shop = ["--shop", str(tmp_path), "--json"]
    assert run(["settings", "tax=20", "rate=£80/h", "units=furlong", *shop]) == 1
    assert "one of inch, metric" in capsys.readouterr().out
    assert "tax" not in (tmp_path / "shop.yaml").read_text("utf-8")
    assert (
        run(["settings", "tax=20", "rate=£80/h", "units=metric", "who=Ann", "lines=1 Yard;Town", *shop]) == 0
    )
    told = json.loads(capsys.readouterr().out)
    assert told["settings"]["lines"] == ["1 Yard", "Town"]
    assert told["changes"][0]["changed"]["tax"] == ["", "20"]
    assert "# known since 1974" in (tmp_path / "shop.yaml").read_text("utf-8")
    assert run(["settings", "tex=20", *shop]) == 1
    assert "there are name" in capsys.readouterr().out
    with open_shop(tmp_path) as opened:
        assert opened.who == "Ann"
        terms = usual_terms(opened)
        assert (terms.rate, terms.tax) == (Decimal(80), Decimal(20))


def test_the_page_keeps_what_was_typed_and_the_browser_its_own(empty: TestClient) -> None:
    """A refused form comes back whole; the theme of a browser is its own, the shop's holds elsewhere."""
    wrong = empty.post("/settings", data={"name": "Corner Works", "rate": "eighty"})
    assert wrong.status_code == 422
    assert "Corner Works" in wrong.text
    assert "cannot be read" in wrong.text
    kept = empty.post("/settings", data={"name": "Corner Works", "theme": "dark", "units": "metric"})
    assert "Corner Works" in kept.text
    assert "American: tail housing, tire" in kept.text
    assert 'media="screen"' in empty.get("/").text
    empty.post("/unit", data={"theme": "light", "back": "/settings"})
    assert "dark.css" not in empty.get("/").text
    assert '<meta name="color-scheme" content="light">' in empty.get("/").text


def test_words_of_a_country_are_the_programs_and_never_a_persons(
    web: TestClient, demo: Shop, new_job: Callable[[str], int]
) -> None:
    """In America the tyre is a tire, in what the program says; the owner's complaint stays as it was said."""
    number = new_job("Something about the tyre and the gearbox")
    opening.close_job(demo, number)
    try:
        change_settings(demo, {"words": "american"})
        first, job = web.get("/").text, web.get("/job/3").text
        assert "Rolling radius of the tire" in first
        assert 'name="tyre_radius"' in first
        assert "owner’s own words" in first
        assert "tyre and the gearbox" in web.get("/?show=all").text
        assert "transmission" in job
    finally:
        change_settings(demo, {"words": ""})
    assert "Rolling radius of the tyre" in web.get("/").text


def test_what_comes_next_is_said_in_the_words_of_the_country() -> None:
    """On the list of jobs too; what parts are called by whoever ordered them stays."""
    listed = {
        "number": 1,
        "car": {"name": "wagon"},
        "complaint": "",
        "opened": "2026-05-04",
        "status": "open",
    }
    waits = [{"what": "test", "text": "look at its colour"}, {"what": "parts", "text": "a grey colour ring"}]
    job = {**listed, "findings": 0, "odometer": "", "leading": "", "waits": waits}
    line = environment(AMERICAN).get_template("list_macros.html").module.job_line(job)  # type: ignore[attr-defined]
    assert "look at its color." in line
    assert "a grey colour ring." in line


def test_rate_and_tax_of_the_settings_are_not_said_to_be_of_another_job(
    tmp_path: Path,
) -> None:
    """Where no job said any terms, the money page names the settings as their source."""
    with open_shop(tmp_path) as shop:
        opening.open_car(shop, "wagon", box="A")
        number = opening.open_job(shop, "wagon", "slips").number
        change_settings(shop, {"rate": "£80/h", "tax": "20"})
        assert accounting.account_of_job(shop, number).assumed == (
            "£80 an hour, 20 % tax, as the settings say",
        )


@pytest.mark.parametrize(
    ("country", "text", "wanted"),
    [
        (AMERICAN, "Rear extension wet; the gearbox’s tyres", "Tail housing wet; the transmission’s tires"),
        (BRITISH, "At the tail housing", "At the rear extension"),
        (BRITISH, "the pan and the meter", "the pan and the meter"),
        (AMERICAN, 'class="tyre" /tyre/ tyre_radius box-tyre', 'class="tyre" /tyre/ tyre_radius box-tyre'),
    ],
)
def test_the_glossary_turns_whole_words_only(country: str, text: str, wanted: str) -> None:
    """Capitals stay, plurals follow, addresses and names of fields are left alone."""
    assert glossary(parsed_once).say(text, country) == wanted
