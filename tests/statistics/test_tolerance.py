"""Tolerance factors: what holds for any count and share."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import integrate, stats

from kb.errors import InvalidField
from kb.statistics.tolerance import expected_content, one_sided, order_rank, two_sided

shares = st.floats(0.5, 0.99)
counts = st.integers(3, 400)


@given(counts, shares, shares)
def test_more_readings_need_a_smaller_factor(count: int, content: float, confidence: float) -> None:
    assert two_sided(count + 1, content, confidence) < two_sided(count, content, confidence)


@given(counts, shares, st.floats(0.5, 0.98))
def test_more_confidence_needs_a_greater_factor(
    count: int, content: float, confidence: float
) -> None:
    more = confidence + 0.01
    assert two_sided(count, content, more) > two_sided(count, content, confidence)
    assert one_sided(count, content, more) > one_sided(count, content, confidence)


@given(counts, shares, st.floats(0.75, 0.99))
def test_one_side_needs_less_than_two(count: int, content: float, confidence: float) -> None:
    assert one_sided(count, content, confidence) < two_sided(count, content, confidence)


def coverage_of_two_sides(k: float, count: int, content: float) -> float:
    """How often mean ± k standard deviations hold the content of a normal population.

    Around a sample mean z/√n from the true one the least reach that holds it is the root of a
    noncentral chi-square quantile; the standard deviation is a chi-square variable apart from z.
    """
    z, weight = np.polynomial.hermite_e.hermegauss(60)
    reach = np.sqrt(stats.ncx2.ppf(content, 1, z * z / count))
    enough = stats.chi2.sf((count - 1) * (reach / k) ** 2, count - 1)
    return float(weight @ enough / math.sqrt(2 * math.pi))


def coverage_of_one_side(k: float, count: int, content: float) -> float:
    """How often mean + k standard deviations lies above the content of a normal population."""
    freedom = count - 1
    least, most = np.sqrt(stats.chi2.ppf([1e-12, 1 - 1e-12], freedom) / freedom)
    spreads = np.linspace(least, most, 4001)
    density = 2 * freedom * spreads * stats.chi2.pdf(freedom * spreads**2, freedom)
    held = stats.norm.cdf(math.sqrt(count) * (k * spreads - stats.norm.ppf(content)))
    return float(integrate.simpson(held * density, x=spreads))


@given(counts, shares, st.floats(0.75, 0.99))
def test_two_sides_hold_the_content_with_the_confidence(
    count: int, content: float, confidence: float
) -> None:
    """Howe's factor is an approximation: some thousandths off, a point or two for few readings."""
    found = coverage_of_two_sides(two_sided(count, content, confidence), count, content)
    assert found == pytest.approx(confidence, abs=0.02 if count < 20 else 0.005)


@given(counts, shares, shares)
def test_one_side_holds_the_content_with_the_confidence(
    count: int, content: float, confidence: float
) -> None:
    found = coverage_of_one_side(one_sided(count, content, confidence), count, content)
    assert found == pytest.approx(confidence, abs=1e-5)


@given(counts, st.floats(0.1, 10))
def test_the_content_held_on_average_is_that_of_a_prediction(count: int, k: float) -> None:
    """A new reading lies from the mean by s √(1 + 1/n) times Student's t (e-Handbook 7.2.6.3)."""
    inside = stats.t.cdf(k / math.sqrt(1 + 1 / count), count - 1)
    assert expected_content(k, count) == pytest.approx(2 * inside - 1, abs=1e-9)
    assert expected_content(k, count, sides=1) == pytest.approx(inside, abs=1e-9)


@given(st.integers(1, 700), shares, shares)
def test_ranks_lie_inside(count: int, content: float, confidence: float) -> None:
    both, one = (order_rank(count, content, confidence, sides=sides) for sides in (2, 1))
    assert 0 <= both <= one <= count
    assert 2 * both <= count


@pytest.mark.parametrize(("count", "content"), [(1, 0.95), (5, 1.0), (5, 0.0)])
def test_what_cannot_be_is_refused(count: int, content: float) -> None:
    with pytest.raises(InvalidField):
        two_sided(count, content, 0.9)


@given(st.integers(1, 60), st.floats(0.01, 0.99), st.floats(0.01, 0.99), st.sampled_from([1, 2]))
def test_ranks_are_those_of_the_binomial(
    count: int, content: float, confidence: float, sides: int
) -> None:
    """A share left is at least the content if few enough readings lie within it (Wilks, 1941)."""
    cut_off = range(sides, count + 1, sides)
    held = [stats.binom.cdf(count - each, count, content) for each in cut_off]
    assume(all(abs(share - confidence) > 1e-9 for share in held))
    expected = sum(share >= confidence for share in held)
    assert order_rank(count, content, confidence, sides=sides) == expected
