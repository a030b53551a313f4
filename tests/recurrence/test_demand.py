"""What the next months take: what must hold whatever was used."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import gamma, poisson

from kb.recurrence.demand import MOST_SPANS, Use, backtest, forecast, usual_use

rows = st.lists(st.integers(0, 20), min_size=1, max_size=12)
USE = Use(shape=0.5, rate=1.0)


@given(rows, st.floats(0.3, 0.95))
def test_the_range_holds_the_share_it_says(counts: list[int], coverage: float) -> None:
    """The predictive chance, with the rate integrated out numerically."""
    found = forecast(counts, USE, coverage)
    shape, rate = USE.shape + sum(counts[-MOST_SPANS:]), USE.rate + len(counts[-MOST_SPANS:])

    def within(mean: float) -> float:
        cdf = poisson.cdf([found.low - 1, found.high], mean)
        return float((cdf[1] - cdf[0]) * gamma.pdf(mean, shape, scale=1 / rate))

    middle = shape / rate
    spread = (shape**0.5 / rate) * 12
    total, _ = quad(within, 0, middle + spread, points=[middle], limit=200)
    assert total >= coverage - 1e-4
    assert found.low <= found.high
    assert found.mean == pytest.approx(middle)


@given(rows)
def test_more_used_is_more_expected(counts: list[int]) -> None:
    more = [*counts[:-1], counts[-1] + 1]
    assert forecast(more, USE, 0.8).mean > forecast(counts, USE, 0.8).mean


def test_ranges_of_an_even_past_hold_as_often_as_they_say() -> None:
    """Poisson counts of scipy, means of 4 a span: 80 % meant, and whole parts make it more."""
    counts = {f"{n}": tuple(poisson.rvs(4, size=16, random_state=n)) for n in range(60)}
    found = backtest(counts, 0.8)
    assert found.made > 500
    assert 0.8 <= found.held / found.made <= 0.95


def test_a_past_that_grows_is_seen_not_to_hold() -> None:
    counts = {f"{n}": (1, 1, 1, 1, 1, 1, 12, 20) for n in range(10)}
    found = backtest(counts, 0.8)
    assert found.held / found.made < 0.8


@given(st.lists(rows, max_size=5))
def test_what_is_believed_before_is_some_use(counts: list[list[int]]) -> None:
    found = usual_use(counts)
    assert found.shape > 0
    assert found.rate == 1
