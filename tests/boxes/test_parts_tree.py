"""What holds what in a box, as its file says it."""

from __future__ import annotations

import re

import pytest

from bellhousing.boxes.load import box_from_bytes, load_box, shipped_text
from bellhousing.boxes.parts_tree import PartsTree
from bellhousing.errors import BoxFileError

HEAD = "schema: 1\nname: Trial\nslug: trial\nsource: made up\n"
STRIP = """strip:
  identification: [casting number, tag number]
  flanges:
    pump-ring:
      thread: 5/16-18
      length: 1.25 in
      washer: bonded sealing washer
      washers_one_use: true
      torque: {value: 18 lb ft, source: the manual}
      sequence: [1, 3, 2]
      steps: 2
      jack_holes: {count: 2, thread: 3/8-16}
      outline: round
      holes:
        - {at: [0.5, 0.05]}
        - {at: [0.9, 0.7], length: 1.5 in, washer: none}
        - {at: [0.1, 0.7], shared_with: tube bracket, shared_part: tube}
    support-bolt:
      holes: [{at: [0.5, 0.5], hidden: under the valve body, behind: valve-body}]
  parts:
    tube: {minutes: 6 min}
    pan: {minutes: 30 min, where: in-car}
    valve-body:
      after: [pan]
      minutes: 25 min
      check_balls: [{pocket: 1, name: reverse, size: 0.25 in}]
    pump:
      name: Front pump
      after: [[pan, tube]]
      flange: pump-ring
      minutes: 35 min
      weight: 9 kg
      seals: {outer-ring: {kind: o-ring}, washers: {kind: sealing-washer, count: 2}}
      measure_before: [{measure: front-end-play, why: it is lost once the pump moves}]
      refit:
        soaked: 30 min
        gates:
          end-play: {measure: front-end-play, hold: true}
          turns-free: {why: a bound gear breaks}
    support:
      after: [pump]
      flange: support-bolt
  final_gates:
    gap: {window: 1.5–5 mm, method: feeler}
measurements:
  front-end-play: 0.006–0.018 in
"""


def tree(text: str = STRIP) -> PartsTree:
    """The parts tree of a file with this section."""
    found = box_from_bytes((HEAD + text).encode()).parts_tree
    assert found is not None
    return found


def test_figures_are_read_into_si_and_defaults_hold() -> None:
    """Lengths, torque, times; a hole has its flange's length and washer unless it says otherwise."""
    flange = tree().flanges["pump-ring"]
    assert [hole.number for hole in flange.holes] == [1, 2, 3]
    assert [hole.length for hole in flange.holes] == pytest.approx([0.03175, 0.0381, 0.03175])
    assert [hole.number for hole in flange.washers] == [1, 3]
    assert flange.torque == pytest.approx(24.405, abs=1e-3)
    assert (flange.torque_unit, flange.torque_source) == ("lb ft", "the manual")
    assert flange.holes[2].shared_part == "tube"
    assert len(flange.outline) > 10
    pump = tree().parts["pump"]
    assert (pump.minutes, pump.weight, pump.refit.soaked) == (35.0, 9.0, 1800.0)
    assert [(seal.slug, seal.name, seal.count) for seal in pump.seals] == [
        ("outer-ring", "outer ring", 1),
        ("washers", "washers", 2),
    ]
    assert pump.after == (("pan", "tube"),)


def test_what_hides_a_bolt_comes_off_first() -> None:
    """The cover of a hidden bolt is counted among what must be off, though `after` does not name it."""
    assert tree().parts["support"].after == (("pump",), ("valve-body",))


def test_a_gate_takes_the_window_of_what_it_measures() -> None:
    """Its own window goes first; without measure, unit and window it is somebody's word."""
    end_play, turns = tree().parts["pump"].refit.gates
    assert (end_play.kind, end_play.unit, end_play.hold) == ("number", "in", True)
    assert end_play.window is not None
    assert end_play.window.text == "0.006–0.018 in"
    assert (turns.kind, turns.window) == ("check", None)
    (gap,) = tree().final_gates
    assert (gap.kind, gap.unit) == ("number", "mm")


