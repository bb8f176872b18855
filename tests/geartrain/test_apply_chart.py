"""The oldest reasoning of the trade must fall out of the equations: which ranges an element's loss takes."""

from __future__ import annotations

import pytest

from bellhousing.errors import GearTrainError, Neutral, TiedUp
from bellhousing.geartrain.essential import essential_elements
from bellhousing.geartrain.layout import Brake, Clutch, GearTrain, OneWayClutch, PlanetarySet
from bellhousing.geartrain.solve import solve

Chart = dict[str, tuple[str, ...]]


def spoiled(train: GearTrain, chart: Chart, lost: str) -> set[str]:
    """Ranges that give another ratio, or none, when the element holds nothing."""
    ranges = set()
    for name, applied in chart.items():
        try:
            if abs(solve(train, applied, failed=[lost]).ratio - solve(train, applied).ratio) > 1e-9:
                ranges.add(name)
        except Neutral:
            ranges.add(name)
    return ranges


@pytest.mark.parametrize(
    ("lost", "ranges"),
    [
        ("forward-clutch", {"D1", "D2", "D3", "S1", "S2", "L1"}),
        ("direct-clutch", {"D3", "R"}),
        ("intermediate-clutch", {"D2"}),
        ("intermediate-one-way-clutch", {"D2"}),
        ("overrun-band", set()),
        ("low-one-way-clutch", {"D1", "S1"}),
        ("low-reverse-band", {"R"}),
    ],
)
def test_loss_of_an_element_takes_exactly_its_ranges(
    simpson: GearTrain, chart: Chart, lost: str, ranges: set[str]
) -> None:
    """An element used in every failing range and in no working one is the suspect."""
    assert spoiled(simpson, chart, lost) == ranges


def test_failed_low_one_way_clutch(simpson: GearTrain, chart: Chart) -> None:
    """No drive in D first; the band brings it back in L; the other ranges are sound."""
    with pytest.raises(Neutral):
        solve(simpson, chart["D1"], failed=["low-one-way-clutch"])
    assert solve(simpson, chart["L1"], failed=["low-one-way-clutch"]).ratio == pytest.approx(2 + A)
    assert solve(simpson, chart["D2"], failed=["low-one-way-clutch"]).ratio == pytest.approx(1 + A)


A = 30 / 66


def test_direct_clutch_lost_in_third_leaves_second(simpson: GearTrain, chart: Chart) -> None:
    """The intermediate clutch stays on in third, so losing the direct clutch gives second."""
    assert solve(simpson, chart["D3"], failed=["direct-clutch"]).ratio == pytest.approx(1 + A)


def test_intermediate_lost_in_second_leaves_first(simpson: GearTrain, chart: Chart) -> None:
    """The low one-way clutch takes over again."""
    assert solve(simpson, chart["D2"], failed=["intermediate-clutch"]).ratio == pytest.approx(2 + A)


def test_engine_braking_only_where_a_band_holds(simpson: GearTrain, chart: Chart) -> None:
    """On the overrun the one-way clutches let go: no engine braking in D1 and D2, but in L1, S2, D3 and R."""
    for name in ("D1", "D2", "S1"):
        with pytest.raises(Neutral):
            solve(simpson, chart[name], drive=-1)
    for name in ("L1", "S2", "D3", "R"):
        state = solve(simpson, chart[name], drive=-1)
        assert state.ratio == pytest.approx(solve(simpson, chart[name]).ratio)


def test_lost_overrun_band_takes_the_engine_braking(simpson: GearTrain, chart: Chart) -> None:
    """The overrun band shows only on the overrun."""
    assert solve(simpson, chart["S2"], failed=["overrun-band"]).ratio == pytest.approx(1 + A)
    with pytest.raises(Neutral):
        solve(simpson, chart["S2"], failed=["overrun-band"], drive=-1)


