"""How heat parts between lining and steel, by conduction step by step."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import solve_banded

from bellhousing.friction.linings import FACINGS, STEEL, Facing, heat_into_steel

CELLS, SECONDS, STEPS = 400, 0.5, 400


def stored(bodies: tuple[Facing, Facing]) -> tuple[float, float]:
    """Heat that has gone into each of two thick bodies rubbing on one another [J/m²], by implicit steps."""
    volumes = [one.density * one.specific_heat for one in bodies]
    # Each is six times as deep as the heat comes in the time.
    deep = [6.0 * np.sqrt(one.conductivity * SECONDS / c) for one, c in zip(bodies, volumes, strict=True)]
    holds = np.repeat([c * d / CELLS for c, d in zip(volumes, deep, strict=True)], CELLS)
    resists = np.repeat([d / CELLS / one.conductivity for one, d in zip(bodies, deep, strict=True)], CELLS)
    between = 2.0 / (resists[:-1] + resists[1:])
    step = SECONDS / STEPS
    banded = np.zeros((3, 2 * CELLS))
    banded[0, 1:], banded[2, :-1] = -between * step, -between * step
    banded[1] = holds
    banded[1, :-1] += between * step
    banded[1, 1:] += between * step
    # The rubbing faces are the two cells in the middle; each is heated by half, and they share it at once.
    heated = np.zeros(2 * CELLS)
    heated[CELLS - 1 : CELLS + 1] = 0.5e6 * step
    warm = np.zeros(2 * CELLS)
    for _ in range(STEPS):
        warm = solve_banded((1, 1), banded, holds * warm + heated)
    heat = holds * warm
    return float(heat[:CELLS].sum()), float(heat[CELLS:].sum())


@pytest.mark.beside("conduction in two thick bodies, step by step", code="friction.linings.heat_into_steel")
@pytest.mark.parametrize("lining", sorted(FACINGS))
def test_the_share_of_the_steel_step_by_step(lining: str) -> None:
    """Of all the heat put in between, what the steel holds half a second later, to 4 in 1000."""
    steel, other = stored((STEEL, FACINGS[lining]))
    assert steel + other == pytest.approx(1e6 * SECONDS, rel=1e-6)
    assert heat_into_steel(lining) == pytest.approx(steel / (steel + other), rel=0.004)