def test_unknown_stays_unknown() -> None:
    """What is not written, or written unknown, is None and not a guess."""
    text = STRIP.replace("{value: 18 lb ft, source: the manual}", "unknown").replace("weight: 9 kg", "")
    found = tree(text)
    assert found.flanges["pump-ring"].torque is None
    assert found.parts["pump"].weight is None
    assert found.parts["tube"].flange is None
    assert box_from_bytes(HEAD.encode()).parts_tree is None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("      thread: 5/16", "      tread: 5/16", r".*unknown key: did you mean `thread`"),
        ("weight: 9 kg", "wieght: 9 kg", r".*unknown key: did you mean `weight`"),
        ("hold: true", "hod: true", r".*unknown key: did you mean `hold`"),
        ("weight: 9 kg", "weight: 9 psi", r"strip.parts.pump.weight"),
        ("minutes: 35 min", "minutes: 35", r".*has no unit"),
        ("flange: pump-ring", "flange: pump-rim", r".*no flange is called .*`pump-ring`"),
        ("after: [pump]", "after: [pomp]", r".*no part is called `pomp`: did you mean `pump`"),
        ("[[pan, tube]]", "[[pan, tub]]", r".*no part is called `tub`: did you mean `tube`"),
        ("behind: valve-body", "behind: valves", r".*no part is called `valves`"),
        ("shared_part: tube", "shared_part: pipe", r".*no part is called `pipe`"),
        ("sequence: [1, 3, 2]", "sequence: [1, 4, 2]", r".*there is no hole 4"),
        ("sequence: [1, 3, 2]", "sequence: [1, 3, 3]", r".*hole 3 is tightened twice"),
        ("sequence: [1, 3, 2]", "sequence: [1, 3]", r".*hole 2 is never tightened"),
        ("[0.9, 0.7]", "[0.9, 1.7]", r".*run from 0 to 1"),
        ("[0.9, 0.7]", "[0.5, 0.06]", r".*lies on hole 1"),
        ("measure: front-end-play, why", "measure: front-endplay, why", r"did you mean `front-end-play`"),
        ("{window: 1.5–5 mm", "{unit: psi, window: 1.5–5 mm", r".*must be in psi"),
        ("flange: support-bolt", "note: loose", r".*no part is held by this flange"),
        ("washers: {kind: sealing-washer", "washers: {kind: wahser", r".*must be"),
        ("hold: true", "hold: maybe", r".*true or false"),
    ],
)
def test_faults_are_refused_with_their_line(old: str, new: str, said: str) -> None:
    """Each fault names its line and what would be right."""
    assert old in STRIP
    changed = STRIP.replace(old, new)
    with pytest.raises(BoxFileError) as refused:
        tree(changed)
    problems = [problem for problem in refused.value.problems if re.search(said, problem)]
    assert problems, refused.value.problems
    (line,) = re.findall(r"^line (\d+):", problems[0])
    key = "support-bolt:" if "held by this flange" in said else new
    assert key in (HEAD + changed).splitlines()[int(line) - 1]


def test_a_cycle_is_refused_by_name() -> None:
    """Parts that wait for each other are named in turn, with the line; a way round lets them pass."""
    cyclic = STRIP.replace("pan: {minutes", "pan: {after: [support], minutes")
    with pytest.raises(BoxFileError) as refused:
        tree(cyclic)
    assert list(refused.value.problems) == [
        "line 26: strip.parts.pan.after: nothing of these can come off first: `pan` comes off after "
        "`support`, `support` comes off after `valve-body`, `valve-body` comes off after `pan`"
    ]
    assert tree(STRIP.replace("pan: {minutes", "pan: {after: [[support, tube]], minutes")).parts


@pytest.mark.parametrize("name", ["box-a", "box-b"])
def test_shipped_trees_are_whole(name: str) -> None:
    """From the car down to the bare case, with all that has to come back together."""
    box = load_box(name)
    found = box.parts_tree
    assert found is not None
    assert 45 <= len(found.parts) <= 65
    assert found.source == "invented"
    for flange in found.flanges.values():
        assert flange.torque is not None
        assert flange.torque_source.startswith(("invented", "common practice"))
        assert not flange.sequence or len(flange.sequence) == len(flange.holes) > 3
    balls = [ball.pocket for part in found.parts.values() for ball in part.check_balls]
    assert sorted(balls) == list(range(1, len(balls) + 1))
    assert 5 <= len(balls) <= 9
    holes = [hole for flange in found.flanges.values() for hole in flange.holes]
    assert any(hole.hidden for hole in holes)
    assert sum(hole.shared_with is not None for hole in holes) >= 5
    pump = found.flanges["pump-ring"]
    washers = next(s for s in found.parts["front-pump"].seals if s.slug == "pump-bolt-washers")
    assert pump.jack_holes is not None
    assert len(pump.washers) == len(pump.holes) == washers.count
    assert all(part.minutes > 0 and part.refit.minutes > 0 for part in found.parts.values() if part.tools)
    assert all(gate.window is not None for _, gate in found.gates() if gate.kind == "number")
    slugs = {gate.slug for _, gate in found.gates()}
    assert {"cooler-flow-measured", "fluid-level-hot", "pan-torque-after-heat", "level-after-heat"} <= slugs
    assert sum(slug.startswith("hub-step-") for slug in slugs) == 3
    assert "parts tree" not in " ".join(box.what_it_cannot_do())


@pytest.mark.parametrize("name", ["box-a", "box-b"])
def test_everything_of_a_shipped_box_comes_off_before_the_bare_case(name: str) -> None:
    """What must be off names every bench part that is not a piece of another."""
    found = load_box(name).parts_tree
    assert found is not None
    reached, waiting = set(), ["case"]
    while waiting:
        part = found.parts[waiting.pop()]
        if part.slug not in reached:
            reached.add(part.slug)
            waiting += [other for group in part.after for other in group]
    left = [part for part in found.parts.values() if part.slug not in reached and part.inside is None]
    assert {part.slug for part in left if part.where == "bench"} <= BESIDE_THE_CASE


BESIDE_THE_CASE = {"pump-hub-rings", "front-washer", "intermediate-one-way-clutch", "low-one-way-clutch"}


@pytest.mark.parametrize("blank", ["blank", "blank-four-speed"])
def test_the_blanks_example_loads(blank: str) -> None:
    """The commented strip of the blank, with its marks taken away, is a tree; without it the box says so."""
    text = shipped_text(blank)
    head, rest = text.split("# strip:", 1)
    example, after = rest.split("\n\n", 1)
    typed = head + "strip:" + re.sub(r"^# ", "", example, flags=re.MULTILINE) + "\n\n" + after
    found = box_from_bytes(typed.encode()).parts_tree
    assert found is not None
    assert found.flanges["pump-ring"].sequence == (1, 3, 2)
    assert "No parts tree" in " ".join(load_box(blank).what_it_cannot_do())