def test_dragging_forward_clutch_drives_in_neutral(simpson: GearTrain) -> None:
    """Nothing applied is neutral; a forward clutch stuck on gives first."""
    with pytest.raises(Neutral):
        solve(simpson, [])
    assert solve(simpson, ["forward-clutch"]).ratio > 0


def test_forward_clutch_stuck_on_in_reverse_ties_up(simpson: GearTrain, chart: Chart) -> None:
    """Reverse with the forward clutch still on locks the box."""
    with pytest.raises(TiedUp):
        solve(simpson, [*chart["R"], "forward-clutch"])


def test_low_band_left_on_in_second_ties_up(simpson: GearTrain, chart: Chart) -> None:
    """Two brakes against one another."""
    with pytest.raises(TiedUp):
        solve(simpson, [*chart["D2"], "low-reverse-band"])


def test_seized_one_way_clutches(simpson: GearTrain, chart: Chart) -> None:
    """A low one-way clutch seized ties up second; a seized intermediate one ties up third."""
    assert solve(simpson, chart["D1"], seized=["low-one-way-clutch"]).ratio == pytest.approx(2 + A)
    with pytest.raises(TiedUp):
        solve(simpson, chart["D2"], seized=["low-one-way-clutch"])
    with pytest.raises(TiedUp):
        solve(simpson, chart["D3"], seized=["intermediate-one-way-clutch"])


def test_one_way_clutch_fitted_the_wrong_way_round(simpson: GearTrain, chart: Chart) -> None:
    """A low one-way clutch put in backwards lets first slip and ties up second."""
    wrong = GearTrain(
        simpson.input,
        simpson.output,
        simpson.members,
        simpson.sets,
        (*simpson.elements[:-1], OneWayClutch("low-one-way-clutch", "rear-carrier", "case", holds=1)),
    )
    with pytest.raises(Neutral):
        solve(wrong, chart["D1"])
    with pytest.raises(TiedUp):
        solve(wrong, chart["D2"])


def test_output_held_is_neutral_or_tied_up(simpson: GearTrain) -> None:
    """With a pawl on the output, a turning input is neutral and a geared input is tied up."""
    parked = GearTrain(
        simpson.input,
        simpson.output,
        simpson.members,
        simpson.sets,
        (*simpson.elements, Brake("pawl", "output")),
    )
    with pytest.raises(Neutral):
        solve(parked, ["pawl"])
    with pytest.raises(TiedUp):
        solve(parked, ["pawl", "forward-clutch"])


def groups(
    train: GearTrain, applied: tuple[str, ...], drive: int = 1
) -> dict[tuple[tuple[str, ...], ...], float]:
    """Paths of each essential group and its torque."""
    return {g.paths: g.torque for g in essential_elements(train, applied, drive=drive)}


def test_essential_elements_of_each_range(simpson: GearTrain, chart: Chart) -> None:
    """Groups and torques by hand: low a(1 + 1/b), second a, third 66/96 and 30/96, reverse 96/30."""
    series = ("intermediate-one-way-clutch", "intermediate-clutch")
    expected: dict[str, dict[tuple[tuple[str, ...], ...], float]] = {
        "D1": {(("forward-clutch",),): -1.0, (("low-one-way-clutch",),): A * 3.2},
        "D2": {(("forward-clutch",),): -1.0, (series,): A},
        "D3": {(("forward-clutch",),): -66 / 96, (("direct-clutch",),): -30 / 96},
        "S2": {(("forward-clutch",),): -1.0, (series, ("overrun-band",)): A},
        "L1": {
            (("forward-clutch",),): -1.0,
            (("low-reverse-band",), ("low-one-way-clutch",)): A * 3.2,
        },
        "R": {(("direct-clutch",),): -1.0, (("low-reverse-band",),): -3.2},
    }
    for name, wanted in expected.items():
        found = groups(simpson, chart[name])
        sorted_paths = {tuple(sorted(p)): t for p, t in found.items()}
        assert sorted_paths == pytest.approx({tuple(sorted(p)): t for p, t in wanted.items()}, abs=1e-12), (
            name
        )


