"""How often something befalls a group against how often it befalls the rest: formulas only."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP, STEPS = 0.03, 120
"""Steps of a log ratio, and how many either way of the least excess: 40 times less and more."""
TRIED = np.exp(np.linspace(-1.0, 1.0, 21))
"""Spreads that are tried, in shares of the one believed before."""


@dataclass(frozen=True, slots=True)
class Matched:
    """What befell comparable vehicles: of `group` and `rest` vehicles watched, `events` in all.

    It befalls a vehicle once at most. Such vehicles as those of the group have it `wear` times as
    often as those of the rest, whoever built them, see `relative_rates`.
    """

    group: int
    rest: int
    events: int
    wear: float = 1.0


@dataclass(frozen=True, slots=True)
class RateRatio:
    """How many times as often as to the rest: the middle of what it may be, and its low end."""

    times: float
    at_least: float


def relative_rates(events: Floats, watched: Floats, pull: float) -> Floats:
    """Return how many times as often as all together each kind of vehicle has something.

    Parameters
    ----------
    events, watched : array of shape (..., kinds)
        What befell how many vehicles of each kind.
    pull : float
        The events that "as often as all" counts for, beside those of a kind.

    References
    ----------
    Indirect standardisation: Breslow & Day, "Statistical Methods in Cancer Research" II, 1987,
    section 2.3; the shrunken rates of kinds: Clayton & Kaldor, "Empirical Bayes estimates of
    age-standardized relative risks", Biometrics 43(3), 1987.

    Examples
    --------
    >>> relative_rates(np.array([1.0, 9.0]), np.array([50.0, 50.0]), 5.0)
    array([0.6, 1.4])
    """
    rate = events.sum(-1, keepdims=True) / np.maximum(watched.sum(-1, keepdims=True), 1e-12)
    rates: Floats = (events + pull) / (watched * rate + pull)
    return rates


def expected(bands: Sequence[Matched], ratio: float = 1.0) -> float:
    """Events of the group to expect, of all that there were, if its rate is `ratio` times.

    Examples
    --------
    >>> expected([Matched(group=20, rest=60, events=8)])
    2.0
    """
    return sum(each.events * _share(each, ratio) for each in bands)


def chance_of_excess(observed: int, bands: Sequence[Matched], ratio: float = 1.0) -> float:
    """One-sided mid-p value of at least so many events of the group, if its odds are `ratio` times.

    Given how many events a band saw, those of its group are hypergeometric; their sum over the
    bands is compared. Half the chance of just so many counts, so that small counts are not judged
    too carefully.

    References
    ----------
    Fisher's exact test, stratified: Gart, "Point and interval estimation of the common odds ratio
    in the combination of 2 x 2 tables with fixed marginals", Biometrika 57, 1970; mid-p: Lancaster,
    "Significance tests in discrete distributions", Journal of the American Statistical Association
    56, 1961.

    Examples
    --------
    >>> round(chance_of_excess(3, [Matched(group=4, rest=4, events=4)]), 4)
    0.1286
    """
    counts = _counts(bands, ratio)
    if observed >= len(counts):
        return 0.0
    return min(1.0, float(counts[observed + 1 :].sum() + counts[max(observed, 0)] / 2))


def least_chance(bands: Sequence[Matched], ratio: float = 1.0) -> float:
    """Return about the smallest value that `chance_of_excess` can take: all events of the group.

    That event after event befalls one of its vehicles that are left, as far as it has any.
    """
    logs = (_log_all(each, ratio * each.wear) for each in bands if each.group and each.rest)
    return math.exp(math.fsum(logs)) / 2


@dataclass(frozen=True, slots=True)
class Excesses:
    """What rates of groups are believed to be, in those of the rest, before anything is seen.

    Most groups differ by nature alone: a gamma distribution around the rest's rate, with the
    standard deviation `spread`, in shares of it. A `share` has an excess of at least `least` times:
    its logarithm beyond that is exponential with the mean `scale`. `chance_of_less` takes them for
    ratios of odds, which are those of rates where few vehicles have it, and greater where most do.
    """

    spread: float
    least: float
    scale: float
    share: float


def chance_of_less(observed: int, bands: Sequence[Matched], believed: Excesses) -> float:
    """Return how likely the group has less than `least` times the rest's rate after all.

    Whether nature or an excess makes it that much is all the same.

    References
    ----------
    What is believed of a rate after its count, where rates are a mixture: DuMouchel, "Bayesian data
    mining in large frequency tables", The American Statistician 53(3), 1999; as local false
    discovery: Efron, "Microarrays, empirical Bayes and the two-groups model", Statistical Science
    23(1), 2008.
    """
    ratios, likely = mixture(believed)
    belief = likely * _chances_by_odds(observed, bands, ratios)
    return float(belief[:STEPS].sum() / belief.sum())


def natural_spread(
    seen: Sequence[tuple[int, Sequence[Matched]]], believed: Excesses, doubt: float
) -> float:
    """Return how much the rates of groups differ by nature, in shares of the rate.

    That with which the events that were seen are likeliest, among groups that had any; what is
    believed of excesses keeps a few of them from passing for the nature of all. Its logarithm is
    believed to be normal before, around that of `believed.spread` with the standard deviation
    `doubt`.

    References
    ----------
    Empirical Bayes by the marginal likelihood of counts that are not none: DuMouchel 1999, as
    above.

    Examples
    --------
    >>> round(natural_spread([], Excesses(0.3, 1.5, 0.8, 0.003), 0.5), 6)
    0.3
    """
    spreads = believed.spread * TRIED
    mixtures = [mixture(replace(believed, spread=float(each))) for each in spreads]
    ratios, likely = mixtures[0][0], np.array([weights for _, weights in mixtures]).T
    fits = -((np.log(TRIED) / doubt) ** 2) / 2
    for observed, bands in seen:
        counts = _relative_chances(observed, bands, ratios) @ likely
        fits += np.log(counts) - np.log(_chances_of_any(bands, ratios) @ likely)
    return float(spreads[fits.argmax()])


def rate_ratio(
    observed: int, bands: Sequence[Matched], *, spread: float, confidence: float
) -> RateRatio:
    """Return how many times the rest's rate the group's is: shrunken, with its low end.

    The logarithm is believed to be normal around none before anything is seen, with the standard
    deviation `spread`; the median of what is believed after, and the lower end of the two-sided
    interval of the stated confidence. Events are counted as if one could befall a vehicle twice:
    where most vehicles have it, that is the ratio of the shares that are told, and its low end errs
    to the careful side.

    References
    ----------
    Spiegelhalter, Abrams & Myles, "Bayesian Approaches to Clinical Trials and Health-Care
    Evaluation", 2004, section 3.4: sceptical priors of log rate ratios.
    """
    logs = np.linspace(-4 * spread, 4 * spread, 401)
    likelihood = _relative_chances(observed, bands, np.exp(logs))
    belief = np.cumsum(likelihood * np.exp(-((logs / spread) ** 2) / 2))
    middle, low = np.interp([0.5, (1 - confidence) / 2], belief / belief[-1], logs)
    return RateRatio(times=math.exp(middle), at_least=math.exp(low))


def least_visible(group: int, rest: int, rate: float, level: float, most: float = 50.0) -> float:
    """Return how many times the rest's rate a group's must be for its likeliest count to show.

    Parameters
    ----------
    group, rest : int
        Vehicles.
    rate : float
        Share of the rest that has the fault.
    level : float
        Chance by luck at which it shows.
    most : float
        Is returned where nothing would show.

    Examples
    --------
    >>> least_visible(1000, 1000, 0.05, 0.001) < least_visible(20, 1000, 0.05, 0.001)
    True
    """
    others = round(rest * rate)
    for count in range(1, group + 1):
        if chance_of_excess(count, [Matched(group, rest, count + others)]) <= level:
            return min(most, count / (group * rate))
    return most


def _share(band: Matched, ratio: float) -> float:
    """Of the group in the band's events, where its rate is `ratio` times the rest's."""
    weighed = ratio * band.wear * band.group
    return weighed / (weighed + band.rest) if weighed else 0.0


def _log_all(band: Matched, odds: float) -> float:
    """Log of the chance that events befall the group's vehicles one after another, none other's."""
    others = band.rest / odds
    left = band.group - min(band.group, band.events)
    every = math.lgamma(band.group + 1) - math.lgamma(band.group + 1 + others)
    return every - math.lgamma(left + 1) + math.lgamma(left + 1 + others)


def _counts(bands: Sequence[Matched], ratio: float) -> Floats:
    """Chances of 0, 1, 2 ... events of the group."""
    chances = np.ones(1)
    for band in bands:
        hits, logs = _ways(band)
        logs = logs + hits * math.log(ratio)
        of_band = np.zeros(int(hits[-1]) + 1)
        of_band[hits.astype(int)] = np.exp(logs - logs.max())
        chances = np.convolve(chances, of_band / of_band.sum())
    return chances


def _ways(band: Matched) -> tuple[Floats, Floats]:
    """Return how many of a band's events can be the group's, and logs of how likely each is."""
    hits = np.arange(max(0, band.events - band.rest), min(band.group, band.events) + 1)
    logs = _log_choose(band.group, hits) + _log_choose(band.rest, band.events - hits)
    return hits.astype(np.float64), logs + hits * math.log(band.wear)


def _log_choose(among: int, taken: NDArray[np.int_]) -> Floats:
    logs = _log_factorials(among.bit_length())
    ways: Floats = logs[among] - logs[taken] - logs[among - taken]
    return ways


@lru_cache(maxsize=64)
def _log_factorials(bits: int) -> Floats:
    """Logs of the factorials of all numbers of so many bits."""
    return np.cumsum([0.0, *map(math.log, range(1, 1 << bits))])


def _chances_by_odds(observed: int, bands: Sequence[Matched], ratios: Floats) -> Floats:
    """Return the chances of just so many events at some ratios of odds, in shares of the greatest.

    How the events may be spread over the bands is a factor that is the same at every ratio.
    """
    logs = observed * np.log(ratios)
    for band in bands:
        hits, ways = _ways(band)
        logs -= np.logaddexp.reduce(np.outer(np.log(ratios), hits) + ways, axis=1)
    chances: Floats = np.exp(logs - logs.max())
    return chances


def _relative_chances(observed: int, bands: Sequence[Matched], ratios: Floats) -> Floats:
    """Return the chances of just so many events at some ratios, in shares of the greatest.

    Binomials whose odds all grow with the ratio are one exponential family: how the events may be
    spread over the bands is a factor that is the same at every ratio, and cancels.
    """
    group, rest, events = np.array(
        [(each.wear * each.group, each.rest, each.events) for each in bands if each.group]
    ).T
    logs = observed * np.log(ratios) - np.log(np.outer(ratios, group) + rest) @ events
    chances: Floats = np.exp(logs - logs.max())
    return chances


def _chances_of_any(bands: Sequence[Matched], ratios: Floats) -> Floats:
    """Return the chances that any event is the group's, at some ratios, as `_relative_chances`."""
    none = np.ones(len(ratios))
    for each in bands:
        none *= (each.rest / (each.rest + ratios * each.wear * each.group)) ** each.events
    return 1 - none


@lru_cache(maxsize=64)
def mixture(believed: Excesses) -> tuple[Floats, Floats]:
    """Return ratios, those of an excess from `STEPS` on, and how likely each is beforehand.

    References
    ----------
    Gamma and a tail: DuMouchel 1999, as of `chance_of_less`.
    """
    logs = STEP * (np.arange(-STEPS, STEPS) + 0.5)
    ratios = believed.least * np.exp(logs)
    nature = np.exp((np.log(ratios) - ratios + 1) / believed.spread**2)
    excess = np.where(logs > 0, np.exp(-np.maximum(logs, 0) / believed.scale), 0.0)
    share = believed.share
    return ratios, (1 - share) * nature / nature.sum() + share * excess / excess.sum()
