"""How much one thing tells of another: entropy and mutual information in bits."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def entropy(chances: FloatArray) -> FloatArray:
    """Entropy along the last axis, H = -sum p log2 p, with 0 log 0 = 0 [bit].

    Source: C. E. Shannon, A mathematical theory of communication, 1948, section 6.
    """
    safe = np.where(chances > 0.0, chances, 1.0)
    return np.asarray(-(chances * np.log2(safe)).sum(axis=-1))


def mutual_information_of_tests(joint: FloatArray, starts: Sequence[int]) -> FloatArray:
    """Mutual information [bit] of the rows with each of several tests whose outcomes stand side by side.

    `joint` is (rows, outcomes of all tests), `starts` the first column of each test; each test's columns sum
    to the same chance of each row. I = sum of p log2 (p / (row * column)); never below zero,
    whatever rounding does.

    Source: C. E. Shannon, A mathematical theory of communication, 1948, sections 6 and 12.
    """
    each = joint * np.log2(np.where(joint > 0.0, joint, 1.0))
    columns = joint.sum(axis=0)
    per_column = each.sum(axis=0) - columns * np.log2(np.where(columns > 0.0, columns, 1.0))
    rows = joint[:, starts[0] : starts[1] if len(starts) > 1 else None].sum(axis=1)
    of_rows = float((rows * np.log2(np.where(rows > 0.0, rows, 1.0))).sum())
    return np.maximum(0.0, np.add.reduceat(per_column, np.asarray(starts)) - of_rows)
