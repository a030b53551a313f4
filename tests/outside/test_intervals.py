"""Intervals of a proportion against a handbook, a library and a printed example."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from kb.statistics.intervals import clopper_pearson, jeffreys, wilson


def test_wilson_equals_the_e_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.1: p = 0.13, n = 200, one-sided 95 % lower limit 0.09577."""
    assert wilson(26, 200, 0.90).low == pytest.approx(0.09577, abs=5e-6)


def test_exact_equals_the_e_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.1: 4 defectives of 20, 90 %: 0.071354 to 0.401029."""
    found = clopper_pearson(4, 20, 0.90)
    assert (found.low, found.high) == pytest.approx((0.071354, 0.401029), abs=2e-6)


def test_exact_equals_scipy_documentation() -> None:
    """Example printed in the documentation of scipy.stats.binomtest: 7 of 50 at 95 %."""
    found = clopper_pearson(7, 50)
    printed = (0.05819170033997342, 0.26739600249700846)
    assert (found.low, found.high) == pytest.approx(printed, abs=1e-12)


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [(18, 20, 0.698966, 0.972134), (4, 20, 0.080658, 0.416017)],
)
def test_wilson_equals_r_binom(successes: int, trials: int, low: float, high: float) -> None:
    """R package binom, binom.confint(x, n, methods = "wilson")."""
    found = wilson(successes, trials)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-6)


counts = st.integers(1, 2000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
confidences = st.floats(0.5, 0.999)


@given(counts, confidences)
def test_wilson_equals_statsmodels(count: tuple[int, int], confidence: float) -> None:
    found = wilson(*count, confidence)
    theirs = proportion_confint(*count, alpha=1 - confidence, method="wilson")
    assert (found.low, found.high) == pytest.approx(theirs, abs=1e-9)


@given(counts, confidences)
def test_exact_equals_statsmodels(count: tuple[int, int], confidence: float) -> None:
    found = clopper_pearson(*count, confidence)
    theirs = proportion_confint(*count, alpha=1 - confidence, method="beta")
    assert (found.low, found.high) == pytest.approx(theirs, abs=1e-9)


@given(counts, confidences)
def test_jeffreys_equals_statsmodels_but_for_the_ends(
    count: tuple[int, int], confidence: float
) -> None:
    """statsmodels leaves out the rule that no success starts at 0 and no failure ends at 1."""
    successes, trials = count
    found = jeffreys(successes, trials, confidence)
    low, high = proportion_confint(successes, trials, alpha=1 - confidence, method="jeffreys")
    assert found.low == pytest.approx(low if successes else 0, abs=1e-9)
    assert found.high == pytest.approx(high if successes < trials else 1, abs=1e-9)
