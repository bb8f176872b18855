"""How much one thing tells of another: entropy and mutual information in bits."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def entropy(chances: FloatArray) -> FloatArray:
    """Entropy along the last axis, H = -sum p log2 p, with 0 log 0 = 0 [bit].

    Source: C. E. Shannon, A mathematical theory of communication, 1948, section 6.
    """
    safe = np.where(chances > 0.0, chances, 1.0)
    return np.asarray(-(chances * np.log2(safe)).sum(axis=-1))


def mutual_information(joint: FloatArray) -> float:
    """Mutual information of rows and columns of a joint table, I = H(column) - H(column | row) [bit].

    Every row must have some chance. Never below zero, whatever rounding does.

    Source: C. E. Shannon, A mathematical theory of communication, 1948, sections 6 and 12.
    """
    rows = joint.sum(axis=1)
    given = entropy(joint / rows[:, None])
    return max(0.0, float(entropy(joint.sum(axis=0)) - rows @ given))
