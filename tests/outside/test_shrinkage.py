"""Beliefs and their comparison against sampling and reference libraries."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from kb.rates.fixes import chance_better
from kb.rates.shrinkage import Posterior, neutral
from kb.rates.survival import Lifetime

shapes = st.floats(1, 300)


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
