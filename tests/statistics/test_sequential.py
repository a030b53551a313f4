"""Looking again and again: a walk over every sequence must come to the same chances."""

from itertools import product
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.statistics.sequential import critical_value, crossing_chance, surprise

SHARES = st.lists(st.floats(0.01, 0.99), min_size=1, max_size=8)
CRITICAL = st.floats(0.01, 8.0)
LEAST = st.integers(1, 4)


@given(SHARES, CRITICAL, LEAST)
def test_the_chance_is_that_of_every_sequence_told(
    shares: list[float], critical: float, least: int
) -> None:
    told = sum(
        prod(share if hit else 1 - share for share, hit in zip(shares, hits, strict=True))
        for hits in product((False, True), repeat=len(shares))
        if _told(hits, shares, critical, least)
    )
    assert crossing_chance(shares, critical, least) == pytest.approx(told, abs=1e-12)


def _told(hits: tuple[bool, ...], shares: list[float], critical: float, least: int) -> bool:
    return any(
        sum(hits[:tried]) >= least
        and surprise(sum(hits[:tried]), tried, sum(shares[:tried]) / tried) >= critical - 1e-12
        for tried in range(1, len(hits) + 1)
    )


@given(SHARES, st.floats(0.001, 0.5), LEAST)
def test_a_critical_value_keeps_its_chance(shares: list[float], chance: float, least: int) -> None:
    assert crossing_chance(shares, critical_value(shares, chance, least), least) <= chance


@given(st.integers(1, 50), st.floats(0.01, 0.99))
def test_more_hits_are_more_of_a_surprise(tried: int, share: float) -> None:
    told = [surprise(hits, tried, share) for hits in range(tried + 1)]
    assert told == sorted(told)
    assert min(told) == 0.0


def test_what_cannot_happen_is_a_surprise_beyond_all() -> None:
    assert surprise(1, 5, 0.0) == float("inf")
    assert surprise(0, 5, 0.0) == 0.0


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.1])
def test_refuses_what_is_no_chance(chance: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        critical_value([0.5], chance, 1)
