"""Rates of a group against the rest: what must hold whatever the counts."""

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import binom, gamma, nchypergeom_fisher, norm, poisson

from kb.recurrence.comparison import (
    CUT,
    CUT_MEAN,
    Excesses,
    Matched,
    chance_of_excess,
    expected,
    false_shares,
    least_chance,
    least_visible,
    natural_spread,
    odds_of_nature,
    rate_ratio,
    relative_rates,
    variance,
)

BELIEVED = Excesses(spread=0.3, least=1.5, scale=0.4)


@st.composite
def bands(draw: st.DrawFn) -> Matched:
    group, rest = draw(st.integers(0, 12)), draw(st.integers(0, 12))
    return Matched(
        group, rest, draw(st.integers(0, min(5, group + rest))), draw(st.sampled_from([0.4, 1, 3]))
    )


lists = st.lists(bands(), min_size=1, max_size=3)
ratios = st.floats(0.2, 8)


def by_counting(observed: int, of: list[Matched], ratio: float) -> float:
    """Add up every way in which the events could have fallen, by scipy's distribution."""
    total = 0.0
    for hits in product(*(range(each.events + 1) for each in of)):
        chance = math.prod(map(_exactly, hits, of, [ratio] * len(of)))
        total += chance * (sum(hits) > observed) + chance * (sum(hits) == observed) / 2
    return total


def _exactly(hits: int, band: Matched, ratio: float) -> float:
    cars, odds = band.group + band.rest, ratio * band.wear
    return float(nchypergeom_fisher.pmf(hits, cars, band.group, band.events, odds)) if cars else 1.0


@given(lists, st.integers(0, 18), ratios)
def test_chance_equals_counting_every_way(of: list[Matched], observed: int, ratio: float) -> None:
    counted = by_counting(observed, of, ratio)
    assert chance_of_excess(observed, of, ratio) == pytest.approx(counted, abs=1e-9)


@given(lists)
def test_expected_and_variance_are_those_of_binomials(of: list[Matched]) -> None:
    means = [binom.mean(each.events, _share(each)) for each in of]
    spreads = [binom.var(each.events, _share(each)) for each in of]
    assert expected(of) == pytest.approx(math.fsum(means))
    assert variance(of) == pytest.approx(math.fsum(spreads))


def _share(band: Matched) -> float:
    group = band.wear * band.group
    return group / (group + band.rest) if group else 0.0


