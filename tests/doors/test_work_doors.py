"""The book of work at the command line and on the page: as a mechanic would type it, and mistyped."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bellhousing.cli import main as cli
from bellhousing.tasks import ledger, opening
from bellhousing.tasks.shop import Shop, open_shop


@pytest.fixture
def run(
    tmp_path: Path,
    prepared_folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Callable[..., tuple[int, str]]:
    """Runs one command on a shop with one job on box A: its status and what it says."""
    monkeypatch.setenv("BELLHOUSING_SHOP", str(tmp_path / "shop"))
    monkeypatch.setenv("BELLHOUSING_CACHE", str(prepared_folder))
    with open_shop(tmp_path / "shop") as shop:
        opening.open_car(shop, "Grey saloon", box="A")
        opening.open_job(shop, "grey-saloon", "drips")

    def ran(*arguments: str) -> tuple[int, str]:
        status = cli.run(arguments)
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return status, " ".join((said.out + said.err).split())

    return ran


def test_a_day_at_the_bench(run: Callable[..., tuple[int, str]], tmp_path: Path) -> None:
    """Out, an exception, a tag on paper, a refusal to close, JSON, a correction, a reason."""
    assert (
        "7 bolts in bag B1" in run("ledger", "out", "1", "pump ring", "--bag", "B1", "--place", "shelf 3")[1]
    )
    assert run("ledger", "except", "1", "pump-ring", "4", "missing", "--note", "never there")[0] == 0
    status, said = run("job", "close", "1")
    assert status == 1
    assert "never there" in said
    assert "[hole:pump-ring:4:missing-on-arrival]" in said
    pdf = tmp_path / "tag.pdf"
    assert run("ledger", "tag", "1", "B1", "--file", str(pdf))[0] == 0
    assert pdf.read_bytes().startswith(b"%PDF")
    assert "there already" in run("ledger", "tag", "1", "B1", "--file", str(pdf))[1]
    status, said = run("ledger", "show", "1", "--json")
    told = json.loads(said)
    assert (told["balances"], told["bags"][0]["count"], len(told["five"])) == (True, 6, 5)
    assert run("ledger", "out", "1", "pump-ring", "--holes", "1-3", "--corrects", "1")[0] == 0
    said = run("ledger", "book", "1", "--entry", "1")[1]
    assert "[no longer counts]" in said
    assert "(in place of 1)" in said
    assert run("job", "close", "1", "--despite", "sold in pieces")[0] == 0
    assert "sold in pieces" in run("ledger", "open", "1")[1]
    assert "open it again first" in run("ledger", "back", "1", "pump-ring")[1]


def test_parts_and_money(run: Callable[..., tuple[int, str]]) -> None:
    """The list, a number, an order, a sum beyond what was said yes to."""
    assert "bonded sealing washer" in run("order", "list", "1", "--plan", "front pump")[1]
    assert run("order", "number", "1", "casting", "8 624 117")[0] == 0
    assert run("order", "add", "1", "cooler hose", "--count", "2", "--why", "perished")[0] == 0
    status, said = run("order", "status", "1", "cooler hose", "ordered")
    assert (status, "tag number" in said) == (1, True)
    said = run(
        "order",
        "status",
        "1",
        "cooler hose",
        "ordered",
        "--price",
        "£45.50",
        "--without-numbers",
        "by the metre",
    )[1]
    assert "£45.50" in said or "45.50" in said
    assert "nothing is authorised yet" in said
    said = run("hours", "authorise", "1", "repair", "100", "--by", "owner", "--how", "in writing")[1]
    assert "45.50 of 100 authorised, 54.50 left" in said
    assert "1.5 h, repair: hoses" in run("hours", "put", "1", "1:30", "hoses")[1]
    assert "1 line is not in it, no rate was said" in run("hours", "show", "1")[1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("ledger", "out", "1", "pann"), "pan-bolts"),
        (("ledger", "out", "x", "pan"), "x"),
        (("ledger", "out", "1", "pan", "--holes", "2-1"), "count from 1"),
        (("ledger", "tag", "1", "--file", "tag.docx"), ".svg or .pdf"),
        (("ledger", "withdraw", "1", "9", "why"), "no entry 9"),
        (("order", "arrived", "1", "drum", "same"), "drum"),
        (("hours", "put", "1", "2:75", "x"), "2:30"),
        (("hours", "variation", "1", "20", "seals"), "say who"),
    ],
)
def test_mistyped(run: Callable[..., tuple[int, str]], arguments: tuple[str, ...], said: str) -> None:
    """Refused in a sentence that says what would be right."""
    status, told = run(*arguments)
    assert status not in (0, 70)
    assert said in told


def test_the_page_refuses_to_close_and_takes_a_reason(
    demo: Shop, web: TestClient, new_job: Callable[[], int]
) -> None:
    """What is open is listed on the page, a field for the reason comes with it, and the reason closes it."""
    job = new_job()
    ledger.tick(demo, job, "bolts-out", "pan", "1-2")
    refused = web.post(f"/job/{job}/close", data={"why": "done"}, headers={"origin": "http://127.0.0.1:8350"})
    assert refused.status_code == 422
    assert "2 of 13 bolts of the pan are not back" in refused.text
    assert 'name="despite"' in refused.text
    taken = web.post(
        f"/job/{job}/close",
        data={"why": "done", "despite": "bolts are in the customer's tin"},
        headers={"origin": "http://127.0.0.1:8350"},
    )
    assert taken.status_code == 200
    assert opening.job(demo, job).status == "closed"
