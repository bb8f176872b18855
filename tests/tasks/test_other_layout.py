"""The example box of another layout, as its file is typed, through the whole computation."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import box_from_bytes, load_box
from bellhousing.diagnosis.evidence import Evidence
from bellhousing.diagnosis.posterior import diagnose
from bellhousing.diagnosis.prepare import CarFacts, Prepared, prepare
from bellhousing.errors import BoxFileError
from bellhousing.road.cars import Cars, draw_cars, middle_car
from bellhousing.road.drive.manoeuvres import manoeuvre
from bellhousing.road.drive.simulate import simulate
from bellhousing.road.margins import gear_margins
from bellhousing.road.shift_heat import shift_heats
from bellhousing.road.shown import show_cars, vehicle
from bellhousing.road.vehicle import Vehicle
from tests.shipped import catalogue_as_shipped

EXAMPLE = Path(__file__).resolve().parents[2] / "docs" / "examples" / "two-sun.yaml"
LACKS = {"intermediate-clutch", "intermediate-one-way-clutch", "overrun-band"}


@lru_cache
def box() -> Box:
    """The box of the example file."""
    return load_box(EXAMPLE)


@lru_cache
def car() -> Vehicle:
    """The box in a car."""
    return vehicle(box(), 3.08, 0.345, 0.0)


@lru_cache
def prepared() -> Prepared:
    """Its causes on few cars."""
    return prepare(box(), CarFacts(), catalogue_as_shipped(), cars=24)


def worn(share: float) -> Cars:
    """The middle car with a second-gear band that grips less."""
    middle = middle_car(box())
    return middle.with_values({"second_band.grip": np.full(1, share)})


def test_what_the_train_has_not_is_no_part_of_the_box() -> None:
    """Nothing is asked of clutches the train does not have, and no cause blames them."""
    assert box().missing_parts == LACKS
    assert "second_band.return_force" in box().unknown
    assert not any(key.startswith("intermediate_clutch") for key in (*box().figures, *box().unknown))
    faults = set(prepared().faults)
    assert "second-band-worn" in faults
    assert not {"intermediate-clutch-burnt", "overrun-band-worn"} & faults


def test_margins_name_the_band_in_second() -> None:
    """Second is held by the band, a sound box holds, and the change into second is the band's work."""
    cars, middle = draw_cars(box(), 30, np.random.default_rng(2)), middle_car(box())
    by_gear = {entry.gear: entry for entry in gear_margins(cars, middle, car(), [450e3])}
    assert "second-band" in {name for group in by_gear["second"].groups for name in group.elements}
    assert all(np.median(group.margin) > 1.0 for entry in by_gear.values() for group in entry.groups)
    into = {heat.elements for heat in shift_heats(middle, car()) if heat.into == "second"}
    assert into == {("second-band",)}


def test_a_worn_band_slips_second_and_no_other_gear() -> None:
    """It shows as slip in second, and once it holds nothing as no engine braking there; the rest stays."""
    sound, bad, gone = (show_cars(worn(share), car()) for share in (1.0, 0.05, 0.0))
    for name, shown in (("slip-second", bad), ("engine-braking-second", gone)):
        assert sound.chances[name][0, 1] < 0.05
        assert shown.chances[name][0, 1] > 0.9
    for name in ("slip-first", "slip-third", "slip-reverse", "engine-braking-low", "engine-braking-top"):
        assert bad.chances[name] == pytest.approx(sound.chances[name])
    assert bad.readings["line-drive-idle"] == sound.readings["line-drive-idle"]


def test_the_worn_band_is_named() -> None:
    """Slip in second alone leads to the band, its adjuster settles it, and neither finding is set aside."""
    evidence = [Evidence(f"slip-{gear}", states=("none",)) for gear in ("first", "third", "reverse")]
    evidence.append(Evidence("slip-second", states=("slips",)))
    evidence.append(Evidence("engine-braking-second", states=("missing",)))
    causes = [cause.id for cause in diagnose(prepared(), tuple(evidence)).causes if cause.id != "sound"]
    assert causes[0] == "second-band-worn"
    evidence.append(Evidence("second-band-turns", states=("yes",)))
    assert diagnose(prepared(), tuple(evidence)).causes[0].id == "second-band-worn"


def test_a_drive_changes_up_without_binding() -> None:
    """The band lets go as the direct clutch comes: the input follows the ratios, and little heat is made."""
    drive = simulate(box(), worn(1.0), car(), manoeuvre("light-pull"))
    assert [made.name for made in drive.shifts()] == ["1-2", "2-3"]
    heat = float(np.trapezoid(drive.slip_heat[:, 0], drive.time))
    assert 1e3 < heat < 10e3
    after = next(made.time for made in drive.shifts() if made.name == "2-3") + 1.5
    assert drive.at(0, after, "slip") == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("second-band", "kickdown-band", "name it by what it does"),
        ("\nsecond_band:", "\nfront_bands:", "unknown key"),
        ("    - {name: second-band, kind: brake, holds: large-sun}\n", "", "not among the elements"),
    ],
)
def test_an_element_without_figures_is_refused_with_what_to_call_it(old: str, new: str, said: str) -> None:
    """A name of one's own, or figures of a band the train has not, is a fault of the file and no mishap.

    What only boxes of the other kind have is never proposed.
    """
    text = EXAMPLE.read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(BoxFileError) as caught:
        box_from_bytes(text.replace(old, new).encode())
    assert any(said in line for line in caught.value.problems)
    assert not any("front_band`" in line for line in caught.value.problems)


def test_a_chart_without_second_range_says_what_is_refused() -> None:
    """The file loads, and what the missing gear costs is told before anything is asked."""
    text = EXAMPLE.read_text(encoding="utf-8")
    cut = text.replace('    second: {"1": [forward-clutch], "2": [forward-clutch, second-band]}\n', "")
    assert cut != text
    assert any("no gear 2 of second" in line for line in box_from_bytes(cut.encode()).what_it_cannot_do())