@given(lists, st.integers(0, 18), ratios, ratios)
def test_a_higher_rate_makes_as_many_likelier(
    of: list[Matched], observed: int, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    less, more = (chance_of_excess(observed, of, ratio) for ratio in (low, high))
    assert less <= more + 1e-12


@given(lists)
def test_no_count_is_less_likely_than_all_of_them(of: list[Matched]) -> None:
    """All at once can only be as unlikely as one after another, where wear is alike."""
    of = [replace(each, wear=1.0) for each in of]
    most = sum(min(each.group, each.events) for each in of)
    assert least_chance(of) <= chance_of_excess(most, of) + 1e-12


def test_bands_do_not_mix() -> None:
    """Old cars have the fault, and the group is old: no excess within either age."""
    old, new = Matched(group=16, rest=4, events=10), Matched(group=4, rest=16, events=0)
    assert expected([old, new]) == pytest.approx(8)
    assert expected([Matched(20, 20, 10)]) == pytest.approx(5)


def test_odds_are_those_of_two_mixtures() -> None:
    """Both integrals by adaptive quadrature of scipy."""
    of = [Matched(30, 200, 9, 0.7), Matched(10, 90, 2)]
    shape = 1 / BELIEVED.spread**2

    nature, _ = quad(lambda x: _both(5, of, x) * gamma.pdf(x, shape, scale=1 / shape), 0, 6)
    excess, _ = quad(
        lambda x: _both(5, of, 1.5 * math.exp(0.4 * x)) * math.exp(-x), 0, 40, limit=200
    )
    assert odds_of_nature(5, of, BELIEVED) == pytest.approx(nature / excess, rel=1e-3)


def _both(observed: int, of: list[Matched], ratio: float) -> float:
    one, other = of
    return math.fsum(
        _exactly(hit, one, ratio) * _exactly(observed - hit, other, ratio)
        for hit in range(observed + 1)
    )


@given(st.lists(st.floats(1e-9, 1e6), max_size=8), st.integers(0, 500))
def test_false_shares_grow_with_the_odds_and_are_shares(odds: list[float], more: int) -> None:
    found = false_shares(odds, len(odds) + more)
    pairs = sorted(zip(odds, found, strict=True))
    assert all(0 <= share <= 1 for share in found)
    assert [share for _, share in pairs] == pytest.approx(sorted(found), abs=1e-12)


def test_looking_at_more_makes_every_fact_less_sure() -> None:
    few, many = (false_shares([1e-3], looked_at)[0] for looked_at in (100, 10_000))
    assert few < many


@given(st.integers(1, 12), st.floats(0.2, 2))
def test_a_rate_ratio_lies_over_its_low_end(events: int, spread: float) -> None:
    of = [Matched(20, 60, events)]
    ratios_of = [rate_ratio(n, of, spread=spread, confidence=0.9) for n in range(events + 1)]
    assert all(0 < each.at_least < each.times for each in ratios_of)
    assert [each.times for each in ratios_of] == sorted(each.times for each in ratios_of)


def test_a_group_that_had_all_of_it_is_drawn_towards_the_rest() -> None:
    few, many = (
        rate_ratio(n, [Matched(20, 60, n)], spread=1, confidence=0.95).times for n in (3, 30)
    )
    assert 1 < few < many


@pytest.mark.parametrize("spread", [0.0, 0.3, 0.6])
def test_the_spread_of_groups_is_found_whatever_stands_out(spread: float) -> None:
    """Negative binomial counts of scipy; one in twenty has five times its rate."""
    rates = gamma.rvs(1 / spread**2, scale=spread**2, size=600, random_state=1) if spread else 1.0
    means = 8.0 * rates
    counts = poisson.rvs(means, size=600, random_state=2)
    odd = [int(n) * (5 if place % 20 == 0 else 1) for place, n in enumerate(counts)]
    found = natural_spread(odd, [8.0] * 600, [8.0] * 600, start=0.3, pull=0)
    assert found == pytest.approx(spread, abs=0.12 if spread else 0.2)


def test_the_mean_of_cut_squares_is_that_of_a_normal() -> None:
    mean = norm.expect(lambda x: min(x**2, CUT), lb=-12, ub=12, points=[-(CUT**0.5), CUT**0.5])
    assert mean == pytest.approx(CUT_MEAN, abs=5e-4)


def test_without_counts_the_spread_is_what_is_believed() -> None:
    assert natural_spread([], [], [], start=0.3, pull=20) == pytest.approx(0.3)


def test_what_is_said_to_show_does_show() -> None:
    times = least_visible(100, 400, 0.05, 1e-3)
    count = round(times * 100 * 0.05)
    assert chance_of_excess(count, [Matched(100, 400, count + 20)]) <= 1e-3
    assert chance_of_excess(count - 1, [Matched(100, 400, count + 19)]) > 1e-3


kinds = st.lists(
    st.tuples(st.integers(0, 9), st.integers(0, 40)).map(lambda pair: (pair[0], sum(pair))),
    min_size=1,
    max_size=5,
)


@given(kinds, st.floats(0.1, 50))
def test_a_kind_is_as_often_as_all_the_more_the_stronger_the_pull(
    counts: list[tuple[int, int]], pull: float
) -> None:
    events, watched = np.array(counts, dtype=float).T
    weak, strong = (relative_rates(events, watched, each) for each in (pull, 2 * pull))
    assert (weak > 0).all()
    assert (np.abs(strong - 1) <= np.abs(weak - 1) + 1e-12).all()
    assert ((weak - 1) * (strong - 1) >= 0).all()
    if not events.any():
        assert (weak == 1).all()
    if len(counts) == 1 and watched.any():
        assert weak == pytest.approx(1)
