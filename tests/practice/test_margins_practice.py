"""Common practice, no source: the trade's example of a forward pack, and what it has in hand at stall."""

from __future__ import annotations

import pytest

from bellhousing.friction.capacity import capacity_margin
from bellhousing.friction.plate_clutch import apply_force, plate_clutch_torque
from bellhousing.tasks.margins import margins_of_box

LB, INCH, PSI, LB_FT = 4.4482216, 0.0254, 6894.757, 1.3558179


@pytest.mark.parametrize(("line", "torque"), [(40, 194), (65, 358), (110, 652), (150, 915)])
def test_a_pack_of_ten_faces(line: float, torque: float) -> None:
    """24 in², return springs of 250 lb, 2.73 in, friction 0.12."""
    force = apply_force(line * PSI, 24 * INCH**2, 250 * LB)
    held = plate_clutch_torque(10, 0.12, force, 2.73 * INCH) / LB_FT
    assert float(held) == pytest.approx(torque, abs=1.0)


def test_what_it_has_in_hand_at_stall() -> None:
    """915 lb ft against twice 400."""
    assert float(capacity_margin(915.0, 800.0)) == pytest.approx(1.14, abs=0.005)


def test_the_forward_clutch_is_the_least_in_hand_of_box_a() -> None:
    """First at stall: a good tenth in hand, and 20 psi lost at full load is slip."""
    answer = margins_of_box("A")
    first = next(gear for gear in answer.gears if gear.gear == "first")
    group = next(group for group in first.groups if "forward clutch" in group.elements)
    assert 1.05 < group.margin < 1.35
    assert group.slips_below is not None
    assert first.line - 30.0 < group.slips_below < first.line
    assert answer.text.startswith("Least in hand at full throttle: forward clutch in first")
