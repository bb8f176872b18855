"""Methods of the reading of logs against published figures."""

from __future__ import annotations

import numpy as np
import pytest

from bellhousing.road.logs.change_points import departure, tabular_cusum
from tests.published.sources import MONTGOMERY

published = pytest.mark.published

# Montgomery and Runger, Applied Statistics and Probability for Engineers, example on the tabular cumulative
# sum: viscosities of 20 batches, target 99, K = 1, H = 10.
VISCOSITIES = np.array(
    [102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1,
     101.3, 98.7, 101.1, 98.4, 97.0, 96.7, 100.3, 101.4, 97.2, 101.0]
)  # fmt: skip


@published(
    quantity="tabular cumulative sums",
    source=MONTGOMERY,
    place="ex. 16-6, table 16-8",
    code="road.logs.change_points.tabular_cusum",
)
def test_tabular_cumulative_sums() -> None:
    """Both sums as printed in the book's table, and no signal at H = 10."""
    high, low = tabular_cusum(VISCOSITIES, 99.0, 1.0)
    assert high[[0, 10, 17]] == pytest.approx([2.0, 1.3, 1.7], abs=1e-9)
    assert low[[1, 2, 3, 15]] == pytest.approx([3.2, 2.9, 2.5, 2.3], abs=1e-9)
    assert max(high.max(), low.max()) < 10.0
    assert departure(VISCOSITIES - 99.0, 1.0, allowance=1.0, decision=10.0) is None


@pytest.mark.beside("a figure of our own")
def test_departure_is_where_the_sum_was_last_nought() -> None:
    """A series that leaves its level is dated to the sample at which it does."""
    values = np.concatenate([np.array([0.3, -0.4, 0.2, -0.1]), np.full(6, -4.0)])
    assert departure(values, 1.0, allowance=1.0, decision=5.0) == 4
