"""Cars and jobs: what is kept, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from bellhousing.errors import BellhousingError, BoxFileError, RecordError
from bellhousing.tasks import opening
from bellhousing.tasks.shop import Shop, open_shop


def test_a_car_keeps_what_is_known_and_leaves_the_rest_open(shop: Shop) -> None:
    """Figures as typed come back; what was not given stays unknown."""
    car = opening.open_car(shop, "  Grey   saloon ", box="A", tyre_radius="13.6 in")
    assert car.slug == "grey-saloon"
    assert car.name == "Grey saloon"
    assert car.axle_ratio is None
    assert car.tyre_radius == "0.345 m"


def test_a_car_is_found_by_slug_and_by_name(shop: Shop) -> None:
    """However it is written."""
    opening.open_car(shop, "Grey saloon")
    assert opening.open_job(shop, "GREY saloon", "late").car.slug == "grey-saloon"
    assert opening.open_job(shop, "grey-saloon", "late").number == 2


@pytest.mark.parametrize("name", ["", "   ", "–––", "x" * 300])
def test_a_car_without_a_usable_name_is_refused(shop: Shop, name: str) -> None:
    """Nothing is kept of it."""
    with pytest.raises(RecordError):
        opening.open_car(shop, name)
    assert opening.cars(shop) == ()


def test_two_cars_of_one_name_are_refused(shop: Shop) -> None:
    """The second says so."""
    opening.open_car(shop, "Grey saloon")
    with pytest.raises(RecordError, match="car of that name"):
        opening.open_car(shop, "grey Saloon")


@pytest.mark.parametrize(
    ("figures", "error"),
    [
        ({"axle_ratio": "30"}, BellhousingError),
        ({"axle_ratio": "three"}, BellhousingError),
        ({"tyre_radius": "345"}, BellhousingError),
        ({"tyre_radius": "62 psi"}, BellhousingError),
        ({"altitude": "90000 ft"}, BellhousingError),
        ({"box": "Z"}, BoxFileError),
        ({"box": "./missing.yaml"}, BoxFileError),
    ],
)
def test_figures_no_car_can_have_are_refused(
    shop: Shop, figures: dict[str, str], error: type[BellhousingError]
) -> None:
    """By name, and no car is kept."""
    with pytest.raises(error):
        opening.open_car(shop, "Grey saloon", **figures)
    assert opening.cars(shop) == ()


def test_a_job_keeps_the_complaint_verbatim_and_is_opened_once_per_key(shop: Shop) -> None:
    """Sending it again gives the same job."""
    opening.open_car(shop, "Grey saloon")
    words = "  It  shifts late –\nand hard "
    first = opening.open_job(shop, "grey-saloon", words, odometer="61,240 miles", key="a")
    again = opening.open_job(shop, "grey-saloon", words, odometer="61,240 miles", key="a")
    assert first.complaint == words
    assert first.number == again.number
    assert first.odometer == "61,240 miles"
    assert len(opening.jobs(shop)) == 1


@pytest.mark.parametrize("complaint", ["", "  \n", "x" * 5000])
def test_a_job_without_a_complaint_is_refused(shop: Shop, complaint: str) -> None:
    """There is nothing to begin with."""
    opening.open_car(shop, "Grey saloon")
    with pytest.raises(RecordError):
        opening.open_job(shop, "grey-saloon", complaint)


def test_an_unknown_car_names_those_there_are(shop: Shop) -> None:
    """The remedy lists them."""
    opening.open_car(shop, "Grey saloon")
    with pytest.raises(RecordError, match="grey-saloon"):
        opening.open_job(shop, "red-coupe", "late")


def test_a_job_is_closed_and_opened_again(shop: Shop, job: int) -> None:
    """Closing twice is refused."""
    assert opening.close_job(shop, job, "new diaphragm").status == "closed"
    with pytest.raises(RecordError):
        opening.close_job(shop, job)
    assert opening.reopen_job(shop, job).status == "open"


def test_a_shop_in_a_file_is_refused(tmp_path: Path) -> None:
    """The folder's name is a file's."""
    (tmp_path / "shop").write_text("not a folder")
    with pytest.raises(RecordError, match="folder"):
        open_shop(tmp_path / "shop")
