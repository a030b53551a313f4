"""The beta distribution against scipy, extreme shapes included."""

import math
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import special

from kb.statistics import beta

shapes = st.floats(math.log(1e-3), math.log(1e4)).map(math.exp)
points = st.floats(0, 1, allow_subnormal=False)
chances = st.floats(1e-9, 1 - 1e-7)


@given(points, shapes, shapes)
def test_cdf_equals_scipy(x: float, a: float, b: float) -> None:
    assert beta.cdf(x, a, b) == pytest.approx(special.betainc(a, b, x), abs=1e-9)


@given(st.integers(1, 200), st.integers(1, 200), st.integers(1, 63))
def test_cdf_of_whole_shapes_is_a_binomial_tail(a: int, b: int, part: int) -> None:
    """DLMF 8.17.5, in exact fractions."""
    n, x = a + b - 1, Fraction(part, 64)
    exact = sum(math.comb(n, j) * x**j * (1 - x) ** (n - j) for j in range(a, n + 1))
    assert beta.cdf(part / 64, a, b) == pytest.approx(float(exact), abs=1e-11)


@given(st.floats(0, 1e-280, exclude_min=True), st.floats(1e-3, 0.05), st.floats(1e-3, 10))
def test_cdf_of_the_smallest_numbers_is_its_leading_term(x: float, a: float, b: float) -> None:
    """DLMF 8.17.7: x**a / (a B(a, b)) for x near 0; scipy is 1e-5 off below 1e-319."""
    leading = math.exp(a * math.log(x) - float(special.betaln(a, b))) / a
    assert beta.cdf(x, a, b) == pytest.approx(leading, abs=1e-9)


@given(chances, shapes, shapes)
def test_cdf_equals_scipy_where_it_rises(p: float, a: float, b: float) -> None:
    x = float(special.betaincinv(a, b, p))
    assert beta.cdf(x, a, b) == pytest.approx(special.betainc(a, b, x), abs=1e-9)


@given(chances, shapes, shapes)
@example(0.5, 0.30750713116425676, 0.30750713116425676)  # scipy's own inverse is 1e-8 off here
def test_quantile_is_where_scipys_distribution_reaches_the_chance(
    p: float, a: float, b: float
) -> None:
    found = beta.quantile(p, a, b)
    assert 0 <= found <= 1
    assert special.betainc(a, b, max(found - 1e-9, 0)) <= p + 1e-9
    assert special.betainc(a, b, min(found + 1e-9, 1)) >= p - 1e-9


@given(st.sampled_from([0.005, 0.025, 0.05, 0.5, 0.95, 0.975]), st.integers(1, 400))
def test_quantile_of_a_maximum_of_uniforms_is_a_power(p: float, a: int) -> None:
    """Beta(a, 1) is the largest of a uniform numbers: its distribution function is x**a."""
    assert beta.quantile(p, a, 1) == pytest.approx(p ** (1 / a), rel=1e-12)


@pytest.mark.parametrize("shape", [0.0, -1.0, math.inf, math.nan])
def test_refuses_shapes_that_are_none(shape: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        beta.cdf(0.5, shape, 1)
    with pytest.raises(ValueError, match="above 0"):
        beta.quantile(0.5, 1, shape)


@pytest.mark.parametrize("probability", [-0.1, 1.1, math.nan])
def test_refuses_what_is_no_probability(probability: float) -> None:
    with pytest.raises(ValueError, match="0 to 1"):
        beta.quantile(probability, 1, 1)


def test_ends_are_exact() -> None:
    assert (beta.cdf(-1, 2, 2), beta.cdf(2, 2, 2)) == (0, 1)
    assert (beta.quantile(0, 2, 2), beta.quantile(1, 2, 2)) == (0, 1)


@given(st.floats(0, 1), shapes, shapes)
def test_quantile_ends_for_any_probability(p: float, a: float, b: float) -> None:
    assert 0 <= beta.quantile(p, a, b) <= 1


compared = st.floats(math.log(0.05), math.log(1e4)).map(math.exp)


@given(compared, compared)
def test_chance_to_be_greater_than_a_uniform_is_the_mean(a: float, b: float) -> None:
    assert beta.chance_greater((a, b), (1, 1)) == pytest.approx(a / (a + b), abs=1e-8)


@given(compared, compared, compared, compared)
def test_one_of_two_is_the_greater(a: float, b: float, c: float, d: float) -> None:
    both = beta.chance_greater((a, b), (c, d)) + beta.chance_greater((c, d), (a, b))
    assert both == pytest.approx(1, abs=1e-8)
    assert beta.chance_greater((a, b), (a, b)) == pytest.approx(0.5, abs=1e-8)


def test_a_quantile_asks_the_distribution_a_few_times(monkeypatch: pytest.MonkeyPatch) -> None:
    """Newton's steps double the digits each; halving would ask 50 times (counted, no source)."""
    shapes = [(1, 1), (3, 1), (2.5, 7.5), (0.5, 0.5), (40, 4), (300, 20), (1, 9)]
    asked, plain = [], beta.cdf

    def counted(x: float, a: float, b: float) -> float:
        asked.append(x)
        return plain(x, a, b)

    monkeypatch.setattr(beta, "cdf", counted)
    for a, b in shapes:
        for chance in (0.025, 0.2, 0.5, 0.8, 0.975):
            beta.quantile(chance, a, b)
    assert len(asked) / (5 * len(shapes)) <= 8
