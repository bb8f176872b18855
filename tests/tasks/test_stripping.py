"""What comes off a shipped box, or the box of a job, and what its parts tree says of the catalogue."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from bellhousing.boxes.box import Box
from bellhousing.boxes.load import load_box
from bellhousing.boxes.parts_tree import PartsTree
from bellhousing.diagnosis.posterior import Cause
from bellhousing.errors import BoxFileError, FindingError
from bellhousing.tasks import noting
from bellhousing.tasks.shipped import shipped_catalogue
from bellhousing.tasks.shop import Shop
from bellhousing.tasks.stripping import (
    leading_aims,
    need_tree,
    strip_of_box,
    strip_of_file,
    strip_of_job,
)
from bellhousing.work.entries import WorkEntry

BOXES = ("box-a", "box-b")

# Faults of the engine, the fluid or the rest of the car: no part of the box is their seat.
OUTSIDE = {
    "engine-oil-leak",
    "hydraulic-fluid-leak",
    "engine-vacuum-low",
    "engine-misfire",
    "idle-too-high",
    "throttle-not-opening-fully",
    "brake-dragging",
    "fluid-level-low",
    "fluid-overfilled",
    "fluid-wrong",
}


def both(name: str) -> tuple[Box, PartsTree]:
    """A shipped box and its parts tree."""
    box = load_box(name)
    return box, need_tree(box)


@pytest.mark.parametrize("name", BOXES)
def test_every_caution_is_in_the_catalogue(name: str) -> None:
    """At parts and at gates, so that each shows its whole sentence."""
    _, tree = both(name)
    named = [slug for part in tree.parts.values() for slug in part.cautions]
    named += [slug for _, gate in tree.gates() for slug in gate.cautions]
    assert len(named) > 60
    assert set(named) <= set(shipped_catalogue().cautions)


@pytest.mark.parametrize("name", BOXES)
def test_every_fault_has_its_seat(name: str) -> None:
    """Each fault of this kind of box sits in a part; no part is the seat of another kind's fault."""
    box, tree = both(name)
    seated = {fault for part in tree.parts.values() for fault in part.faults}
    faults = [fault for fault in shipped_catalogue().faults.values() if fault.part not in box.missing_parts]
    kind = {fault.id for fault in faults if box.kind in fault.families}
    assert seated == kind - OUTSIDE


@pytest.mark.parametrize("name", BOXES)
def test_what_is_measured_first_is_known(name: str) -> None:
    """By a window of the box, or as a finding this kind of box can show; so are measures of gates."""
    box, tree = both(name)
    findings = {f.id for f in shipped_catalogue().findings.values() if box.kind in f.families}
    asked = {row.measure for part in tree.parts.values() for row in part.measure_before}
    asked |= {gate.measure for _, gate in tree.gates() if gate.measure is not None}
    assert len(asked) > 12
    assert asked <= set(box.measurements) | findings


def test_a_plan_tells_each_step_in_words() -> None:
    """Fasteners, particular holes, one-use parts, cautions and what is lost otherwise."""
    answer = strip_of_box("A", ["pump outer ring"])
    assert answer.headline == "To Front pump: 15 steps, 3 h 42 min"
    pump = answer.steps[-1]
    assert pump.wanted
    assert pump.flange is not None
    assert pump.flange.fasteners == "7 bolts, 5/16-18, 1.25 in long"
    assert pump.flange.particular == (
        "hole 4: 1.5 in long; goes in with thread sealant; goes through to the wet side",
    )
    assert pump.flange.washers_one_use == 7
    assert pump.flange.jack is not None
    assert "pump outer ring" in pump.one_use
    (first,) = pump.measure_before
    assert (first.measure, first.name, first.done) == ("front-end-play", "front end play", False)
    box_out = next(step for step in answer.steps if step.part == "gearbox")
    assert box_out.flange is not None
    assert box_out.flange.out_already == (1, 3)
    assert any("gearbox jack" in text for text in box_out.cautions)
    assert answer.minutes == sum(step.minutes for step in answer.steps)
    assert answer.to_measure == 3


def test_balls_and_springs_are_counted() -> None:
    """Each ball by its pocket, each spring by its colour and where it belongs."""
    steps = {step.part: step for step in strip_of_box("A", ["valves", "spacer plate"]).steps}
    balls = [*steps["valve-body"].loose, *steps["spacer-plate"].loose]
    assert len(balls) == 6
    assert balls[0] == "check ball, pocket 1 (reverse feed), steel, 0.25 in"
    assert "2-3 shift spring to the 2-3 shift valve, red, 1.68 in long" in steps["valves"].loose


def written(shop: Shop, job: int, kind: str, subject: str, **data: Any) -> None:
    """Add an entry to the book of work."""
    at = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
    shop.store.add_work_entry(WorkEntry(job=job, at=at, who="Jo", kind=kind, subject=subject, data=data))


