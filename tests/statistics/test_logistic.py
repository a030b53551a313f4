"""Logistic regression drawn towards given coefficients."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import optimize
from sklearn.linear_model import LogisticRegression

from kb.statistics.logistic import fit_towards

RANDOM = np.random.default_rng(5)
ROWS = np.column_stack([np.ones(300), RANDOM.normal(size=(300, 3))])
TRUE = RANDOM.random(300) < 1 / (1 + np.exp(-ROWS @ [-0.5, 1.0, 0.0, -2.0]))
NOTHING = np.zeros(4)


def test_with_a_loose_prior_it_is_the_likeliest_fit() -> None:
    # source: statsmodels' Logit on the same data
    expected = sm.Logit(TRUE.astype(float), ROWS).fit(disp=0).params
    assert fit_towards(ROWS, TRUE, NOTHING, 1e4) == pytest.approx(expected, abs=1e-5)


def test_with_a_prior_around_nothing_it_is_the_ridge() -> None:
    # source: scikit-learn's LogisticRegression, whose C is the variance of the prior
    peer = LogisticRegression(C=0.25, fit_intercept=False, tol=1e-10, max_iter=1000)
    expected = peer.fit(ROWS, TRUE).coef_[0]
    assert fit_towards(ROWS, TRUE, NOTHING, 0.5) == pytest.approx(expected, abs=1e-5)


def test_weights_count_rows_several_times_and_offsets_are_taken_as_given() -> None:
    twice = fit_towards(np.vstack([ROWS, ROWS]), np.tile(TRUE, 2), NOTHING, 1.0)
    assert fit_towards(ROWS, TRUE, NOTHING, 1.0, weights=np.full(300, 2.0)) == pytest.approx(twice)
    # source: statsmodels' binomial GLM with an offset
    offset = RANDOM.normal(size=300)
    model = sm.GLM(TRUE.astype(float), ROWS, family=sm.families.Binomial(), offset=offset)
    found = fit_towards(ROWS, TRUE, NOTHING, 1e4, offsets=offset)
    assert found == pytest.approx(model.fit().params, abs=1e-5)


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=4), st.floats(0.1, 10))
def test_without_data_the_prior_comes_back(prior: list[float], spread: float) -> None:
    found = fit_towards(
        np.empty((0, len(prior))), np.empty(0, dtype=np.bool_), np.array(prior), spread
    )
    assert found == pytest.approx(prior)


@given(st.integers(1, 30), st.booleans(), st.floats(0.1, 3))
def test_separable_data_stay_finite(count: int, truth: bool, spread: float) -> None:
    rows = np.ones((count, 1))
    found = fit_towards(rows, np.full(count, truth), np.zeros(1), spread)
    assert np.isfinite(found).all()
    assert (found[0] > 0) == truth


def test_a_prior_that_the_data_contradict_gives_what_a_plain_search_finds() -> None:
    """Nelder and Mead's simplex of scipy.optimize.minimize, which is told no slope."""
    dice = np.random.default_rng(3)
    rows = np.column_stack([np.ones(60), 3 * dice.normal(size=60)])
    true = dice.random(60) < 1 / (1 + np.exp(2 * rows[:, 1] - 1))
    prior, spread = np.array([6.0, 5.0]), 0.7

    def lost(each: NDArray[np.float64]) -> float:
        scores, away = rows @ each, (each - prior) / spread
        return float(np.logaddexp(0, scores).sum() - scores[true].sum() + away @ away / 2)

    accurate = {"xatol": 1e-9, "fatol": 1e-12}
    wanted = optimize.minimize(lost, np.zeros(2), method="Nelder-Mead", options=accurate).x
    assert fit_towards(rows, true, prior, spread) == pytest.approx(wanted, abs=1e-6)
