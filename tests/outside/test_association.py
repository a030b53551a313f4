"""Excess and trend against printed examples."""

from collections.abc import Collection
from itertools import combinations

import numpy as np
import pytest
from scipy.stats import betaprime, fisher_exact, gamma, hypergeom, nbinom
from statsmodels.stats.rates import confint_poisson_2indep, test_poisson_2indep

from kb.recurrence.association import Stratum, chance_of_association
from kb.recurrence.change import Trend, trend
from kb.recurrence.comparison import (
    Matched,
    Nature,
    _relative_chances,
    chance_by_nature,
    chance_of_excess,
    expected,
    rate_ratio,
)

test_poisson_2indep.__test__ = False  # a function of the library, not a test


def test_an_exact_test_is_fishers_with_half_of_just_so_many() -> None:
    """scipy's `fisher_exact` and `hypergeom`; 8 of 12 against 1 of 30."""
    table = [Matched(group=12, rest=30, events=9)]
    fisher = fisher_exact([[8, 4], [1, 29]], alternative="greater").pvalue
    half = hypergeom.pmf(8, 42, 9, 12) / 2
    assert chance_of_excess(8, table) == pytest.approx(fisher - half, rel=1e-9)
    assert expected(table) == pytest.approx(hypergeom.mean(42, 9, 12))


def test_rates_as_statsmodels_has_them() -> None:
    """Events of two groups over what was watched of each: statsmodels' `test_poisson_2indep`.

    41 cases in 28,010 woman-years against 15 in 19,017: Boice & Monson, "Breast cancer in women
    after repeated fluoroscopic examinations of the chest", Journal of the National Cancer
    Institute 59, 1977; rate ratio 1.86, as handbooks print it (from memory). Of so many it makes
    no difference that an event befalls one once at most.
    """
    table = [Matched(group=28_010, rest=19_017, events=56)]
    assert 41 / expected(table) == pytest.approx(1.229, abs=5e-4)
    for ratio in (1.0, 1.5, 2.0):
        printed = test_poisson_2indep(
            41, 28_010, 15, 19_017, value=ratio, method="cond-midp", alternative="larger"
        )
        assert chance_of_excess(41, table, ratio) == pytest.approx(printed.pvalue, rel=5e-3)
    found = rate_ratio(41, table, spread=3, confidence=0.95)  # hardly anything believed before
    assert found.times == pytest.approx(41 / 28_010 / (15 / 19_017), rel=0.03)
    low, _ = confint_poisson_2indep(41, 28_010, 15, 19_017, method="score", compare="ratio")
    assert found.at_least == pytest.approx(low, rel=0.05)