def test_only_the_bands_can_hold_on_the_overrun(simpson: GearTrain, chart: Chart) -> None:
    """On the overrun the one-way clutch beside the band is no path any more."""
    assert (("low-reverse-band",),) in groups(simpson, chart["L1"], drive=-1)
    assert (("overrun-band",),) in groups(simpson, chart["S2"], drive=-1)


def test_what_a_range_falls_to(simpson: GearTrain, chart: Chart) -> None:
    """Without its group third falls to second, second to first, first to nothing."""
    fall = {g.elements: g.without for g in essential_elements(simpson, chart["D3"])}
    assert fall[("direct-clutch",)] == pytest.approx(1 + A)
    assert fall[("forward-clutch",)] is None
    second = {g.elements: g.without for g in essential_elements(simpson, chart["D2"])}
    assert second[("intermediate-one-way-clutch", "intermediate-clutch")] == pytest.approx(2 + A)
    assert all(g.without is None for g in essential_elements(simpson, chart["D1"]))


def test_essential_agrees_with_losing_each_element(simpson: GearTrain, chart: Chart) -> None:
    """An element spoils a range exactly when it stands on every path of an essential group."""
    for element in simpson.elements:
        by_groups = {
            name
            for name, applied in chart.items()
            if any(all(element.name in p for p in g.paths) for g in essential_elements(simpson, applied))
        }
        assert by_groups == spoiled(simpson, chart, element.name)


def test_chain_through_a_race_works_from_either_end() -> None:
    """A clutch between members by way of a race, written in either direction, carries one torque."""
    members = ("in", "race", "ring", "sun", "carrier")
    train = GearTrain(
        "in",
        "carrier",
        members,
        (PlanetarySet("set", "sun", "ring", "carrier", 30, 60),),
        (
            OneWayClutch("free-wheel", "ring", "race", holds=-1),
            Clutch("clutch", "race", "in"),
            Brake("band", "sun"),
        ),
    )
    found = {g.nodes: g for g in essential_elements(train, ["clutch", "band"])}
    assert found["in", "ring"].paths == (("clutch", "free-wheel"),)
    assert found["in", "ring"].torque == pytest.approx(-1.0)
    assert found["sun", "case"].torque == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("members", "sets", "elements"),
    [
        (("a", "b", "a"), (), ()),
        (("a", "b"), (PlanetarySet("s", "a", "b", "c", 30, 60),), ()),
        (("a", "b"), (), (Brake("x", "c"),)),
        (("a", "b"), (), (Clutch("x", "a", "b"), Brake("x", "a"))),
        (("a", "b", "case"), (), ()),
        (("a", "b"), (), (Clutch("x", "a", "a"),)),
    ],
)
def test_bad_layouts_are_refused(members: object, sets: object, elements: object) -> None:
    """Names used twice, unknown members and an element joined to itself are refused."""
    with pytest.raises(GearTrainError):
        GearTrain("a", "b", members, sets, elements)  # type: ignore[arg-type]


def test_unknown_element_is_refused_by_name(simpson: GearTrain) -> None:
    """The error names what was asked for and what there is."""
    with pytest.raises(GearTrainError, match=r"third-clutch.*forward-clutch"):
        solve(simpson, ["third-clutch"])


def test_impossible_teeth_and_senses_are_refused() -> None:
    """A sun larger than its ring, and a one-way clutch without a sense."""
    with pytest.raises(GearTrainError):
        PlanetarySet("s", "a", "b", "c", 70, 60)
    with pytest.raises(GearTrainError):
        OneWayClutch("o", "a", "case", holds=0)
    with pytest.raises(GearTrainError):
        solve(GearTrain("a", "b", ("a", "b"), (), (Clutch("x", "a", "b"),)), ["x"], drive=2)
