"""Rates of a group against the rest: what must hold whatever the counts."""

import math
from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import betaprime, binom, gamma, nchypergeom_fisher, poisson

from kb.recurrence.comparison import (
    Excesses,
    Matched,
    Nature,
    chance_by_nature,
    chance_of_excess,
    expected,
    least_chance,
    least_visible,
    natural_spread,
    rate_ratio,
    relative_rates,
)

BELIEVED = Excesses(least=1.5, scale=0.8, share=0.01)
NATURE = Nature(spread=0.3, alike=0.2)


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
def test_expected_are_those_of_binomials(of: list[Matched]) -> None:
    means = [binom.mean(each.events, _share(each)) for each in of]
    assert expected(of) == pytest.approx(math.fsum(means))


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


@pytest.mark.parametrize("observed", [1, 5, 9])
@pytest.mark.parametrize("nature", [NATURE, Nature(0.5, 0.6)])
def test_by_nature_is_the_chance_at_every_ratio_that_nature_gives(
    observed: int, nature: Nature
) -> None:
    """The integral by adaptive quadrature of scipy, over its beta prime distribution."""
    of = [Matched(30, 200, 9, 0.7), Matched(10, 90, 2)]
    shape, alike = nature.spread**-2, nature.alike
    ratio = betaprime(shape, shape / alike, scale=1 / alike)
    every, _ = quad(lambda x: by_counting(observed, of, x) * ratio.pdf(x), 0, 60, limit=400)
    assert chance_by_nature(observed, of, nature) == pytest.approx(every, rel=1e-4)


natures = st.builds(Nature, st.floats(0.1, 0.8), st.floats(0, 1))


@given(lists, natures)
def test_the_more_have_it_the_less_is_it_nature(of: list[Matched], nature: Nature) -> None:
    every = range(sum(each.events for each in of) + 1)
    chances = [chance_by_nature(n, of, nature) for n in every]
    assert all(0 <= each <= 1 for each in chances)
    assert all(late <= early + 1e-12 for early, late in pairwise(chances))


def test_nature_explains_what_luck_does_not_where_there_are_many() -> None:
    """Twice as often on 30 or on 3,000 cars: that models differ is nothing to five events."""
    few, many = Matched(30, 3000, 505), Matched(3000, 30_000, 5500)
    assert chance_by_nature(10, [few], NATURE) < 4 * chance_of_excess(10, [few])
    assert chance_of_excess(1000, [many]) < 1e-12 < 1e-4 < chance_by_nature(1000, [many], NATURE)


def test_of_very_many_events_none_is_lost() -> None:
    """Chances of single counts are far less than a number can hold."""
    of = [Matched(70_000, 30_000, 40_000)]
    middle = chance_by_nature(round(expected(of)), of, Nature(0.3, 0.1))
    assert middle == pytest.approx(0.5, abs=0.1)
    assert 0 < chance_by_nature(36_000, of, Nature(0.3, 0.1)) < 0.05


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


@pytest.mark.parametrize(("mean", "spread"), [(8.0, 0.2), (8.0, 0.3), (8.0, 0.6), (2.0, 0.3)])
def test_the_spread_of_groups_is_found_whatever_stands_out(mean: float, spread: float) -> None:
    """Negative binomial counts of scipy, without the groups that have none; one in 100 is odd."""
    rates = gamma.rvs(1 / spread**2, scale=spread**2, size=900, random_state=1)
    rates[::100] *= 4
    counts = poisson.rvs(mean * rates, random_state=2)
    events = round(1000 * mean)
    band = Matched(10, 10_000, events, wear=1000 * mean / events)
    seen = [(int(n), (band,), 0.0) for n in counts if n]
    found = natural_spread(seen, BELIEVED, spread=0.3, doubt=1.0)
    assert found == pytest.approx(spread, abs=0.1)


def test_the_spread_of_groups_is_found_beside_a_large_one() -> None:
    """Of ten groups one is most of the rest, and as odd as any."""
    dice = np.random.default_rng(1)
    rates = gamma.rvs(1 / 0.3**2, scale=0.3**2, size=(300, 10), random_state=2)
    sizes = np.array([9000] + [400] * 9)
    counts = dice.poisson(0.02 * rates * sizes)
    seen = [
        (int(row[group]), (Matched(400, 12_200, int(row.sum())),), (81e6 + 8 * 16e4) / 12_200**2)
        for row in counts
        for group in range(1, 10)
    ]
    assert natural_spread(seen, BELIEVED, spread=0.3, doubt=1.0) == pytest.approx(0.3, abs=0.05)
    taken = [(count, bands, 0.0) for count, bands, _ in seen]
    assert natural_spread(taken, BELIEVED, spread=0.3, doubt=1.0) > 0.35


def test_without_counts_the_spread_is_what_is_believed() -> None:
    found = natural_spread([], BELIEVED, spread=0.4, doubt=0.5)
    assert found == pytest.approx(0.4)


def test_what_is_said_to_show_does_show() -> None:
    times = least_visible(100, 400, 0.05, 1e-3, NATURE)
    count = round(times * 100 * 0.05)
    assert chance_by_nature(count, [Matched(100, 400, count + 20)], NATURE) <= 1e-3
    assert chance_by_nature(count - 1, [Matched(100, 400, count + 19)], NATURE) > 1e-3
    assert least_visible(3, 400, 0.05, 1e-6, NATURE) == 50


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
