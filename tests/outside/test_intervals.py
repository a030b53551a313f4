"""Intervals of a share against a handbook, a package's printed values and another library."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from kb.evaluation.metrics import share_interval


def test_wilson_equals_the_e_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.1: p = 0.13, n = 200, one-sided 95 % lower limit 0.09577."""
    assert share_interval(26, 200, 0.90)[0] == pytest.approx(0.09577, abs=5e-6)


def test_exact_equals_the_e_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.1: 4 defectives of 20, 90 %: 0.071354 to 0.401029."""
    found = share_interval(4, 20, 0.90, method="exact")
    assert found == pytest.approx((0.071354, 0.401029), abs=2e-6)


@pytest.mark.parametrize(
    ("method", "successes", "trials", "low", "high"),
    [
        ("wilson", 18, 20, 0.698966, 0.972134),
        ("wilson", 4, 20, 0.080658, 0.416017),
        ("exact", 4, 20, 0.057334, 0.436614),
    ],
)
def test_equals_r_binom(method: str, successes: int, trials: int, low: float, high: float) -> None:
    """R package binom, binom.confint(x, n, methods = "wilson" or "exact")."""
    found = share_interval(successes, trials, method=method)
    assert found == pytest.approx((low, high), abs=1e-6)


counts = st.integers(1, 2000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
confidences = st.floats(0.5, 0.999)


@given(counts, confidences, st.sampled_from([("wilson", "wilson"), ("exact", "beta")]))
def test_equals_statsmodels(
    count: tuple[int, int], confidence: float, names: tuple[str, str]
) -> None:
    ours, theirs = names
    found = share_interval(*count, confidence, method=ours)
    expected = proportion_confint(*count, alpha=1 - confidence, method=theirs)
    assert found == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("method", ["wilson", "exact"])
def test_where_nothing_was_asked_nothing_is_known(method: str) -> None:
    assert share_interval(0, 0, method=method) == (0, 1)
