"""A shop that learns: closing with causes, what moves, forgetting, the setting, tallies between shops."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from bellhousing.errors import InputFileError, RecordError
from bellhousing.tasks import learning, noting, opening, ranked_jobs
from bellhousing.tasks.counting import NOTHING
from bellhousing.tasks.shop import Shop, open_shop

TORN = "modulator-diaphragm-torn"
KIND = "three-speed-vacuum"


@pytest.fixture
def shop(tmp_path: Path, prepared_folder: Path) -> Iterator[Shop]:
    """A shop with one car of box A."""
    with open_shop(tmp_path / "shop", cache=prepared_folder) as opened:
        opening.open_car(opened, "grey saloon", box="box-a")
        yield opened


def closed(shop: Shop, *said: str, causes: tuple[str, ...]) -> int:
    """A job on the grey saloon, noted and closed."""
    job = opening.open_job(shop, "grey saloon", "Smokes").number
    for text in said:
        noting.note(shop, job, text)
    opening.close_job(shop, job, "done", causes)
    return job


def chance(shop: Shop, job: int, cause: str = TORN) -> float:
    """The chance of a cause on a job."""
    return next(c.probability for c in ranked_jobs.causes_of_job(shop, job).causes if c.cause == cause)


def test_a_closed_job_moves_what_later_jobs_are_told(shop: Shop) -> None:
    """The cause confirmed is commoner after it; forgetting the job restores every figure exactly."""
    watched = opening.open_job(shop, "grey saloon", "Smokes").number
    noting.note(shop, watched, "fluid in the vacuum hose")
    before = ranked_jobs.causes_of_job(shop, watched)
    shipped = shop.store.verdicts(watched)[-1].catalogue_digest
    jobs = [closed(shop, "fluid in the vacuum hose", causes=(TORN,)) for _ in range(3)]
    after = ranked_jobs.causes_of_job(shop, watched)
    assert chance(shop, watched) > next(c.probability for c in before.causes if c.cause == TORN)
    assert shop.store.verdicts(watched)[-1].catalogue_digest != shipped
    for job in jobs[1:]:
        learning.forget(shop, job)
    learning.forget(shop, jobs[0])
    assert ranked_jobs.causes_of_job(shop, watched) == before
    assert shop.store.verdicts(watched)[-1].catalogue_digest == shipped
    for job in jobs:
        learning.recall(shop, job)
    assert ranked_jobs.causes_of_job(shop, watched) == after


def test_reopening_and_closing_without_causes_restores_too(shop: Shop) -> None:
    """Only what stands closed with its causes counts."""
    job = closed(shop, "fluid in the vacuum hose", causes=(TORN,))
    assert learning.learning(shop).kinds[0].cars == 1
    opening.reopen_job(shop, job)
    assert learning.learning(shop).kinds == ()
    opening.close_job(shop, job)
    assert learning.learning(shop).kinds == ()
    assert shop.learnt(KIND) is None


def test_what_moved_names_the_finding_and_counts_it(shop: Shop) -> None:
    """What the confirmed fault showed is its own; what it bears not on is the background's."""
    closed(shop, "fluid in the vacuum hose", "fluid is red and clean", causes=("Modulator diaphragm torn",))
    told = learning.learning(shop)
    moved = told.kinds[0].moved
    strength = next(entry for entry in moved if entry.kind == "strength")
    assert (strength.cause, strength.finding, strength.counted) == (TORN, "fluid-in-modulator-hose", 1)
    assert any(entry.kind == "background" for entry in moved)
    assert told.jobs[0].causes == (TORN,)


def test_a_sound_car_counts_for_the_background_only(shop: Shop) -> None:
    """Nothing wrong confirms no cause, and what was seen then is background."""
    closed(shop, "fluid in the vacuum hose", causes=("nothing wrong",))
    moved = learning.learning(shop).kinds[0].moved
    assert {entry.kind for entry in moved} == {"background"}
    assert learning.learning(shop).jobs[0].causes == (NOTHING,)


def test_the_setting_leaves_the_shops_own_jobs_aside(shop: Shop) -> None:
    """Off, nothing of them counts; on again, all of it does."""
    closed(shop, "fluid in the vacuum hose", causes=(TORN,))
    used = shop.learnt(KIND)
    assert used is not None
    assert learning.use_own(shop, False).own_used is False
    assert shop.learnt(KIND) is None
    learning.use_own(shop, True)
    again = shop.learnt(KIND)
    assert again is not None
    assert again.digest == used.digest


@pytest.mark.parametrize(
    ("causes", "said"),
    [
        (("modulator-diafragm-torn",), "did you mean modulator-diaphragm-torn"),
        (("tv-rod-out-of-setting",), "there is no cause"),
        ((TORN, NOTHING), "the one or the other"),
    ],
)
def test_a_cause_that_cannot_be_is_refused(shop: Shop, causes: tuple[str, ...], said: str) -> None:
    """An unknown cause, one of another kind of box, or a contradiction closes nothing."""
    job = opening.open_job(shop, "grey saloon", "Smokes").number
    with pytest.raises(RecordError, match=said):
        opening.close_job(shop, job, "", causes)
    assert opening.job(shop, job).status == "open"


def test_a_tally_goes_from_shop_to_shop_once(shop: Shop, tmp_path: Path) -> None:
    """Taken in it counts; again it is refused; taken back nothing of it is left."""
    for _ in range(2):
        closed(shop, "fluid in the vacuum hose", causes=(TORN,))
    file = tmp_path / "tally.json"
    learning.export_tally(shop, file)
    text = file.read_text(encoding="utf-8")
    assert not any(private in text for private in ("grey", "saloon", "Smokes", "202", "done"))
    with pytest.raises(InputFileError, match="there already"):
        learning.export_tally(shop, file)
    with pytest.raises(InputFileError, match="own tally"):
        learning.import_tally(shop, file)
    with open_shop(tmp_path / "other") as other:
        digest = learning.import_tally(other, file).tallies[0].digest
        found = other.learnt(KIND)
        assert found is not None
        assert found.digest == shop.learnt(KIND).digest  # type: ignore[union-attr]
        reordered = json.dumps(json.loads(text), indent=None).encode()
        with pytest.raises(InputFileError, match="taken in before"):
            learning.take_in(other, reordered, "pasted")
        learning.take_back(other, digest[:8])
        assert other.learnt(KIND) is None
        with pytest.raises(RecordError, match="no tally begins so"):
            learning.take_back(other, digest)


def test_forgetting_what_is_not_learnt_from_is_refused(shop: Shop) -> None:
    """An open job, one that is not there, one forgotten before."""
    open_one = opening.open_job(shop, "grey saloon", "Smokes").number
    job = closed(shop, "fluid in the vacuum hose", causes=(TORN,))
    learning.forget(shop, job)
    for number in (open_one, 999, job):
        with pytest.raises(RecordError):
            learning.forget(shop, number)
    with pytest.raises(RecordError):
        learning.recall(shop, open_one)
