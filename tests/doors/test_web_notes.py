"""Writing on a job by the web: noting, correcting, answering, and what is refused."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from starlette.testclient import TestClient

from bellhousing.tasks.answers import NoteAnswer, Sheet

JSON = {"accept": "application/json"}
LATE = "2-3 at 64 mph light throttle"


def sheet(web: TestClient, number: int) -> Sheet:
    """The sheet of a job."""
    return Sheet.model_validate_json(web.get(f"/job/{number}.json").text)


def test_a_note_is_understood_and_ranked(web: TestClient, new_job: Callable[[], int]) -> None:
    """A typed finding comes back understood, on its limit line, and the causes follow it."""
    number = new_job()
    before = sheet(web, number).answer.causes
    answer = web.post(f"/job/{number}/note", data={"text": LATE})
    assert answer.status_code == 200
    assert "Understood:" in answer.text
    assert re.search(r"window \d+–\d+ mph \((predicted for this box and car|this box)", answer.text)
    assert 'class="limit-line"' in answer.text
    after = sheet(web, number).answer
    assert after.findings[0].finding == "upshift-23-light"
    assert after.causes != before


def test_a_state_says_how_often_a_sound_car_shows_it(web: TestClient, new_job: Callable[[], int]) -> None:
    """A finding without a figure is held against sound cars."""
    number = new_job()
    text = web.post(f"/job/{number}/note", data={"text": "blue smoke when pulling away after idling"}).text
    assert "in 100 sound cars show this" in text


def test_the_same_key_keeps_once(web: TestClient, new_job: Callable[[], int]) -> None:
    """A form sent twice is kept once."""
    number = new_job()
    for _ in range(2):
        assert (
            web.post(f"/job/{number}/note", data={"text": LATE, "key": f"once-{number}"}).status_code == 200
        )
    assert len(sheet(web, number).answer.findings) == 1


def test_understanding_keeps_nothing(web: TestClient, new_job: Callable[[], int]) -> None:
    """The answer while typing is only an answer."""
    number = new_job()
    fragment = web.post(f"/job/{number}/understand", data={"text": LATE})
    assert "Understood:" in fragment.text
    assert "<html" not in fragment.text
    told = NoteAnswer.model_validate_json(
        web.post(f"/job/{number}/understand", json={"text": LATE}, headers=JSON).text
    )
    assert told.findings[0].value == 64.0
    assert sheet(web, number).answer.findings == ()


@pytest.mark.parametrize("text", ["", "   ", "x" * 4001])
def test_a_refused_note_comes_back_as_typed(web: TestClient, new_job: Callable[[], int], text: str) -> None:
    """An empty or endless note is refused with a sentence, its field still holding what was typed."""
    number = new_job()
    answer = web.post(f"/job/{number}/note", data={"text": text})
    assert answer.status_code == 422
    assert 'aria-invalid="true"' in answer.text
    assert 'id="note-problem"' in answer.text
    assert f'value="{text}"' in answer.text
    told = web.post(f"/job/{number}/note", json={"text": text}, headers=JSON)
    assert told.status_code == 422
    assert set(told.json()["error"]) == {"what", "where", "remedy"}


@pytest.mark.parametrize("text", ["manifold vacuum 40 inHg", "line pressure idle D -3 psi", "qwrtp zzkl"])
def test_what_cannot_be_is_kept_as_a_note_and_told(
    web: TestClient, new_job: Callable[[], int], text: str
) -> None:
    """Nothing typed is lost: it stands on the page, not counted, with the reason."""
    number = new_job()
    answer = web.post(f"/job/{number}/note", data={"text": text})
    assert answer.status_code == 200
    assert "Kept as a note, not counted" in answer.text
    assert text in unescape(answer.text)
    assert sheet(web, number).answer.notes


def test_a_correction_takes_the_place_of_an_entry(web: TestClient, new_job: Callable[[], int]) -> None:
    """Put right, the new line counts and the old one does not."""
    number = new_job()
    web.post(f"/job/{number}/note", data={"text": LATE})
    entry = sheet(web, number).answer.findings[0].number
    web.post(f"/job/{number}/entry/{entry}/correct", data={"text": "2-3 at 24 mph light throttle"})
    assert [found.value for found in sheet(web, number).answer.findings] == [24.0]


def test_a_refused_correction_comes_back_open_and_filled(web: TestClient, new_job: Callable[[], int]) -> None:
    """An empty correction leaves the entry as it was and says why."""
    number = new_job()
    web.post(f"/job/{number}/note", data={"text": LATE})
    entry = sheet(web, number).answer.findings[0].number
    answer = web.post(f"/job/{number}/entry/{entry}/correct", data={"text": ""})
    assert answer.status_code == 422
    assert f'<details class="change" id="change-{entry}" open>' in answer.text
    assert [found.value for found in sheet(web, number).answer.findings] == [64.0]


def test_an_entry_can_be_taken_back(web: TestClient, new_job: Callable[[], int]) -> None:
    """Taken back, it counts no more."""
    number = new_job()
    web.post(f"/job/{number}/note", data={"text": LATE})
    entry = sheet(web, number).answer.findings[0].number
    refused = web.post(f"/job/{number}/entry/{entry}/withdraw", data={"reason": " "})
    assert refused.status_code == 422
    assert f'<details class="change" id="change-{entry}" open>' in refused.text
    assert len(sheet(web, number).answer.findings) == 1
    answer = web.post(f"/job/{number}/entry/{entry}/withdraw", data={"reason": "misread"})
    assert answer.status_code == 200
    assert sheet(web, number).answer.findings == ()


def test_one_tap_takes_an_answer_and_a_measurement_back(web: TestClient, new_job: Callable[[], int]) -> None:
    """The button beside it sends all that is needed; the book says that it was a tap."""
    job = new_job()
    web.post(f"/job/{job}/answer", data={"finding": "onset", "answer": "overnight"})
    web.post(f"/job/{job}/measure", data={"text": "front end play 0.021 in"})
    for _ in range(2):
        page = web.get(f"/job/{job}").text
        form = re.search(
            r'action="([^"]+/withdraw)" data-keep data-outbox>(<input[^>]+>)<button class="tap"', page
        )
        assert form is not None
        hidden = re.search(r'name="(\w+)" value="([^"]+)"', form[2])
        assert hidden is not None
        assert web.post(form[1], data={hidden[1]: hidden[2]}).status_code == 200
    assert web.get(f"/job/{job}.json").json()["answer"]["findings"] == []


def test_an_entry_can_be_taken_for_another(web: TestClient, new_job: Callable[[], int]) -> None:
    """One tap takes the figure for another finding."""
    number = new_job()
    web.post(f"/job/{number}/note", data={"text": LATE})
    entry = sheet(web, number).answer.findings[0].number
    web.post(f"/job/{number}/entry/{entry}/instead", data={"instead": "0|upshift-12-light||"})
    assert [(found.finding, found.value) for found in sheet(web, number).answer.findings] == [
        ("upshift-12-light", 64.0)
    ]


def test_a_note_can_be_sent_for_another_meaning_at_once(web: TestClient, new_job: Callable[[], int]) -> None:
    """The alternative tapped while typing is what is kept."""
    number = new_job()
    web.post(f"/job/{number}/note", data={"text": LATE, "instead": "0|upshift-23-medium||"})
    assert [found.finding for found in sheet(web, number).answer.findings] == ["upshift-23-medium"]


def test_another_meaning_sent_twice_with_one_key_is_kept_once(
    web: TestClient, new_job: Callable[[], int]
) -> None:
    """The answer to the first sending was lost; the second finds it done."""
    job = new_job()
    sent = {"text": LATE, "instead": "0|upshift-23-medium||", "key": f"twice-{job}"}
    first, second = (web.post(f"/job/{job}/note", data=sent, headers=JSON) for _ in range(2))
    assert (first.status_code, second.status_code) == (200, 200)
    assert first.json()["findings"][0]["number"] == second.json()["findings"][0]["number"]
    entry = first.json()["findings"][0]
    assert entry["finding"] == "upshift-23-medium"
    assert [found["number"] for found in web.get(f"/job/{job}.json").json()["answer"]["findings"]] == [
        entry["number"]
    ]


@pytest.mark.parametrize("chosen", ["", "nonsense", "0|no-such-finding||", "x|upshift-12-light||"])
def test_an_alternative_that_was_not_offered_is_refused(
    web: TestClient, new_job: Callable[[], int], chosen: str
) -> None:
    """A broken choice changes nothing."""
    number = new_job()
    web.post(f"/job/{number}/note", data={"text": LATE})
    entry = sheet(web, number).answer.findings[0].number
    assert web.post(f"/job/{number}/entry/{entry}/instead", data={"instead": chosen}).status_code == 422
    assert [found.finding for found in sheet(web, number).answer.findings] == ["upshift-23-light"]


def test_a_question_is_answered_by_a_tap_and_again(web: TestClient, new_job: Callable[[], int]) -> None:
    """The second answer corrects the first, and the page shows it as given."""
    number = new_job()
    for choice in ("leak", "odd-shifts"):
        answer = web.post(f"/job/{number}/answer", data={"finding": "complaint-kind", "answer": choice})
        assert answer.status_code == 200
    assert 'value="odd-shifts" aria-pressed="true"' in answer.text
    assert [found.value for found in sheet(web, number).answer.findings] == ["odd-shifts"]


def test_an_answer_that_is_none_is_refused(web: TestClient, new_job: Callable[[], int]) -> None:
    """The page says which answers there are."""
    number = new_job()
    answer = web.post(f"/job/{number}/answer", data={"finding": "complaint-kind", "answer": "purple"})
    assert answer.status_code == 422
    assert "odd-shifts" in answer.text


def test_an_entry_of_another_job_is_left_alone(web: TestClient, new_job: Callable[[], int]) -> None:
    """An address that mixes two jobs is refused."""
    number, other = new_job(), new_job()
    web.post(f"/job/{number}/note", data={"text": LATE})
    entry = sheet(web, number).answer.findings[0].number
    mixed = web.post(f"/job/{other}/entry/{entry}/withdraw", data={"reason": "misread"})
    assert mixed.status_code == 422
    assert len(sheet(web, number).answer.findings) == 1


def test_a_job_is_opened_closed_and_opened_again(web: TestClient) -> None:
    """The round of a job by forms."""
    answer = web.post("/jobs", data={"car": "grey-saloon", "complaint": "Slips.", "odometer": "61,240 miles"})
    assert answer.status_code == 200
    number = int(answer.url.path.rpartition("/")[2])
    assert "This job is closed" in web.post(f"/job/{number}/close", data={"why": "done"}).text
    late = web.post(f"/job/{number}/note", data={"text": LATE})
    assert late.status_code == 422
    assert "open it again first" in late.text.casefold()
    assert "This job is closed" not in web.post(f"/job/{number}/reopen").text


def test_a_refused_job_comes_back_filled(web: TestClient) -> None:
    """An odometer that cannot be read loses neither the car chosen nor the complaint."""
    sent = {"car": "blue-coupe", "complaint": "Whines in first.", "odometer": "sixty furlongs"}
    answer = web.post("/jobs", data=sent)
    assert answer.status_code == 422
    assert "Whines in first.</textarea>" in answer.text
    assert 'value="sixty furlongs"' in answer.text
    assert re.search(r'value="blue-coupe" selected', answer.text)


def test_a_car_is_added_and_a_refused_one_comes_back_filled(empty: TestClient) -> None:
    """An axle no car has is refused with what would be right; put right, the car is there."""
    sent = {"name": "red pick-up", "axle_ratio": "30"}
    answer = empty.post("/cars", data=sent)
    assert answer.status_code == 422
    assert 'value="red pick-up"' in answer.text
    assert "between 1.5 and 8" in answer.text
    assert "Red pick-up" in empty.post("/cars", data=sent | {"axle_ratio": "3.08"}).text
    assert empty.get("/shop.json").json()["cars"][0]["axle_ratio"] == 3.08


def test_json_in_json_out(web: TestClient) -> None:
    """A program opens a job and notes on it without a form."""
    opened = web.post("/jobs", json={"car": "grey-saloon", "complaint": "Slips."}, headers=JSON)
    assert opened.status_code == 201
    number = opened.json()["number"]
    kept = NoteAnswer.model_validate_json(
        web.post(f"/job/{number}/note", json={"text": LATE}, headers=JSON).text
    )
    assert kept.findings[0].finding == "upshift-23-light"


@pytest.mark.parametrize("body", ["{", "[1]", '{"text": ["a"]}', '"text"'])
def test_broken_json_is_refused_in_the_one_shape(web: TestClient, body: str) -> None:
    """What is no object of texts is refused with what would be right."""
    answer = web.post("/job/3/note", content=body, headers=JSON | {"content-type": "application/json"})
    assert answer.status_code == 422
    assert set(answer.json()["error"]) == {"what", "where", "remedy"}


def test_the_unit_of_road_speeds_is_kept(web: TestClient) -> None:
    """Chosen once, the map speaks in it; only a page of this site is gone back to."""
    answer = web.post("/unit", data={"unit": "km/h", "back": "/job/3#shift-map"})
    assert "road speed, km/h" in answer.text
    web.post("/unit", data={"unit": "mph", "back": "/job/3"})
    for back in ("//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere.example"):
        gone = web.post("/unit", data={"unit": "mph", "back": back}, follow_redirects=False)
        assert gone.headers["location"] == "/"
