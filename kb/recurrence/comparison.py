"""How often something befalls a group against how often it befalls the rest: formulas only."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP, STEPS = 0.03, 140
RATIOS = np.exp(STEP * np.arange(-STEPS, STEPS + 1))
"""Ratios that are summed over, even in their logarithm: 67 times less and more."""
ANCHORED = 20
"""Ratios beside one another whose counts are those at the middle one, weighed."""
NEVER = 1e-12
"""How likely a ratio must be to be summed over."""
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
class Nature:
    """How much the rates of groups differ by nature alone.

    Each group's is drawn from a gamma distribution with the standard deviation `spread`, in shares
    of the mean. `alike` is how likely two vehicles of the rest are of one group: the rate of a rest
    of many small groups (0) is the mean, that of a single other group (1) is no surer than the
    group's own.
    """

    spread: float
    alike: float


@dataclass(frozen=True, slots=True)
class Excesses:
    """What else rates of groups are believed to be, in those of the rest, before anything is seen.

    A `share` has an excess of at least `least` times: its logarithm beyond that is exponential with
    the mean `scale`; all others differ by nature alone.
    """

    least: float
    scale: float
    share: float


def chance_by_nature(observed: int, bands: Sequence[Matched], nature: Nature) -> float:
    """One-sided mid-p value of at least so many events of the group, if it differs as groups do.

    That of `chance_of_excess` at every ratio of odds that nature may give, weighed by how likely it
    does: about as unlikely as by luck where counts are small, and no less likely than the ratio is
    by nature where they are large. Ratios of odds are those of rates where few vehicles have it,
    and greater where most do.

    References
    ----------
    Counts whose rates are gamma: Greenwood & Yule, Journal of the Royal Statistical Society 83,
    1920; tested against what is seen of others: Gelman, Meng & Stern, "Posterior predictive
    assessment of model fitness", Statistica Sinica 6, 1996.

    Examples
    --------
    >>> band = [Matched(group=1000, rest=9000, events=130)]
    >>> round(chance_of_excess(26, band), 5), round(chance_by_nature(26, band, Nature(0.3, 0)), 3)
    (0.0003, 0.009)
    """
    likely = natural(nature)
    at = np.flatnonzero(likely > NEVER)
    chances = [
        _tails(observed, bands, RATIOS[some])
        for some in np.split(at, range(ANCHORED, len(at), ANCHORED))
    ]
    return min(1.0, float(likely[at] @ np.concatenate(chances)))


def natural_spread(
    seen: Sequence[tuple[int, Sequence[Matched], float]],
    believed: Excesses,
    *,
    spread: float,
    doubt: float,
) -> float:
    """Return how much the rates of groups differ by nature, in shares of the rate.

    That with which the events that were seen (each with its bands and how alike the rest is, see
    `Nature`) are likeliest, among groups that had any; what is believed of excesses keeps a few of
    them from passing for the nature of all. Its logarithm is believed to be normal before, around
    that of `spread` with the standard deviation `doubt`.

    References
    ----------
    Empirical Bayes by the marginal likelihood of counts that are not none, where rates are a
    mixture: DuMouchel, "Bayesian data mining in large frequency tables", The American Statistician
    53(3), 1999.

    Examples
    --------
    >>> round(natural_spread([], Excesses(1.5, 0.8, 0.003), spread=0.3, doubt=0.5), 6)
    0.3
    """
    tried = spread * TRIED
    fits = -((np.log(TRIED) / doubt) ** 2) / 2
    for observed, bands, alike in seen:
        likely = _mixtures(tuple(tried), alike, believed)
        counts = _relative_chances(observed, bands, RATIOS) @ likely
        fits += np.log(counts) - np.log(_chances_of_any(bands, RATIOS) @ likely)
    return float(tried[fits.argmax()])


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


def least_visible(
    group: int, rest: int, rate: float, level: float, nature: Nature, most: float = 50.0
) -> float:
    """Return how many times the rest's rate a group's must be for its likeliest count to show.

    Parameters
    ----------
    group, rest : int
        Vehicles.
    rate : float
        Share of the rest that has the fault.
    level : float
        Chance by nature at which it shows.
    nature : Nature
        How much groups differ.
    most : float
        Is returned where nothing would show.

    Examples
    --------
    >>> small, large = (least_visible(n, 1000, 0.05, 0.001, Nature(0.3, 0.1)) for n in (20, 1000))
    >>> large < small
    True
    """
    others = round(rest * rate)

    def shows(count: int) -> bool:
        return chance_by_nature(count, [Matched(group, rest, count + others)], nature) <= level

    count = bisect_left(range(group + 1), True, lo=1, key=shows)
    return min(most, count / (group * rate)) if count <= group else most


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


def _tails(observed: int, bands: Sequence[Matched], ratios: Floats) -> Floats:
    """Return `chance_of_excess` at ratios that lie close together.

    How the events may be spread over the bands is a factor that is the same at every ratio of odds:
    counts at one ratio are those at another, weighed by a power.
    """
    anchor = float(ratios[len(ratios) // 2])
    counts = _counts(bands, anchor)
    if observed >= len(counts):
        return np.zeros(len(ratios))
    logs = np.log(counts, where=counts > 0, out=np.full(len(counts), -np.inf))
    logs = logs + np.outer(np.log(ratios / anchor), np.arange(len(counts)))
    weighed = np.exp(logs - logs.max(axis=1, keepdims=True))
    more = weighed[:, observed + 1 :].sum(axis=1) + weighed[:, max(observed, 0)] / 2
    tails: Floats = more / weighed.sum(axis=1)
    return tails


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


@lru_cache(maxsize=1024)
def natural(nature: Nature) -> Floats:
    """Return how likely nature gives each of `RATIOS`: a gamma rate by an average of others.

    Sizes of groups make the average's own rate a gamma one as well, as near as matters: the ratio
    is beta prime, and gamma where the rest is sure.
    """
    shape, alike = nature.spread**-2, max(nature.alike, 1e-6)
    logs = shape * (np.log(RATIOS) - (1 + 1 / alike) * np.log1p(alike * RATIOS))
    likely = np.exp(logs - logs.max())
    weights: Floats = likely / likely.sum()
    return weights


@lru_cache(maxsize=256)
def _mixtures(spreads: tuple[float, ...], alike: float, believed: Excesses) -> Floats:
    """Return how likely each of `RATIOS` is beforehand, a column for each spread."""
    over = np.log(RATIOS / believed.least)
    excess = np.where(over > 0, np.exp(-np.maximum(over, 0) / believed.scale), 0.0)
    by_nature = np.array([natural(Nature(each, alike)) for each in spreads])
    share = believed.share
    weights: Floats = ((1 - share) * by_nature + share * excess / excess.sum()).T
    return weights
