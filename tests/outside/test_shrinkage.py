"""Beliefs and their comparison against sampling and reference libraries."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import integrate, optimize, special, stats

from kb.rates.fixes import chance_better
from kb.rates.shrinkage import Posterior, _frequent, neutral
from kb.rates.survival import Lifetime

shapes = st.floats(1, 300)
rows = st.integers(1, 12).flatmap(
    lambda kinds: st.lists(
        st.lists(st.floats(1e-6, 1), min_size=kinds, max_size=kinds).map(
            lambda row: [each / max(row) for each in row]
        ),
        min_size=1,
        max_size=15,
    )
)


@settings(max_examples=30)
@given(rows)
def test_how_frequent_kinds_are_equals_a_general_optimiser(rows: list[list[float]]) -> None:
    """scipy.optimize.minimize over the logarithms of the shares, which softmax makes sum to one."""
    likelihood = np.array(rows)
    kinds = likelihood.shape[1]

    def lost(logits: NDArray[np.float64]) -> float:
        shares = special.softmax(logits)
        return -float(np.log(likelihood @ shares).sum() + special.log_softmax(logits).mean())

    best = optimize.minimize(lost, np.zeros(kinds), method="BFGS", options={"gtol": 1e-7})
    found = _frequent(likelihood)
    assert found.sum() == pytest.approx(1)
    assert lost(np.log(found)) <= best.fun + 1e-7
    assert found == pytest.approx(special.softmax(best.x), abs=2e-3)


@settings(max_examples=15)
@given(shapes, shapes, shapes, shapes)
@example(14.0, 19.0, 16.0, 3.0)
def test_comparison_equals_integration(a: float, b: float, c: float, d: float) -> None:
    """scipy.integrate.quad over the density of the one and the distribution of the other."""
    one, other = stats.beta(a, b), stats.beta(c, d)
    low, high = one.ppf(1e-12), one.ppf(1 - 1e-12)
    expected, _ = integrate.quad(
        lambda x: one.pdf(x) * other.cdf(x), low, high, points=[one.mean(), other.mean()], limit=400
    )
    assert chance_better(Posterior(a, b), Posterior(c, d)) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    "given_shapes", [(9.5, 0.5, 4.5, 1.5), (0.5, 0.5, 3.0, 3.0), (40, 4, 7, 1)]
)
def test_comparison_equals_sampling(given_shapes: tuple[float, float, float, float]) -> None:
    a, b, c, d = given_shapes
    dice = np.random.default_rng(7)
    sampled = np.mean(dice.beta(a, b, 400_000) > dice.beta(c, d, 400_000))
    assert chance_better(Posterior(a, b), Posterior(c, d)) == pytest.approx(sampled, abs=4e-3)


def test_belief_under_loss_equals_a_sampled_dirichlet_process() -> None:
    """Discrete time: a Dirichlet prior over the day of failure, lost lifetimes weighted exactly.

    Draws of the curve from the prior, weighted by their likelihood (importance sampling); the
    prior is Jeffreys' half and half, a quarter at handover and a quarter evenly over ten times.
    """
    dice = np.random.default_rng(11)
    steps = np.linspace(9, 90, 10)
    draws = dice.dirichlet([0.25, *[0.025] * 10, 0.5], 400_000)
    left = 1 - np.cumsum(draws, axis=1)
    sample = [
        (0.0, True),
        (0.0, False),
        (36.0, False),
        (45.0, True),
        (120.0, False),
        (120.0, False),
    ]
    weight = np.ones(len(draws))
    for time, failed in sample:
        place = 0 if time == 0 else int(np.searchsorted(steps, min(time, 90))) + 1
        weight *= draws[:, place] if failed else left[:, place]
    horizon_left = left[:, 10]
    expected = np.average(horizon_left, weights=weight)
    spread = np.average((horizon_left - expected) ** 2, weights=weight)
    lives = [Lifetime(*each) for each in sample]
    found = neutral(90).posterior(("cleaned", "plug"), lives)
    theirs = stats.beta(found.a, found.b)
    assert found.mean == pytest.approx(expected, abs=0.01)
    assert theirs.std() == pytest.approx(spread**0.5, abs=0.01)
