"""Conjugate counts against worked examples of the textbook and an independent library.

Gelman, Carlin, Stern, Dunson, Vehtari and Rubin, Bayesian Data Analysis, 3rd edition, 2014: section 2.4 (437
girls among 980 births with placenta previa, table 2.1), section 3.4 (a poll of 727, 583, 137). From memory.
"""

from __future__ import annotations

import pytest
from scipy import stats

from bellhousing.diagnosis.learning import beta_spread, dirichlet_mean
from tests.published.sources import GELMAN

published = pytest.mark.published

GIRLS, BIRTHS = 437, 980


@pytest.mark.from_memory("A. Gelman et al., Bayesian Data Analysis, 3rd ed., table 2.1")
@pytest.mark.parametrize(
    ("prior_mean", "prior_cars", "printed"),
    [
        (0.5, 2.0, 0.446),
        (0.485, 2.0, 0.446),
        (0.485, 5.0, 0.446),
        (0.485, 10.0, 0.446),
        (0.485, 20.0, 0.447),
        (0.485, 100.0, 0.450),
        (0.485, 200.0, 0.453),
    ],
)
def test_placenta_previa(prior_mean: float, prior_cars: float, printed: float) -> None:
    """The posterior of the proportion of girls under priors of different weight, as printed."""
    mean = dirichlet_mean([prior_mean, 1.0 - prior_mean], prior_cars, [GIRLS, BIRTHS - GIRLS])[0]
    assert mean == pytest.approx(printed, abs=5e-4)


@published(
    quantity="mean of a proportion after counts",
    source=GELMAN,
    place="437 of 980, even prior",
    code="diagnosis.learning.dirichlet_mean",
)
def test_placenta_previa_of_a_commentary() -> None:
    """Under the uniform prior a commentary on the book prints the mean as 0.44602851."""
    mean = dirichlet_mean([0.5, 0.5], 2.0, [GIRLS, BIRTHS - GIRLS])[0]
    assert mean == pytest.approx(0.44602851, abs=5e-9)


@pytest.mark.from_memory("A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4")
def test_placenta_previa_spread() -> None:
    """Under the uniform prior the posterior standard deviation is printed as 0.016."""
    assert beta_spread(438.0 / 982.0, 982.0) == pytest.approx(0.016, abs=5e-4)


@pytest.mark.from_memory("A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.4")
def test_poll_of_three() -> None:
    """A uniform prior and 727, 583 and 137 give Dirichlet(728, 584, 138)."""
    mean = dirichlet_mean([1.0 / 3.0] * 3, 3.0, [727, 583, 137])
    assert mean == pytest.approx([728.0 / 1450.0, 584.0 / 1450.0, 138.0 / 1450.0])


@pytest.mark.other_program("scipy")
@pytest.mark.parametrize(
    ("mean", "cars", "seen", "of"), [(0.1, 30.0, 4, 7), (0.02, 200.0, 0, 55), (0.9, 12.0, 3, 3)]
)
def test_against_an_independent_library(mean: float, cars: float, seen: int, of: int) -> None:
    """Mean and spread are those of the library's beta distribution with the same counts added."""
    reference = stats.beta(cars * mean + seen, cars * (1.0 - mean) + of - seen)
    ours = float(dirichlet_mean([mean, 1.0 - mean], cars, [seen, of - seen])[0])
    assert ours == pytest.approx(reference.mean(), rel=1e-12)
    assert beta_spread(ours, cars + of) == pytest.approx(reference.std(), rel=1e-12)


@pytest.mark.other_program("scipy")
def test_three_states_against_an_independent_library() -> None:
    """The same for a Dirichlet distribution over three states."""
    prior, counts = [0.9, 0.07, 0.03], [4, 9, 2]
    reference = stats.dirichlet([30.0 * p + n for p, n in zip(prior, counts, strict=True)])
    assert dirichlet_mean(prior, 30.0, counts) == pytest.approx(reference.mean(), rel=1e-12)
