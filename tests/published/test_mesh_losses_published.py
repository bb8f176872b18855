"""Efficiency of a single planetary set in its six modes, against the classical formulas.

With k = Zr/Zs and the basic efficiency e of the set with its carrier held, the table of H. E. Merritt, *Gear
Trains*, 1947, and H. W. Müller, *Epicyclic Drive Trains*, 1982 (both from memory) gives for each pair of
driving and driven member the efficiency below.
"""

from __future__ import annotations

import pytest

from bellhousing.geartrain.layout import Brake, GearTrain, PlanetarySet
from bellhousing.geartrain.losses import solve_with_losses

SET = ("sun", "ring", "carrier")


@pytest.mark.from_memory("H. E. Merritt, Gear Trains, and H. W. Müller, Epicyclic Drive Trains")
@pytest.mark.parametrize(("sun", "ring"), [(30, 66), (36, 78), (16, 64)])
@pytest.mark.parametrize("e", [0.96, 0.98])
@pytest.mark.parametrize(
    ("driving", "held", "driven", "formula"),
    [
        ("sun", "ring", "carrier", lambda k, e: (1 + k * e) / (1 + k)),
        ("carrier", "ring", "sun", lambda k, e: (1 + k) * e / (e + k)),
        ("ring", "sun", "carrier", lambda k, e: (k + e) / (k + 1)),
        ("carrier", "sun", "ring", lambda k, e: (1 + k) * e / (1 + k * e)),
        ("sun", "carrier", "ring", lambda k, e: e),
        ("ring", "carrier", "sun", lambda k, e: e),
    ],
)
def test_six_modes(
    sun: int, ring: int, e: float, driving: str, held: str, driven: str, formula: object
) -> None:
    """Each mode of a simple set, driving; and the same way round on the overrun of the inverse train."""
    assert callable(formula)
    expected = formula(ring / sun, e)
    train = GearTrain(driving, driven, SET, (PlanetarySet("set", *SET, sun, ring),), (Brake("hold", held),))
    assert solve_with_losses(train, ["hold"], e).efficiency == pytest.approx(expected, abs=1e-12)
    back = GearTrain(driven, driving, SET, train.sets, train.elements)
    assert solve_with_losses(back, ["hold"], e, drive=-1).efficiency == pytest.approx(expected, abs=1e-12)