@pytest.mark.parametrize("count", [2, 4, 8, 16])
@pytest.mark.parametrize("spread", [0.3, 0.8])
def test_gamma_rates_make_negative_binomial_counts(count: int, spread: float) -> None:
    """Greenwood & Yule 1920; scipy.stats.nbinom.

    Where the rest is very many more than the group, its events tell its rate for sure.
    """
    mean, many = 4.0, 10**6
    band = [Matched(group=many // 1000, rest=many, events=round(mean * 1000) + count)]
    shape = 1 / spread**2
    counts = nbinom(shape, shape / (shape + mean))
    tail = counts.sf(count) + counts.pmf(count) / 2
    assert chance_by_nature(count, band, Nature(spread, 0.0)) == pytest.approx(tail, rel=0.08)


@pytest.mark.parametrize("times", [1.5, 2.0, 3.0])
@pytest.mark.parametrize("alike", [0.1, 0.5, 1.0])
def test_of_very_many_only_the_nature_of_groups_is_left(times: float, alike: float) -> None:
    """The ratio of two gamma rates is beta prime: scipy.stats.betaprime."""
    shape, cars = 1 / 0.3**2, 10**6
    hers, others = round(2000 * times), 20_000
    band = [Matched(group=cars, rest=10 * cars, events=hers + others)]
    ratio = betaprime(shape, shape / alike, scale=1 / alike)
    found = chance_by_nature(hers, band, Nature(0.3, alike))
    assert found == pytest.approx(ratio.sf(times), rel=0.08)


def test_events_to_expect_are_those_of_a_printed_table() -> None:
    """Package openEBGM, vignette "Processing raw data": 17 reports, their N, E and relative rate.

    Each report names one of A, B and C and one of two events.
    """
    counts = {"A": (5, 4), "B": (3, 4), "C": (1, 0)}
    printed = {
        ("A", 0): (4.7647059, 1.05),
        ("A", 1): (4.2352941, 0.94),
        ("B", 0): (3.7058824, 0.81),
        ("B", 1): (3.2941176, 1.21),
        ("C", 0): (0.5294118, 1.89),
    }
    for (group, event), (mean, rate) in printed.items():
        of_event = sum(row[event] for row in counts.values())
        of_group = sum(counts[group])
        found = expected([Matched(group=of_group, rest=17 - of_group, events=of_event)])
        assert found == pytest.approx(mean, abs=5e-8)
        assert counts[group][event] / found == pytest.approx(rate, abs=5e-3)


@pytest.mark.parametrize(
    ("mean", "of_first", "middle", "low"),
    [
        (0.0360548272, 0.2819737, 2.23, 0.49),
        (0.0038736591, 0.3409653, 2.58, 0.52),
        (0.0002979738, 0.3482317, 2.63, 0.52),
        (0.0765792610, 0.2226356, 1.92, 0.47),
    ],
)
def test_one_report_tells_of_its_rate_as_printed(
    mean: float, of_first: float, middle: float, low: float
) -> None:
    """Package openEBGM, vignette "Empirical Bayes metrics": Qn, EBGM and 5 % quantile of N = 1.

    The gamma-Poisson shrinker of DuMouchel, "Bayesian data mining in large frequency tables", The
    American Statistician 53(3), 1999, with the hyperparameters printed there (shapes, rates, share
    of the first); the densities are scipy's, how likely the count is at each rate is ours.
    """
    share = 0.06534557
    ratios = np.exp(np.linspace(-12.0, 5.0, 4001))
    band = [Matched(group=1000, rest=10**6, events=1001, wear=mean)]  # a thousandth is theirs
    likely = _relative_chances(1, band, ratios) * ratios
    first = likely * share * gamma.pdf(ratios, 3.25379356, scale=1 / 0.39988854)
    second = likely * (1 - share) * gamma.pdf(ratios, 2.02612692, scale=1 / 1.90807970)
    belief = (first + second) / (first + second).sum()
    assert first.sum() / (first + second).sum() == pytest.approx(of_first, rel=3e-3)
    assert np.exp(belief @ np.log(ratios)) == pytest.approx(middle, abs=0.01)
    assert np.interp(0.05, belief.cumsum(), ratios) == pytest.approx(low, abs=0.01)


def test_fishers_tea() -> None:
    """Fisher, The Design of Experiments, 1935: the lady tasting tea, [[3, 1], [1, 3]]: 0.2429."""
    assert chance_of_association(3, [Stratum(8, 4, 4)]) == pytest.approx(17 / 70, abs=1e-12)
    assert chance_of_association(4, [Stratum(8, 4, 4)]) == pytest.approx(1 / 70, abs=1e-12)


def test_trend_equals_counting_every_arrangement() -> None:
    """Mann & Whitney 1947: without a trend all ways to share out the days are equally likely."""
    days, others = [19, 22, 16, 29, 24], [20, 11, 17, 12]
    kind, chance = trend(days, others, level=0.05, least=3)

    def later(of: Collection[int]) -> int:
        """Count the pairs in which the day is later than the other."""
        return sum(day > other for day in of for other in {*days, *others} - {*of})

    counts = [later(of) for of in combinations([*days, *others], len(days))]
    seen = later(days)
    tails = sum(c >= seen for c in counts), sum(c <= seen for c in counts)
    assert chance == pytest.approx(2 * min(tails) / len(counts), abs=1e-12)
    assert kind is Trend.STEADY
    assert trend(days, others, level=0.2, least=3)[0] is Trend.GROWING
    assert trend(others, days, level=0.2, least=3)[0] is Trend.FADING
