"""The least-squares fit behind boxes known by their readings, against certified nonlinear fits.

Source: NIST Statistical Reference Datasets, nonlinear regression (www.itl.nist.gov/div898/strd/nls), data
sets Misra1a, DanWood, Rat43, MGH09 and Thurber: data, starting values 2, certified parameters, standard
deviations and residual sums of squares. The data of DanWood and Rat43 are typed from memory; their certified
sums of squares would not come out with a figure wrong.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from _pytest.mark.structures import ParameterSet
from numpy.typing import NDArray
from scipy.optimize import least_squares as outside_fit

from bellhousing.road.least_squares import least_squares
from tests.published.sources import STRD

published = pytest.mark.published

FloatArray = NDArray[np.float64]

TYPED_FROM_MEMORY = ("DanWood", "Rat43")


@dataclass(frozen=True)
class Problem:
    """A certified fit: y over x, the model with parameters along the last axis, and what is certified."""

    x: tuple[float, ...]
    y: tuple[float, ...]
    model: Callable[[FloatArray, list[FloatArray]], FloatArray]
    start: tuple[float, ...]
    certified: tuple[float, ...]
    sum_of_squares: float
    deviations: tuple[float, ...] = ()

    def residuals(self, points: FloatArray) -> FloatArray:
        """Residuals (k, m) of parameter vectors (k, p)."""
        columns = [points[:, i, None] for i in range(points.shape[1])]
        return np.asarray(self.model(np.array(self.x), columns) - np.array(self.y))


PROBLEMS = {
    "Misra1a": Problem(
        (77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0),
        (10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78),
        lambda x, b: b[0] * (1.0 - np.exp(-b[1] * x)),
        (250.0, 5e-4),
        (238.94212918, 5.5015643181e-4),
        0.12455138894,
        (2.7070075241, 7.2668688436e-6),
    ),
    "DanWood": Problem(
        (1.309, 1.471, 1.490, 1.565, 1.611, 1.680),
        (2.138, 3.421, 3.597, 4.340, 4.882, 5.660),
        lambda x, b: b[0] * x ** b[1],
        (0.7, 4.0),
        (0.76886226176, 3.8604055871),
        4.3173084083e-3,
    ),
    "Rat43": Problem(
        tuple(float(x) for x in range(1, 16)),
        (16.08, 33.83, 65.80, 97.20, 191.55, 326.20, 386.87, 520.53, 590.03, 651.92, 724.93, 699.56, 689.96,
         637.56, 717.41),
        lambda x, b: b[0] / (1.0 + np.exp(b[1] - b[2] * x)) ** (1.0 / b[3]),
        (700.0, 5.0, 0.75, 1.3),
        (699.64151270, 5.2771253025, 0.75962938329, 1.2792483859),
        8786.4049080,
    ),
    "MGH09": Problem(
        (4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625),
        (0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246),
        lambda x, b: b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]),
        (0.25, 0.39, 0.415, 0.39),
        (0.19280693458, 0.19128232873, 0.12305650693, 0.13606233068),
        3.0750560385e-4,
        (1.1435312227e-2, 0.19633220911, 8.0842031232e-2, 9.0025542308e-2),
    ),
    "Thurber": Problem(
        (-3.067, -2.981, -2.921, -2.912, -2.840, -2.797, -2.702, -2.699, -2.633, -2.481, -2.363, -2.322,
         -1.501, -1.460, -1.274, -1.212, -1.100, -1.046, -0.915, -0.714, -0.566, -0.545, -0.400, -0.309,
         -0.109, -0.103, 0.010, 0.119, 0.377, 0.790, 0.963, 1.006, 1.115, 1.572, 1.841, 2.047, 2.200),
        (80.574, 84.248, 87.264, 87.195, 89.076, 89.608, 89.868, 90.101, 92.405, 95.854, 100.696, 101.060,
         401.672, 390.724, 567.534, 635.316, 733.054, 759.087, 894.206, 990.785, 1090.109, 1080.914, 1122.643,
         1178.351, 1260.531, 1273.514, 1288.339, 1327.543, 1353.863, 1414.509, 1425.208, 1421.384, 1442.962,
         1464.350, 1468.705, 1447.894, 1457.628),
        lambda x, b: (b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3)
        / (1.0 + b[4] * x + b[5] * x**2 + b[6] * x**3),
        (1300.0, 1500.0, 500.0, 75.0, 1.0, 0.4, 0.05),
        (1288.1396800, 1491.0792535, 583.23836877, 75.416644291, 0.96629502864, 0.39797285797,
         0.049727297349),
        5642.7082397,
        (4.6647963344, 39.571156086, 28.698696102, 5.5675370270, 3.1333340687e-2, 1.4984928198e-2,
         6.5842344623e-3),
    ),
}  # fmt: skip


def certified(*checks: tuple[str, str, tuple[int, ...]]) -> list[ParameterSet]:
    """The data sets, each with the marks of its checks; those typed from memory are marked so."""
    made = []
    for name in PROBLEMS:
        place, memory = f"data set {name}", name in TYPED_FROM_MEMORY
        marks = [
            published(quantity=quantity, source=STRD, place=place, code=code, figures=figures)
            for quantity, code, figures in checks
        ]
        made.append(pytest.param(name, marks=[pytest.mark.from_memory(place)] if memory else marks))
    return made


@pytest.mark.parametrize(
    "name",
    certified(
        ("parameters of a least-squares fit", "road.least_squares.least_squares:parameters", (0,)),
        ("sum of squares of a least-squares fit", "road.least_squares.LeastSquares.sum_of_squares", (1,)),
    ),
)
def test_certified_parameters(name: str) -> None:
    """Parameters agree with the certified ones to 2e-6 and the sum of squares to 1e-8."""
    problem = PROBLEMS[name]
    found = least_squares(problem.residuals, np.array(problem.start))
    assert found.parameters == pytest.approx(problem.certified, rel=2e-6)
    assert found.sum_of_squares == pytest.approx(problem.sum_of_squares, rel=1e-8)


@pytest.mark.parametrize(
    "name",
    [
        entry
        for entry in certified(
            ("standard deviations of a least-squares fit", "road.least_squares.LeastSquares.covariance", (0,))
        )
        if PROBLEMS[str(entry.values[0])].deviations
    ],
)
def test_certified_standard_deviations(name: str) -> None:
    """The covariance times the residual variance gives the certified standard deviations to 1e-5."""
    problem = PROBLEMS[name]
    found = least_squares(problem.residuals, np.array(problem.start))
    variance = found.sum_of_squares / (len(problem.y) - len(problem.start))
    made = np.sqrt(np.diag(found.covariance()) * variance)
    assert made == pytest.approx(problem.deviations, rel=1e-5)


@pytest.mark.other_program("scipy")
@pytest.mark.parametrize("name", PROBLEMS)
def test_an_outside_fit_agrees(name: str) -> None:
    """The library scipy, from the same start, ends at the same parameters."""
    problem = PROBLEMS[name]
    found = least_squares(problem.residuals, np.array(problem.start))
    outside = outside_fit(
        lambda x: problem.residuals(x[None])[0],
        np.array(problem.start),
        jac="3-point",
        x_scale="jac",
        xtol=1e-13,
        ftol=1e-14,
        gtol=1e-14,
        max_nfev=4000,
    )
    assert found.parameters == pytest.approx(outside.x, rel=2e-6)
