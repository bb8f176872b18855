"""The works of the trade: every fault is put right by one, and their hours add up with the way paid once."""

from __future__ import annotations

import pytest

from bellhousing.boxes.kinds import FAMILIES
from bellhousing.diagnosis.repair_costs import hours_together
from bellhousing.diagnosis.waiting import load_waiting
from bellhousing.diagnosis.works import BOX_OUT, IN_CAR, PAN_OFF, Work, load_works, works_of
from bellhousing.errors import CatalogueError
from tests.shipped import catalogue_as_shipped


def picked(*names: str) -> list[Work]:
    """Shipped works by their slugs."""
    return [load_works()[name] for name in names]


def test_every_fault_is_put_right_by_a_work_of_its_family() -> None:
    """Without the exchange of the whole box, which puts right too much to be a remedy."""
    whole = catalogue_as_shipped()
    for family in FAMILIES:
        faults = whole.of_family(family).faults
        works = [work for work in works_of(load_works(), family, faults) if not work.exchange]
        assert set(faults) <= {name for work in works for name in work.cures}, family


def test_works_name_only_what_there_is() -> None:
    """Faults, cautions and families."""
    whole = catalogue_as_shipped()
    for work in load_works().values():
        assert work.cures <= set(whole.faults), work.id
        assert set(work.cautions) <= set(whole.cautions), work.id
        assert set(work.families) <= set(FAMILIES), work.id


@pytest.mark.parametrize("family", FAMILIES)
def test_a_fault_that_needs_the_box_out_says_so_in_both_files(family: str) -> None:
    """The access of a fault is never deeper than that of its shallowest remedy, and rarely less."""
    faults = catalogue_as_shipped().of_family(family).faults
    works = [work for work in works_of(load_works(), family, faults) if not work.exchange]
    reached = {
        name: min(work.depth for work in works if name in work.cures)
        for name, fault in faults.items()
        if fault.access == "box-out"
    }
    in_car = sorted(name for name, depth in reached.items() if depth < BOX_OUT)
    # Some are lived with, sleeved or reached from below although the whole remedy is on the bench.
    assert set(in_car) <= {
        "converter-drain-back",
        "governor-bore-worn",
        "regulator-stuck-low",
        "regulator-stuck-high",
        "boost-valve-worn",
        "low-reverse-band-faulty",
        "case-porous",
        "coupling-drains-back",
    }


def test_each_family_can_exchange_the_whole_box() -> None:
    """One work in each, that puts right whatever an overhaul does."""
    for family, overhaul in zip(
        FAMILIES, ("gearbox-overhauled", "four-speed-gearbox-overhauled"), strict=True
    ):
        (exchange,) = (work for work in load_works().values() if work.exchange and family in work.families)
        assert exchange.cures > load_works()[overhaul].cures


def test_the_way_in_is_paid_once() -> None:
    """Pan service 1.3 h and selector seals 2.0 h: 0.8 h of way, 0.5 h and 1.2 h of work."""
    assert hours_together(picked("pan-and-filter-service", "pan-side-seals-renewed")) == pytest.approx(2.5)


def test_one_work_alone_takes_its_own_hours() -> None:
    """Whatever its access."""
    for work in load_works().values():
        assert hours_together([work]) == pytest.approx(work.hours)


@pytest.mark.beside("by hand", code=("diagnosis.works.Work.opening", "diagnosis.works.Work.hours_at"))
def test_hours_of_the_way_and_of_the_work_itself() -> None:
    """A front reseal: 7.5 h to the bench and back, 3 h on it. An output seal: 1 h in the car, 0.3 h else."""
    reseal, seal = picked("front-reseal", "output-seal-renewed")
    assert (reseal.opening, seal.opening) == pytest.approx((7.5, 0.0))
    assert [reseal.hours_at(depth) for depth in (IN_CAR, BOX_OUT)] == pytest.approx([3.0, 3.0])
    assert [seal.hours_at(depth) for depth in (IN_CAR, PAN_OFF, BOX_OUT)] == pytest.approx([1.0, 1.0, 0.3])


@pytest.mark.beside("by hand", code="diagnosis.repair_costs.hours_together")
def test_with_the_box_out_the_pan_is_open() -> None:
    """Front reseal 10.5 h, and a pan service on the bench for half an hour more."""
    assert hours_together(picked("front-reseal", "pan-and-filter-service")) == pytest.approx(11.0)
    assert hours_together(picked("front-reseal", "output-seal-renewed")) == pytest.approx(10.8)


def test_work_in_the_car_costs_the_same_with_the_pan_off() -> None:
    """Only the box on the bench brings it nearer."""
    assert hours_together(picked("pan-and-filter-service", "output-seal-renewed")) == pytest.approx(2.3)


def test_more_work_never_takes_less_time() -> None:
    """For any two works together."""
    works = list(load_works().values())
    for first in works:
        for second in works:
            if first is not second:
                assert hours_together([first, second]) >= hours_together([first]) - 1e-9


def test_works_in_the_car_have_no_way_in() -> None:
    """The others have one."""
    for work in load_works().values():
        assert (work.opening == 0.0) == (work.depth == IN_CAR)


def test_hazardous_work_carries_its_cautions() -> None:
    """The box overhead, the pan full of hot fluid, springs behind covers."""
    for work in load_works().values():
        if work.depth == BOX_OUT:
            assert {"heavy-box", "lift-balance", "battery-off"} <= set(work.cautions), work.id
        elif work.access == "pan-off":
            assert {"hot-fluid", "pan-drop"} <= set(work.cautions), work.id


def test_waiting_is_known_for_every_fault() -> None:
    """Of both families, and a car with burnt clutches stands."""
    waiting = load_waiting()
    assert set(waiting) == set(catalogue_as_shipped().faults)
    assert waiting["direct-clutch-burnt"].drive == "no"
    assert waiting["pan-gasket-leaking"].drive == "yes"


def test_a_work_that_contradicts_itself_is_refused() -> None:
    """Whatever is amiss with it."""
    from bellhousing.diagnosis import works as module

    row = {"id": "x", "name": "X", "access": "in-car", "hours": 1, "parts": [], "parts_worth": 0}
    good = row | {"cures": ["pump-worn"], "come_back": 0.1, "cautions": []}
    assert module._work(good, {}).cures == {"pump-worn"}
    for bad in (
        row,
        good | {"colour": "red"},
        good | {"access": "roof-off"},
        good | {"shared": 2},
        good | {"come_back": 1.0},
        good | {"cures": []},
        good | {"cures_all_of": ["nowhere"]},
    ):
        with pytest.raises(CatalogueError):
            module._work(bad, {})