def test_a_job_goes_on_from_where_its_strip_stands(shop: Shop, job: int) -> None:
    """Parts off are not taken off again; a baseline noted or declined is not asked again."""
    whole = strip_of_job(shop, job, ["front pump"])
    for slug in ("bell-cover", "propshaft"):
        written(shop, job, "part-off", slug)
    written(shop, job, "baseline", "front-pump", measure="front-end-play", value="0.021 in")
    after = strip_of_job(shop, job, ["front pump"])
    assert after.off == ("Propshaft", "Cover below the bell")
    assert len(after.steps) == len(whole.steps) - 2
    assert after.minutes == whole.minutes - 26.0
    assert after.steps[-1].measure_before[0].done
    assert after.to_measure == whole.to_measure - 2


def test_a_job_without_a_target_aims_at_its_leading_causes(shop: Shop, job: int) -> None:
    """A torn diaphragm: the modulator, and why."""
    for said in ("fluid in the modulator hose", "modulator does not hold vacuum", "blue smoke at idle"):
        noting.note(shop, job, said)
    answer = strip_of_job(shop, job)
    assert answer.targets[0].part == "modulator"
    assert "Modulator diaphragm torn" in answer.targets[0].why
    assert "gearbox" not in {step.part for step in answer.steps}


def believed(causes: Sequence[tuple[str, float]]) -> list[Cause]:
    """Causes with their probabilities."""
    return [Cause(slug, slug.replace("-", " "), chance, 0.0, ()) for slug, chance in causes]


@pytest.mark.parametrize(
    ("causes", "aims", "elsewhere"),
    [
        ([("hub-rings-worn", 0.5)], ["pump-hub-rings", "centre-support"], []),
        ([("idle-too-high", 0.6), ("pump-worn", 0.2), ("sound", 0.9)], ["pump-gears"], ["idle-too-high"]),
        ([("pump-worn", 0.4), ("governor-bore-worn", 0.1)], ["pump-gears"], []),
    ],
)
def test_leading_causes_and_their_seats(
    causes: Sequence[tuple[str, float]], aims: list[str], elsewhere: list[str]
) -> None:
    """Every seat of what leads; what sits outside the box is named; what hardly counts is left out."""
    _, tree = both("box-a")
    found, outside = leading_aims(tree, believed(causes))
    assert [aim.part for aim in found] == aims
    assert [entry.cause for entry in outside] == elsewhere


@pytest.mark.parametrize("causes", [[("sound", 0.9)], [("idle-too-high", 0.8)]])
def test_nothing_in_the_box_leads(causes: Sequence[tuple[str, float]]) -> None:
    """Then nothing is taken apart: it is said so."""
    _, tree = both("box-a")
    with pytest.raises(FindingError, match=r"no cause leads|sits in no part"):
        leading_aims(tree, believed(causes))


def test_a_findings_file_needs_no_database(
    tmp_path: Path, prepared_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its box and the causes that lead after its findings; what was not understood is told."""
    monkeypatch.setenv("BELLHOUSING_CACHE", str(prepared_folder))
    path = tmp_path / "car.yaml"
    path.write_text(
        "box: A\ncar: {axle_ratio: 3.08, tyre_radius: 0.345 m, altitude: 0 ft}\nfindings:\n"
        "  - fluid in the modulator hose\n  - modulator does not hold vacuum\n  - the clock is slow\n",
        encoding="utf-8",
    )
    answer = strip_of_file(path)
    assert answer.targets[0].part == "modulator"
    assert answer.notes == ("the clock is slow",)
    asked = strip_of_file(path, ["governor"])
    assert [step.part for step in asked.steps] == ["crossmember", "governor"]


def test_what_a_findings_file_tells_of_is_measured(tmp_path: Path) -> None:
    """A number of the bench, and a look, need not be taken again before the part is undone."""
    path = tmp_path / "car.yaml"
    path.write_text(
        "box: A\nfindings: [a ring thrown on the back of the converter]\n"
        "measured: [direct pack clearance 0.052 in]\n",
        encoding="utf-8",
    )
    answer = strip_of_file(path, ["direct clutch plates"])
    done = {row.measure: row.done for step in answer.steps for row in step.measure_before}
    assert done["direct-pack-clearance"]
    assert done["bell-ring-on-converter"]
    assert answer.to_measure == list(done.values()).count(False)
    assert not done["drum-wear"]


def test_a_box_without_a_tree_says_so() -> None:
    """A family has none: what to do about it is said."""
    with pytest.raises(BoxFileError) as refused:
        strip_of_box("three-speed-vacuum", ["pan"])
    assert "no parts tree" in refused.value.what
    assert "strip" in str(refused.value.remedy)
