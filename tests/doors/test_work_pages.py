"""The pages of the work: what a form sends is kept once, what is refused comes back, each page as JSON."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import count

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks import ledger, ledger_parts, opening
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.work_book import book_lines

PUMP = "pump-ring"
KEYS = count()


def sent(
    web: TestClient, job: int, deed: str, *, back: str = "strip", expect: int = 200, **fields: str
) -> str:
    """Send one form as a page would, under a key of its own; the page that answers."""
    data = {"deed": deed, "form": deed, "back": f"/job/{job}/{back}", "key": f"work-{next(KEYS)}", **fields}
    answer = web.post(f"/job/{job}/work", data=data)
    assert answer.status_code == expect, answer.text[-2000:]
    return answer.text


def words(text: str) -> str:
    """A page without its markup."""
    text = re.sub(r"<span data-written>([^<]*)</span>", r"\1", text)
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def measured(web: TestClient, job: int) -> None:
    """The end play of the pump, so that it may come out."""
    sent(web, job, "baseline", part="front-pump", measure="front-end-play", value="0.024")


@pytest.fixture
def stripped(demo: Shop, web: TestClient, new_job: Callable[[], int]) -> int:
    """The pump out of a job, one bolt missing on arrival."""
    job = new_job()
    measured(web, job)
    sent(web, job, "exception", where=PUMP, number="4", what="missing-on-arrival", back=f"flange/{PUMP}")
    sent(web, job, "bolts", flange=PUMP, kind="bolts-bagged", place="shelf 3")
    sent(web, job, "part", part="front-pump", kind="off")
    return job


def test_the_strip_stops_until_what_is_lost_is_known(web: TestClient, new_job: Callable[[], int]) -> None:
    """Neither bolts nor the part; the words stand in the form; declined with a reason it goes on."""
    job = new_job()
    sent(web, job, "aim", parts="front pump")
    page = words(web.get(f"/job/{job}/strip").text)
    assert "It stops at: Vacuum at the modulator, idle" in page
    for deed, fields in (
        ("bolts", {"flange": PUMP, "kind": "bolts-out"}),
        ("part", {"part": "front-pump", "kind": "off"}),
    ):
        assert "cannot be known" in sent(web, job, deed, expect=422, **fields)
    refused = sent(
        web, job, "baseline", expect=422, form="before-front-pump-front-end-play", part="front-pump",
        measure="front-end-play", value="loose", back="part/front-pump",
    )  # fmt: skip
    assert 'value="loose"' in refused
    assert 'id="before-front-pump-front-end-play-problem"' in refused
    sent(web, job, "baseline", part="front-pump", measure="front-end-play", declined="no-instrument")
    sent(web, job, "part", part="front-pump", kind="off")
    assert "declined, no instrument" in words(web.get(f"/job/{job}/part/front-pump").text)


def test_the_same_form_twice_is_kept_once_and_taken_back_once(
    demo: Shop, web: TestClient, stripped: int
) -> None:
    """By its key; a withdrawal sent twice is one withdrawal."""
    before = len(book_lines(demo, stripped))
    for _ in range(2):
        said = sent(web, stripped, "bolts", flange=PUMP, kind="bolts-back", holes="1,2", key="twice-the-same")
    assert "Written." in words(said)
    entry = book_lines(demo, stripped)[-1].number
    for _ in range(2):
        sent(web, stripped, "withdraw", entry=str(entry), reason="wrong flange", back="book")
    assert len(book_lines(demo, stripped)) == before + 2
    book = words(web.get(f"/job/{stripped}/book").text)
    assert "Counts no more" in book
    assert "wrong flange" in book


def test_every_page_is_there_as_json(web: TestClient, stripped: int) -> None:
    """As the command line gives it."""
    wanted = {
        "strip?to=pan": {"steps", "targets"},
        "build": {"steps", "final", "next"},
        "parts": {"wanted", "lines", "blocking"},
        "money": {"total", "authorities"},
        "open": {"open", "closed_by_reason"},
        "ledger": {"five", "flanges"},
        f"flange/{PUMP}": {"holes", "count"},
        "part/front-pump": {"off", "seals"},
        "bag/B1": {"address", "lines"},
    }
    for name, keys in wanted.items():
        path, _, query = name.partition("?")
        answer = web.get(f"/job/{stripped}/{path}.json?{query}")
        assert answer.status_code == 200, path
        assert set(answer.json()) >= keys
    assert web.get(f"/job/{stripped}/bag/B1.json").json()["address"].endswith(f"/job/{stripped}/bag/B1")
    assert {"number", "text", "stands"} <= set(web.get(f"/job/{stripped}/book.json").json()[0])
    kept = web.post(f"/job/{stripped}/work.json", json={"deed": "bag", "tag": "B1", "place": "shelf 4"})
    assert kept.json()["bags"][0]["place"] == "shelf 4"
    refused = web.post(f"/job/{stripped}/work.json", json={"deed": "dance"})
    assert (refused.status_code, set(refused.json())) == (422, {"error"})


@pytest.mark.parametrize("path", ["flange/none", "part/none", "bag/none"])
def test_what_is_not_there_is_not_found(web: TestClient, stripped: int, path: str) -> None:
    """With what there is instead."""
    assert web.get(f"/job/{stripped}/{path}").status_code == 404
    assert web.get(f"/job/999/{path}").status_code == 404


def test_nothing_goes_on_top_of_a_hold_point(web: TestClient, stripped: int) -> None:
    """The converter is refused until the pump's gates are signed, by the name said on the tablet."""
    sent(web, stripped, "part", part="converter", kind="off")
    sent(web, stripped, "part", part="front-pump", kind="on", back="build")
    refused = sent(web, stripped, "part", part="converter", kind="on", back="build", expect=422)
    assert "Hold:" in words(refused)
    figures = {"front-end-play-set": "0.012", "air-forward": "2 s", "air-direct": "2 s"}
    for gate, text in figures.items():
        sent(web, stripped, "gate", gate=gate, text=text, back="build")
    assert (
        "say what is not right"
        in sent(web, stripped, "gate", gate="input-turns", said="no", back="build", expect=422).lower()
    )
    for gate in ("input-turns", "puller-bolts-out"):
        sent(web, stripped, "gate", gate=gate, said="done", back="build", who="Ünal")
    page = words(sent(web, stripped, "part", part="converter", kind="on", back="build"))
    assert "signed Ünal" in page


