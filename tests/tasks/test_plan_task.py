"""The plan as the doors give it: words, prices, dates, and one answer for file and job."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from bellhousing.errors import FindingError, InputFileError, RecordError
from bellhousing.tasks import noting
from bellhousing.tasks.plan import plan_of_file, plan_of_job
from bellhousing.tasks.plan_answers import PlanAnswer
from bellhousing.tasks.shop import Shop

DAY = date(2026, 5, 4)
FRONT = ("oil thrown in a ring on the converter", "the front drip is ATF", "front leaks only when driven")


Plans = Callable[..., PlanAnswer]


@pytest.fixture(scope="module")
def answer(prepared_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Plans]:
    """Gives the plan of a findings file on box A, worked out once for each file and rate."""
    folder, kept = tmp_path_factory.mktemp("files"), dict[tuple[tuple[str, ...], str | None], PlanAnswer]()

    def given(*said: str, rate: str | None = None) -> PlanAnswer:
        if (said, rate) not in kept:
            path = folder / f"{len(kept)}.yaml"
            lines = "".join(f"  - {line}\n" for line in said)
            path.write_text(f"box: A\nfindings:\n{lines}", encoding="utf-8")
            kept[said, rate] = plan_of_file(path, rate=rate, today=DAY)
        return kept[said, rate]

    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("BELLHOUSING_CACHE", str(prepared_folder))
        yield given


def test_a_leak_at_the_front_takes_the_box_out(answer: Plans) -> None:
    """With its cautions, its price, and the three things to ask for."""
    plan = answer(*FRONT, rate="£80/h")
    assert plan.decision in ("box-out", "look-first")
    assert plan.removal > 0.9
    (work,) = plan.proposed
    assert (work.work, work.access) == ("front-reseal", "box-out")
    assert any("jack" in text for text in plan.cautions)
    proposed = plan.options[0]
    assert proposed.price == Decimal("960.00")  # 10.5 h and parts worth 1.5 h at 80
    assert [asked.kind for asked in plan.authorities] == ["diagnose", "open", "repair"]
    opening = plan.authorities[1]
    assert 4.5 <= opening.hours_low <= opening.hours_high == 7.5
    assert opening.price_high == Decimal("600.00")
    repair = plan.authorities[2]
    assert sum(outcome.chance for outcome in repair.outcomes) == pytest.approx(1.0)
    assert "in 100: whole front resealed" in repair.text
    assert {"leave", "exchange"} <= {option.kind for option in plan.options}
    assert (plan.rate, plan.sign_before) == (Decimal(80), "£")


def test_without_a_rate_there_is_no_price(answer: Plans) -> None:
    """Everything is in hours."""
    plan = answer(*FRONT)
    assert plan.rate is None
    assert plan.options[0].price is None
    assert all(asked.price_low is None for asked in plan.authorities)
    assert '"price":null' in plan.model_dump_json()


def test_money_leaves_as_exact_text(answer: Plans) -> None:
    """JSON numbers would lose hundredths."""
    assert '"price":"960.00"' in answer(*FRONT, rate="£80/h").model_dump_json()


def test_waiting_has_a_day_and_says_what_to_watch(answer: Plans) -> None:
    """Counted from today."""
    waiting = answer(*FRONT).waiting
    assert waiting is not None
    day = date.fromisoformat(waiting.recheck)
    assert 7 <= (day - DAY).days <= 182
    assert waiting.watch
    assert all(row.text and row.watch for row in waiting.watch)
    assert 0.0 < waiting.worse_in_a_month < waiting.worse_in_a_season < 1.0


def test_a_burnt_clutch_is_not_driven(answer: Plans) -> None:
    """It goes on burning."""
    plan = answer("flare on the 2-3", "slips in third", "slow to engage reverse", "fluid smells burnt")
    assert plan.waiting is not None
    assert plan.waiting.may_drive.startswith("Leave it parked")
    assert [work.work for work in plan.proposed] == ["gearbox-overhauled"]


def test_a_dry_hose_is_mended_in_the_car(answer: Plans) -> None:
    """Without opening anything."""
    plan = answer("dry hose", "no vacuum at the modulator", "engine vacuum 18 inHg")
    assert plan.decision == "in-car"
    assert plan.headline.startswith("Mend it in the car: vacuum run renewed")
    assert "open" not in [asked.kind for asked in plan.authorities]


def test_testing_first_when_a_test_pays(answer: Plans) -> None:
    """One vague complaint is no reason to undo anything."""
    plan = answer("slips in third")
    assert plan.decision == "look-first"
    assert plan.looks
    assert all(look.saves_hours > look.minutes / 60.0 for look in plan.looks)
    assert plan.headline.endswith(plan.looks[0].ask)


def test_what_is_not_understood_is_told(answer: Plans) -> None:
    """And nothing at all understood is an error, as with the causes."""
    assert answer("dry hose", "the left door speaker crackles").notes == ("the left door speaker crackles",)
    with pytest.raises(FindingError):
        answer("the left door speaker crackles")
    with pytest.raises(InputFileError, match="rate"):
        answer("dry hose", rate="much")


def test_nothing_said_is_never_certain(answer: Plans) -> None:
    """The strongest word is more than 99 in 100."""
    text = answer(*FRONT).model_dump_json().lower()
    for word in ("certain", "guarantee", "definitely", "100 in 100"):
        assert word not in text


def test_a_job_has_the_plan_of_its_findings(shop: Shop, job: int, answer: Plans) -> None:
    """The same works as the file that says the same, from the shop's clock."""
    empty = plan_of_job(shop, job)
    assert (empty.decision, empty.options, empty.waiting) == ("nothing-found", (), None)
    for line in FRONT:
        noting.note(shop, job, line)
    plan = plan_of_job(shop, job, rate="80/h")
    assert plan.proposed == answer(*FRONT).proposed
    assert plan.waiting is not None
    assert plan.waiting.recheck > DAY.isoformat()
    with pytest.raises(RecordError):
        plan_of_job(shop, 999)
