"""What lies on the shop's shelf is what a job's parts are chosen from."""

from __future__ import annotations

import pytest

from bellhousing.errors import FindingError, QuantityError, RecordError
from bellhousing.fits.verdict import Rule
from bellhousing.tasks import fits, measuring, stocking
from bellhousing.tasks.fits_shapes import StackAnswer
from bellhousing.tasks.shop import Shop


@pytest.fixture
def measured(shop: Shop, job: int) -> int:
    """A job with its front end play and the washer in it measured: 0.080 in is wanted."""
    measuring.measure_on_job(shop, job, "front end play 0.021 in")
    measuring.measure_on_job(shop, job, "front thrust washer 0.0715 in")
    return job


def _front(shop: Shop, job: int) -> StackAnswer:
    return next(entry for entry in fits.fits_of_job(shop, job).stacks if entry.stack == "front-end-play")


def test_a_washer_on_the_shelf_is_taken_and_not_bought(shop: Shop, measured: int) -> None:
    """Before it is booked the same size is bought; after, it comes from the shelf, and that is said."""
    assert (_front(shop, measured).parts[0].size, _front(shop, measured).parts[0].bought) == (0.08, 1)
    stocking.add_stock(shop, "A", "front-washer", "0.080 in", 1)
    piece = _front(shop, measured).parts[0]
    assert (piece.size, piece.from_stock, piece.bought, piece.mark) == (0.08, 1, 0, "green")
    assert any("front thrust washer" in note for note in fits.fits_of_job(shop, measured).notes)
    stocking.use_stock(shop, "A", "front-washer", "0.080 in", 1, job=measured)
    assert _front(shop, measured).parts[0].bought == 1


def test_a_size_only_the_shelf_has_is_used(shop: Shop, measured: int) -> None:
    """One the box file does not list, sure enough that nothing is bought to better it."""
    stocking.add_stock(shop, "A", "front thrust washer", "0.0805 in", 2, mark="own")
    piece = _front(shop, measured).parts[0]
    assert (piece.size, piece.mark, piece.from_stock) == (0.0805, "own", 1)


def test_what_is_ordered_arrives(shop: Shop) -> None:
    """Off the order, onto the shelf; never more than was ordered."""
    stocking.add_stock(shop, "A", "front-washer", "0.080 in", 2, ordered=True)
    there = stocking.arrived(shop, "A", "front-washer", "0.080 in", 1)
    assert (there.shelf, there.on_order) == (1, 1)
    with pytest.raises(RecordError):
        stocking.arrived(shop, "A", "front-washer", "0.080 in", 2)
    (listed,) = stocking.stock_of_shop(shop)
    assert listed.text == "front thrust washer 0.080 in (green): 1 on the shelf, 1 on order"


def test_bad_input_is_refused_with_what_would_be_right(shop: Shop) -> None:
    """A part misspelt, inches for millimetres, a unit of something else, no count."""
    with pytest.raises(FindingError, match="front-washer"):
        stocking.add_stock(shop, "A", "front washr", "0.080 in", 1)
    with pytest.raises(QuantityError, match="inches for millimetres"):
        stocking.add_stock(shop, "A", "front-washer", "0.080 mm", 1)
    with pytest.raises(QuantityError, match="pressure"):
        stocking.add_stock(shop, "A", "front-washer", "80 psi", 1)
    with pytest.raises(QuantityError, match="count"):
        stocking.add_stock(shop, "A", "front-washer", "0.080 in", 0)
    with pytest.raises(FindingError, match="no selective parts"):
        stocking.add_stock(shop, "three-speed-vacuum", "front-washer", "0.080 in", 1)
    assert stocking.stock_of_shop(shop) == ()


def test_the_rule_decides_what_is_said_of_a_figure_near_a_limit(shop: Shop, job: int) -> None:
    """Just inside: taken as read it is inside, proven either way nobody can tell."""
    measuring.measure_on_job(shop, job, "front end play 0.0178 in")
    said = {
        name: measuring.measured_on_job(shop, job, rule=Rule(name))[0].outcome
        for name in ("sure", "simple", "guarded")
    }
    assert said == {"sure": "cannot tell", "simple": "inside", "guarded": "cannot tell"}


def test_the_shops_own_instruments_count(shop: Shop, job: int) -> None:
    """A dial of its own in the shop's folder is found by its name; one of the usual names replaces it."""
    text = (
        "instruments:\n  grey-dial: {name: grey dial, reads: [play], resolution: 0.01 mm, "
        "permissible_error: 0.02 mm, repeatability: 0.005 mm}\n"
    )
    (shop.folder / "instruments.yaml").write_text(text, encoding="utf-8")
    with_own = measuring.measure_on_job(shop, job, "front end play 0.012 in with the grey dial")
    usual = measuring.measure_on_job(shop, job, "rear end play 0.012 in")
    assert with_own.instrument == "grey dial"
    assert with_own.uncertainty < usual.uncertainty
    assert [entry.instrument for entry in measuring.measured_on_job(shop, job)] == [
        "grey dial",
        usual.instrument,
    ]
    with pytest.raises(QuantityError, match="known are"):
        measuring.measure_on_job(shop, job, "front end play 0.012 in with the green dialler")


def test_what_is_counted_puts_the_book_right(shop: Shop) -> None:
    """Up or down, the order left alone unless it is given; the same figures again are no correction."""
    stocking.add_stock(shop, "A", "front-washer", "0.080 in", 2)
    stocking.add_stock(shop, "A", "front-washer", "0.080 in", 3, ordered=True)
    fewer = stocking.count_stock(shop, "A", "front-washer", "0.080 in", 1)
    assert (fewer.shelf, fewer.on_order) == (1, 3)
    none = stocking.count_stock(shop, "A", "front-washer", "2.032 mm", 4, 0)
    assert (none.shelf, none.on_order) == (4, 0)
    with pytest.raises(RecordError, match="says so already"):
        stocking.count_stock(shop, "A", "front-washer", "0.080 in", 4)
    with pytest.raises(QuantityError, match="between 0 and"):
        stocking.count_stock(shop, "A", "front-washer", "0.080 in", -1)
