"""The two array types of this room: every parameter is one number or one number per sample."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Values = float | Array