def test_the_job_closes_when_each_open_thing_has_its_answer(
    demo: Shop, web: TestClient, stripped: int
) -> None:
    """Refused with a list of taps on the sheet; the taps of the list answer what they say."""
    refused = web.post(f"/job/{stripped}/close", data={"why": "done"})
    assert refused.status_code == 422
    assert "hole 4 of the front pump to case: missing on arrival" in words(refused.text)
    assert 'name="how" value="replaced"' in refused.text
    for _ in range(12):
        page = web.get(f"/job/{stripped}/open").text
        form = re.search(r'<form id="(open-\d+-1)" class="deed one-tap.*?</form>', page, re.S)
        if form is None:
            break
        fields = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form[0]))
        assert web.post(f"/job/{stripped}/work", data=fields).status_code == 200
    left = {item.id.split(":")[0] for item in ledger.open_on_job(demo, stripped).open}
    assert left <= {"torque", "gate"}
    for item in ledger.open_on_job(demo, stripped).open:
        sent(web, stripped, "reason", item=item.id, text="the box goes in exchange", back="open")
    assert web.post(f"/job/{stripped}/close", data={"why": "done"}).status_code == 200
    assert opening.job(demo, stripped).status == "closed"
    assert "This job is closed" in web.get(f"/job/{stripped}/strip").text


def test_orders_and_money_on_their_pages(web: TestClient, stripped: int) -> None:
    """The kit ordered in one form, a part decided on, what came, the owner's yes, the bill with tax."""
    sent(web, stripped, "part-finding", part="front-pump", condition="scored", decision="replace",
         reason="face scored", back="part/front-pump")  # fmt: skip
    sent(web, stripped, "order", what="all", back="parts")
    refused = sent(web, stripped, "order-kit", sort="soft", supplier="Seal shop", back="parts", expect=422)
    assert "the supplier asks for" in refused.lower()
    page = sent(web, stripped, "order-kit", sort="soft", supplier="Seal shop", promised="in 2 weeks",
                without_numbers="the old kit was sent along", back="parts")  # fmt: skip
    assert words(page).count("Ordered, from Seal shop") == 3
    sent(web, stripped, "arrived", line="part-front-pump", check="differs", note="eight bolts", back="parts")
    assert "laid against the old: differs (eight bolts)" in words(web.get(f"/job/{stripped}/parts").text)
    sent(web, stripped, "terms", rate="£80/h", tax="20", back="money")
    sent(web, stripped, "authority", stage="open", sum="100", by="owner", how="by telephone", back="money")
    page = words(sent(web, stripped, "hours", hours="1:30", what="box out", stage="open", back="money"))
    assert "£120 + 20 % tax £24 = £144 of £100 authorised, £44 beyond" in page
    sent(web, stripped, "variation", sum="50", why="scored pump", by="owner", how="in writing", back="money")
    assert "£6 left" in words(web.get(f"/job/{stripped}/money").text)


def test_a_car_that_came_back_shows_what_the_work_may_have_left(
    demo: Shop, web: TestClient, stripped: int, new_job: Callable[[], int]
) -> None:
    """On the sheet of the new job and on its build, likeliest first."""
    later = new_job()
    for path in ("", "/build"):
        page = words(web.get(f"/job/{later}{path}").text)
        assert f"after job {stripped}" in page
        assert "Came off then: Front pump" in page


def test_a_box_without_parts_says_so(demo: Shop, web: TestClient) -> None:
    """On each page, and nothing breaks."""
    opening.open_car(demo, "white wagon", box="three-speed-vacuum")
    job = opening.open_job(demo, "white-wagon", "late").number
    for name in ("strip", "build", "flanges", "parts", "money", "open", "book", "tags"):
        assert web.get(f"/job/{job}/{name}").status_code == 200, name
    assert "no list of its parts" in web.get(f"/job/{job}/strip").text


def test_the_plan_goes_by_what_is_off_and_the_flange_by_hole(
    demo: Shop, web: TestClient, stripped: int
) -> None:
    """Reached once the aim is off; one hole by itself; a stripped thread wants its line."""
    sent(web, stripped, "aim", parts="front pump")
    assert "is off" in words(web.get(f"/job/{stripped}/strip").text)
    sent(web, stripped, "exception", where=PUMP, number="2", what="stripped", back=f"flange/{PUMP}")
    page = web.get(f"/job/{stripped}/flange/{PUMP}").text
    assert page.count('class="odd"') == 3  # twice on the drawing, once in its key
    assert "Thread insert fitted" in page
    ledger_parts.note_bag(demo, stripped, "B1", "shelf 9")
    assert "shelf 9" in web.get(f"/job/{stripped}/bag/B1").text
