"""Sentences of the trade that once meant something else here: what they say, and what they must not say."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from bellhousing.quantities.units import unit
from bellhousing.words.model import FindingShape, Understood
from bellhousing.words.understand import understand
from bellhousing.words.vocabulary import Vocabulary

Shapes = Mapping[str, FindingShape]
THREE = [
    ("68 psi at idle but it drops away to 40 over 1800 rpm",
     {"line-drive-idle 68", "needle-as-revs-rise falls-away"}),
    ("level an inch and a half over full, hot", {"fluid-level over"}),
    ("dipstick an inch over the mark, hot and idling", {"fluid-level over"}),
    ("level a quart down", {"fluid-level low"}),
    ("put it in neutral and it still creeps", {"dead-ranges drives-in-neutral"}),
    ("line pressure fine in all ranges", {"line-drive-idle normal", "line-reverse-idle normal"}),
    ("line 66 at idle fine, reverse fine", {"line-drive-idle 66", "line-reverse-idle normal"}),
    ("no leaks, wet at the rear",
     {"front-drips dry", "middle-drips dry", "rear-drips parked-only|both|running-only"}),
    ("fluid bright red, no smell", {"fluid-condition red"}),
    ("modulator holds its vacuum fine", {"modulator-holds-vacuum holds"}),
    ("modulator holds vacuum no trouble, hose dry",
     {"modulator-holds-vacuum holds", "fluid-in-modulator-hose dry"}),
    ("17 inches at the modulator, drops and comes straight back",
     {"modulator-vacuum-idle 17", "modulator-vacuum-response quick"}),
    ("1-2 soft and flares when cold", {"shift-feel-12 slides-or-flares"}),
    ("pulls away in second, no first gear", {"upshift-12-light absent"}),
    ("nothing on the test lamp at the kickdown wire, pedal down", {"kickdown-feed dead"}),
    ("slips after ten miles", {"complaint-temperature worse-hot"}),
    ("leaks running and parked", {"complaint-kind leak"}),
    ("takes 12 seconds before it will move on the first start", {"first-engagement-drive-cold 12"}),
    ("no drive for 15 seconds on the first start", {"first-engagement-drive-cold 15"}),
    ("drives nicely", set()),
    ("line falls from 88 to 60 psi", set()),
    ("line drops from 62 to 44 when hot", {"line-drive-idle 44", "line-hot-against-cold 70.97"}),
    ("cruises well at 55", set()),
    ("radiator losing water", set()),
    ("won't go into reverse unless you rock it", set()),
    ("no bother", set()),
    ("fluid foaming, stick full of bubbles", {"fluid-bubbles froth"}),
    ("second gear fine", set()),
    ("no drive forward, reverse fine", {"dead-ranges no-drive-forward"}),
    ("no leak at the modulator", {"joint-modulator dry"}),
    ("whines in first and second, quiet in top", {"whine-in-low-gears whine"}),
    ("line 66 idle reverse 112", {"line-drive-idle 66", "line-reverse-idle 112"}),
    ("wet at the pan, otherwise dry", {"joint-pan wet"}),
    ("no leaks anywhere except at the rear", set()),
    ("bone dry underneath the front, drips in the middle, nothing at the back",
     {"spot-front none", "spot-rear none", "middle-drips parked-only|both|running-only"}),
    ("fluid level is correct, colour is red, and no smell", {"fluid-level right", "fluid-condition red"}),
    ("lever feels sloppy but the detents line up", {"selector-gate play"}),
    ("no engine braking in second range, low ok",
     {"engine-braking-second missing", "engine-braking-low clear"}),
    ("2-3 flares, 1-2 ok", {"shift-feel-23 slides-or-flares", "shift-feel-12 clean"}),
    ("hose off 1000 D 155", {"line-drive-hose-off 155"}),
    ("vacuum at the modulator 430 mm", {"modulator-vacuum-idle 430"}),
    ("kickdown nil", {"kickdown none"}),
    ("vibrates with engine speed not road speed", {"vibration with-engine-speed"}),
    ("floored it at fifty and nothing happened", {"kickdown none"}),
    ("red fluid in the bellhousing, smells of gearbox oil", {"front-fluid-kind gearbox-fluid"}),
    ("line in reverse hot idle a hundred and two psi", {"line-reverse-idle 102"}),
    ("drops into second on the coast at fourteen", {"coast-down-32 14"}),
    ("comes up to 65 at 1000 rpm", {"line-drive-1000 65"}),
    ("spot under the tail", {"spot-rear drops|puddle"}),
    ("lvl ok hot", {"fluid-level right"}),
    ("nothing when hot", set()),
    ("burnt smell: yes", {"fluid-condition black-and-burnt"}),
]  # fmt: skip
FOUR = [
    ("no slipping, reverse fine", {"slip-reverse none"}),
    ("both governor pressures right", {"g1-20 normal", "g1-30 normal", "g2-30 normal"}),
    ("G1 and G2 right", {"g1-20 normal", "g1-30 normal", "g2-30 normal"}),
    ("TV rod a sixteenth too short on the gauge pin", {"rod-turned-a-little yes"}),
    ("throttle valve rod set right, no play", {"rod-turned-a-little no", "linkage-pin-play no"}),
    ("TV linkage set right", {"rod-turned-a-little no"}),
    ("TV gauge stays at 60 psi whatever you do", {"tv-closed 60", "tv-full 60"}),
    ("TV pressure 3 closed 31 half 64 full", {"tv-closed 3", "tv-full 64"}),
    ("tv pressure 4 closed and 66 flat out", {"tv-closed 4", "tv-full 66"}),
    ("both governor valves drop through", {"first-stage-in-the-hand no", "second-stage-in-the-hand no"}),
    ("front adjuster two and a half turns from the bottom", {"front-adjuster-turns yes"}),
    ("stick reads a quart over cold, before starting",
     {"level-rise-after-standing one-to-two-inches|over-two-inches"}),
    ("line falls from 88 to 62 psi at 28 mph", {"line-as-road-speed-rises dips"}),
    ("front clutch just hisses under air, no thud", {"air-front-and-rear-clutch hisses"}),
    ("never drops to third, hangs on in top", set()),
    ("drops off 25 psi when hot", set()),
]  # fmt: skip


def _said(item: Understood) -> str:
    if item.value is not None and not item.states:
        return f"{item.finding} {unit(item.value.unit).from_si(item.value.value):.4g}"
    return f"{item.finding} {'|'.join(item.states) or item.word}"


@pytest.mark.parametrize(("text", "wanted"), THREE, ids=[text[:60] for text, _ in THREE])
def test_a_three_speed_sentence_says_this_and_no_more(
    text: str, wanted: set[str], findings: Shapes, vocabulary: Vocabulary
) -> None:
    """What is not sure stays a note: a wrong finding is worse."""
    assert {_said(item) for item in understand(text, findings, vocabulary).found} == wanted


@pytest.mark.parametrize(("text", "wanted"), FOUR, ids=[text[:60] for text, _ in FOUR])
def test_a_four_speed_sentence_says_this_and_no_more(
    text: str, wanted: set[str], four_speed: Shapes, vocabulary: Vocabulary
) -> None:
    """What is not sure stays a note: a wrong finding is worse."""
    assert {_said(item) for item in understand(text, four_speed, vocabulary).found} == wanted
