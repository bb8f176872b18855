"""The strip plan: never more work than needed, in an order that works, for targets in plain words."""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping, Sequence

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from bellhousing.boxes.load import load_box
from bellhousing.boxes.parts_tree import Flange, Hole, Part, PartsTree
from bellhousing.errors import FindingError
from bellhousing.work.least_work import Unreachable, least_work
from bellhousing.work.strip import strip_plan

Groups = Mapping[str, Sequence[Sequence[str]]]


def comes_off(chosen: Collection[str], groups: Groups, off: Collection[str] = ()) -> bool:
    """Whether a set of parts can be taken off one after the other."""
    gone = set(off)
    left = set(chosen)
    while left:
        free = {name for name in left if all(gone.intersection(group) for group in groups.get(name, ()))}
        if not free:
            return False
        gone |= free
        left -= free
    return True


def by_force(
    weights: Mapping[str, int], groups: Groups, wanted: Collection[str], off: Collection[str]
) -> int | None:
    """The least weight over all sets of parts, None if no set takes the wanted ones off."""
    names = [name for name in weights if name not in off]
    best: int | None = None
    for mask in range(1 << len(names)):
        chosen = {name for place, name in enumerate(names) if mask >> place & 1}
        total = sum(weights[name] for name in chosen)
        if (best is None or total < best) and {*wanted} <= chosen | {*off} and comes_off(chosen, groups, off):
            best = total
    return best


def random_box(seed: int, count: int, *, rings: bool) -> tuple[dict[str, int], dict[str, list[list[str]]]]:
    """Weights and groups of an invented box; with rings a part may also wait for a later one."""
    chance = random.Random(seed)
    names = [f"part-{number}" for number in range(count)]
    weights = {name: chance.choice([0, 1, 2, 3, 5, 8, 13]) for name in names}
    groups: dict[str, list[list[str]]] = {}
    for number, name in enumerate(names):
        others = [other for other in (names if rings else names[:number]) if other != name]
        groups[name] = [
            chance.sample(others, min(len(others), chance.choice([1, 2, 2, 3])))
            for _ in range(chance.choice([0, 1, 1, 2]))
            if others
        ]
    return weights, groups


@pytest.mark.parametrize("rings", [False, True])
def test_no_set_of_parts_is_less_work(rings: bool) -> None:
    """On small random boxes the work found weighs what trying every set of parts finds, and can be done."""
    stuck = 0
    for seed in range(120):
        weights, groups = random_box(seed, 9, rings=rings)
        chance = random.Random(-seed - 1)
        wanted = chance.sample(list(weights), chance.choice([1, 1, 2, 3]))
        off = chance.sample(list(weights), chance.choice([0, 0, 1, 2]))
        least = by_force(weights, groups, wanted, off)
        if least is None:
            stuck += 1
            with pytest.raises(Unreachable):
                least_work(weights, groups, wanted, off)
            continue
        order = least_work(weights, groups, wanted, off)
        assert sum(weights[name] for name in order) == least, seed
        assert {*wanted} <= {*order, *off}
        gone = set(off)
        for name in order:
            assert all(gone.intersection(group) for group in groups[name]), (seed, name)
            gone.add(name)
    assert (stuck > 0) is rings


@pytest.mark.bench
def test_how_long_a_large_box_with_many_ways_round_takes(benchmark: BenchmarkFixture) -> None:
    """Sixty-five parts, two or three ways for nearly every one; the aim is well under a second each."""
    goals = ["part-64", "part-62", "part-60"]
    boxes = [random_box(seed, 65, rings=False) for seed in range(5)]
    found = benchmark(lambda: [least_work(weights, groups, goals) for weights, groups in boxes])
    assert len(found) == len(boxes)


def held(slug: str, *after: str | tuple[str, ...], minutes: float = 10.0, flange: str | None = None) -> Part:
    """A part for a small box."""
    groups = tuple((one,) if isinstance(one, str) else one for one in after)
    return Part(slug, slug.replace("-", " ").capitalize(), after=groups, minutes=minutes, flange=flange)


def small_box(*parts: Part, flanges: Sequence[Flange] = ()) -> PartsTree:
    """A parts tree of these parts."""
    return PartsTree({part.slug: part for part in parts}, {flange.slug: flange for flange in flanges})


