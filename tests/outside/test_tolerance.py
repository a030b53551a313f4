"""Tolerance factors against a handbook, a book's table and scipy."""

import math

import pytest
from scipy import stats

from kb.statistics import chisquare, tolerance

# Factors K for two-sided 95 % confidence, share held 0.90, 0.95, 0.99; Berthouex &
# Brown, "Statistics for Environmental Engineers", table 21.1. It rounds an older approximation:
# equal within 2 % from ten readings on.
BOOK = [
    (10, (2.86, 3.39, 4.44)),
    (15, (2.49, 2.96, 3.89)),
    (20, (2.32, 2.76, 3.62)),
    (30, (2.15, 2.55, 3.35)),
    (60, (1.96, 2.34, 3.07)),
]


def test_handbook_two_sided() -> None:
    # NIST/SEMATECH e-Handbook 7.2.6.3: 43 items, 90 % held, 99 % confidence: chi-square 23.650
    # with 42 degrees of freedom, k2 = 2.217
    assert chisquare.quantile(0.01, 42) == pytest.approx(23.650095, abs=1e-6)
    assert tolerance.two_sided(43, 0.90, 0.99) == pytest.approx(2.2173159, abs=1e-6)


def test_handbook_one_sided() -> None:
    # The same section: its approximation gives 1.8752, the noncentral t slightly less.
    # Exact value from scipy, below.
    assert tolerance.one_sided(43, 0.90, 0.99) == pytest.approx(1.8752, abs=2e-3)


def test_one_sided_for_forty_readings() -> None:
    # real-statistics.com, "Tolerance interval example": n = 40, 90 %, 99 %: 1.9017 by the
    # noncentral t. Its two-sided example uses the exact 2.252; Howe is 0.3 % below.
    assert tolerance.one_sided(40, 0.90, 0.99) == pytest.approx(1.9017, abs=5e-5)
    assert tolerance.two_sided(40, 0.90, 0.99) == pytest.approx((10.4504 - 10) / 0.2, rel=3e-3)


@pytest.mark.parametrize(("count", "factors"), BOOK)
def test_book(count: int, factors: tuple[float, ...]) -> None:
    for content, k in zip((0.90, 0.95, 0.99), factors, strict=True):
        assert tolerance.two_sided(count, content, 0.95) == pytest.approx(k, rel=0.02)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 10, 42, 100, 499, 5000])
def test_chi_square_equals_scipy(freedom: int) -> None:
    chances = [1e-6, 0.01, 0.05, 0.5, 0.95, 0.999]
    expected = [stats.chi2.ppf(chance, freedom) for chance in chances]
    found = [chisquare.quantile(chance, freedom) for chance in chances]
    assert found == pytest.approx(expected, rel=1e-8)
    back = [chisquare.cdf(each, freedom) for each in expected]
    assert back == pytest.approx(chances, rel=1e-8)


@pytest.mark.parametrize("count", [3, 5, 10, 50, 500])
@pytest.mark.parametrize(("content", "confidence"), [(0.95, 0.9), (0.9, 0.99), (0.5, 0.5)])
def test_one_sided_equals_scipy(count: int, content: float, confidence: float) -> None:
    shift = stats.norm.ppf(content) * math.sqrt(count)
    expected = stats.nct.ppf(confidence, count - 1, shift) / math.sqrt(count)
    assert tolerance.one_sided(count, content, confidence) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("count", [3, 8, 40, 400])
def test_student_equals_scipy(count: int) -> None:
    for chance in (0.6, 0.975, 0.9999):
        expected = stats.t.ppf(chance, count)
        assert tolerance.student_quantile(chance, count) == pytest.approx(expected, rel=1e-7)


def test_smallest_samples_for_order_statistics() -> None:
    # Wilks 1941, as in the usual tables: 93 readings for 95 %/95 % two-sided, 59 one-sided,
    # (from memory); each follows from the closed form below as well.
    def two_sided(n: int, p: float) -> float:
        return 1 - n * p ** (n - 1) + (n - 1) * p**n

    for content, confidence in ((0.95, 0.95), (0.99, 0.95), (0.9, 0.99)):
        least = next(n for n in range(2, 2000) if two_sided(n, content) >= confidence)
        assert tolerance.order_rank(least, content, confidence) == 1
        assert tolerance.order_rank(least - 1, content, confidence) == 0
        least = next(n for n in range(1, 2000) if 1 - content**n >= confidence)
        assert tolerance.order_rank(least, content, confidence, sides=1) == 1
        assert tolerance.order_rank(least - 1, content, confidence, sides=1) == 0
    assert (tolerance.order_rank(92, 0.95, 0.95), tolerance.order_rank(93, 0.95, 0.95)) == (0, 1)
    assert tolerance.order_rank(59, 0.95, 0.95, sides=1) == 1


@pytest.mark.parametrize("count", [60, 300, 1500])
def test_one_sided_factors_of_many_readings_equal_the_noncentral_t(count: int) -> None:
    """scipy.stats.nct, NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3."""
    root = math.sqrt(count)
    wanted = stats.nct.ppf(0.95, count - 1, stats.norm.ppf(0.9) * root) / root
    assert tolerance.one_sided(count, 0.9, 0.95) == pytest.approx(wanted, rel=1e-6)


def test_one_sided_factors_with_a_spread_borrowed_from_many_equal_the_noncentral_t() -> None:
    """scipy.stats.nct with other degrees of freedom than the readings behind the mean have."""
    root = math.sqrt(5)
    wanted = stats.nct.ppf(0.95, 20_000, stats.norm.ppf(0.9) * root) / root
    assert tolerance.one_sided(5, 0.9, 0.95, 20_000) == pytest.approx(wanted, rel=1e-6)


def test_one_reading_is_enough_where_the_spread_is_known_from_others() -> None:
    """Howe's factor by its formula, NIST/SEMATECH e-Handbook 7.2.6.3, at one reading."""
    spread = math.sqrt(20 / stats.chi2.ppf(0.05, 20))
    wanted = stats.norm.ppf(0.95) * math.sqrt(2) * spread
    assert tolerance.two_sided(1, 0.9, 0.95, 20) == pytest.approx(wanted, rel=1e-9)
