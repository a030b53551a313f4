"""Excess and trend: what must hold whatever the counts."""

import math
from itertools import product
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.recurrence.association import (
    Stratum,
    Trend,
    chance_of_excess,
    expected,
    false_discovery,
    least_component,
    trend,
)


@st.composite
def strata(draw: st.DrawFn) -> Stratum:
    total = draw(st.integers(1, 12))
    return Stratum(total, draw(st.integers(0, total)), draw(st.integers(0, total)))


def gamma_chance(half: int, x: float) -> float:
    """Chance that a gamma variable of shape half + 1/2 is at most x.

    DLMF 8.4.1 (error function) and 8.8.5 (one more in the shape).
    """
    terms = (
        math.exp((k - 0.5) * math.log(x) - x - math.lgamma(k + 0.5)) for k in range(1, half + 1)
    )
    return math.erf(math.sqrt(x)) - math.fsum(terms)


@given(st.integers(0, 500), st.floats(0, 500), st.floats(0.5, 0.99))
def test_component_is_the_gamma_quantile(observed: int, mean: float, confidence: float) -> None:
    quantile = 2 ** least_component(observed, mean, confidence) * (mean + 0.5)
    assert gamma_chance(observed, quantile) == pytest.approx((1 - confidence) / 2, abs=1e-9)


@given(st.lists(strata(), min_size=1, max_size=3), st.integers(0, 30))
def test_chance_equals_counting_every_arrangement(tables: list[Stratum], observed: int) -> None:
    """Brute force over all ways in which the faults could have fallen."""
    ways = 0
    for hits in product(*(range(min(each.group, each.fault) + 1) for each in tables)):
        if sum(hits) >= observed:
            weight = 1
            for each, hit in zip(tables, hits, strict=True):
                weight *= comb(each.group, hit) * comb(each.total - each.group, each.fault - hit)
            ways += weight
    everything = 1
    for each in tables:
        everything *= comb(each.total, each.fault)
    assert chance_of_excess(observed, tables) == pytest.approx(ways / everything, abs=1e-9)


@given(st.lists(strata(), min_size=1, max_size=3))
def test_expected_is_the_mean_of_the_exact_test(tables: list[Stratum]) -> None:
    most = sum(each.group for each in tables)
    mean = sum(chance_of_excess(count, tables) for count in range(1, most + 1))
    assert expected(tables) == pytest.approx(mean, abs=1e-9)


def test_strata_do_not_mix() -> None:
    """Old cars have the fault, and the group is old: no excess within either age."""
    old, new = Stratum(total=20, group=16, fault=10), Stratum(total=20, group=4, fault=0)
    assert expected([old, new]) == pytest.approx(8)
    assert expected([Stratum(40, 20, 10)]) == pytest.approx(5)


def test_nothing_at_all() -> None:
    assert expected([Stratum(0, 0, 0)]) == 0
    assert false_discovery([], 10) == []


@given(st.lists(st.floats(0, 1), min_size=1, max_size=8), st.integers(0, 50))
def test_looking_at_more_makes_every_alarm_less_sure(chances: list[float], more: int) -> None:
    few = false_discovery(chances, len(chances))
    many = false_discovery(chances, len(chances) + more)
    assert all(late >= early - 1e-12 for early, late in zip(few, many, strict=True))


def test_few_days_tell_no_trend() -> None:
    assert trend([900, 901, 902], range(800), level=0.05, least=5) == (Trend.TOO_FEW, None)


def test_late_days_are_a_trend_and_equal_days_are_none() -> None:
    assert trend(range(700, 710), range(600), level=0.05, least=5)[0] is Trend.RISING
    assert trend([5] * 10, [5] * 10, level=0.05, least=5)[0] is Trend.UNCLEAR