def test_work_that_two_targets_share_counts_once() -> None:
    """Two ways to each target, one in common: dearer for either alone, cheaper for both together."""
    tree = small_box(
        held("cover", minutes=6),
        held("left-hatch", minutes=4),
        held("right-hatch", minutes=4),
        held("left", ("cover", "left-hatch"), minutes=1),
        held("right", ("cover", "right-hatch"), minutes=1),
    )
    assert strip_plan(tree, ["left"]).order == ("left-hatch", "left")
    assert strip_plan(tree, ["right"]).order == ("right-hatch", "right")
    both = strip_plan(tree, ["left", "right"])
    assert both.order == ("cover", "left", "right")
    assert both.minutes == 8.0
    assert both.steps[0].opens == ("left", "right")
    assert both.steps[0].instead == ("left-hatch", "right-hatch")
    assert strip_plan(tree, ["left", "right"], ["left hatch"]).order == ("right-hatch", "left", "right")


def test_a_ring_of_ways_round_does_not_count_as_open() -> None:
    """Two covers that each make way for the other are no way in."""
    tree = small_box(
        held("front-cover", ("rear-cover", "bolts"), minutes=1),
        held("rear-cover", ("front-cover", "clip"), minutes=1),
        held("bolts", minutes=30),
        held("clip", minutes=20),
        held("shaft", "front-cover", minutes=1),
    )
    assert strip_plan(tree, ["shaft"]).order == ("clip", "rear-cover", "front-cover", "shaft")


def test_bolts_of_a_bracket_that_is_off_are_out_already() -> None:
    """A shared bolt is told of where its bracket came off before; a flange is undone once."""
    holes = (Hole(1, (0.5, 0.1)), Hole(2, (0.5, 0.9), shared_with="tube bracket", shared_part="tube"))
    tree = small_box(
        held("tube"),
        held("bell", "tube", flange="bell-bolts"),
        held("guard", "bell", flange="bell-bolts"),
        flanges=[Flange("bell-bolts", "Bell", "3/8-16", holes)],
    )
    steps = {step.part.slug: step for step in strip_plan(tree, ["guard"]).steps}
    assert steps["bell"].out_already == (2,)
    assert steps["bell"].flange is not None
    assert steps["guard"].flange is None


def test_a_target_behind_a_hidden_bolt() -> None:
    """The centre support of box A is let go from below: the valve body comes off before it."""
    tree = load_box("box-a").parts_tree
    assert tree is not None
    plan = strip_plan(tree, ["low one-way clutch"])
    (hole,) = tree.flanges["centre-support-bolt"].holes
    assert hole.hidden is not None
    assert plan.order.index("valve-body") < plan.order.index("centre-support")
    assert plan.order[-1] == "low-one-way-clutch"


def test_suspected_parts_together_cost_less_than_one_by_one() -> None:
    """Three suspects of box A: one strip, the way in counted once."""
    tree = load_box("box-a").parts_tree
    assert tree is not None
    suspects = ["pump outer ring", "direct plates", "governor"]
    alone = [strip_plan(tree, [name]).minutes for name in suspects]
    together = strip_plan(tree, suspects)
    assert max(alone) < together.minutes < sum(alone) - 200
    assert together.targets == ("front-pump", "direct-pack", "governor")
    assert all(step.wanted == (step.part.slug in together.targets) for step in together.steps)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("pump outer ring", ("front-pump",)),
        ("the Front Pump", ("front-pump",)),
        ("bonded sealing washers under the pump bolts", ("front-pump",)),
        ("sump", ("pan",)),
        ("forward lining plates", ("forward-pack",)),
        ("2-3 shift spring", ("valves",)),
        ("valve body", ("valve-body",)),
        ("low-reverse-band-faulty", ("low-reverse-servo", "low-reverse-band")),
        ("centre-support-bolt", ("centre-support",)),
    ],
)
def test_targets_in_plain_words(said: str, meant: tuple[str, ...]) -> None:
    """Parts, seals, springs, flanges and seats of faults by what they are called."""
    tree = load_box("box-a").parts_tree
    assert tree is not None
    assert strip_plan(tree, [said]).targets == meant


@pytest.mark.parametrize(
    ("said", "what", "remedy"),
    [
        ("pump outter ring", "no part of this box is called 'pump outter ring'", "pump outer ring"),
        ("clutch plates", "could be several", "Forward plates; Direct plates; Intermediate plates"),
        ("", "no part is named", "such as"),
    ],
)
def test_an_unknown_target_names_the_nearest(said: str, what: str, remedy: str) -> None:
    """A name that is no part's, or several parts', is refused with what it could be."""
    tree = load_box("box-a").parts_tree
    assert tree is not None
    with pytest.raises(FindingError) as refused:
        strip_plan(tree, [said])
    assert what in refused.value.what
    assert remedy in str(refused.value.remedy)


def test_a_part_that_never_comes_off_is_refused_by_name() -> None:
    """Two parts that wait for each other, made without the file's own check."""
    tree = small_box(held("drum", "ring"), held("ring", "drum"))
    with pytest.raises(FindingError, match="Drum never comes off"):
        strip_plan(tree, ["drum"])
