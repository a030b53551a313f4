"""Counts that exceed their share, and counts that grow: formulas only, nothing of jobs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np


@dataclass(frozen=True, slots=True)
class Stratum:
    """A table of two marks within one band of comparable vehicles.

    `total` vehicles, of which `group` are of the group asked about and `fault` have the fault.
    """

    total: int
    group: int
    fault: int


class Trend(StrEnum):
    """Whether something takes a growing share of the work as time goes by."""

    RISING = "rising"
    FALLING = "falling"
    UNCLEAR = "no clear trend"
    TOO_FEW = "too few to tell"


def expected(strata: Sequence[Stratum]) -> float:
    """Vehicles to expect where group and fault have nothing to do with one another.

    Within each band of comparable vehicles group x fault / total is expected.

    References
    ----------
    DuMouchel, "Bayesian data mining in large frequency tables", The American Statistician 53(3),
    1999. Margins count each vehicle once, as in the R package openEBGM, function processRaw.
    """
    return sum(each.group * each.fault / each.total for each in strata if each.total)


def least_component(observed: int, expected: float, confidence: float = 0.95) -> float:
    """Lower end of the information component, log2((observed + 1/2) / (expected + 1/2)).

    The halves draw small counts towards no excess, so that three where half of one was expected
    weigh less than thirty where five were. The end is that of the two-sided credible interval
    with the stated confidence.

    References
    ----------
    Norén, Hopstadius & Bate, "Shrinkage observed-to-expected ratios for robust and transparent
    large-scale pattern discovery", Statistical Methods in Medical Research 22(1), 2013; lower
    end from the quantile of a gamma distribution, as in the R packages pvda and vigicaen.

    Examples
    --------
    >>> least_component(9, 2.4)
    0.6188...
    """
    from scipy.special import gammaincinv  # noqa: PLC0415  slow to import

    quantile = float(gammaincinv(observed + 0.5, (1 - confidence) / 2))
    return math.log2(quantile / (expected + 0.5))


def chance_of_excess(observed: int, strata: Sequence[Stratum]) -> float:
    """One-sided chance of at least so many by luck alone: Fisher's exact test, stratified.

    Within each stratum the count is hypergeometric; their sum is compared with `observed`, the
    vehicles of the group with the fault over all strata.

    References
    ----------
    Fisher, "The Design of Experiments", 1935; Gart, "Point and interval estimation of the common
    odds ratio in the combination of 2 x 2 tables with fixed marginals", Biometrika 57, 1970.

    Examples
    --------
    >>> chance_of_excess(3, [Stratum(total=8, group=4, fault=4)])
    0.242857...
    """
    from scipy.stats import hypergeom  # noqa: PLC0415  slow to import

    chances = np.ones(1)
    for each in strata:
        possible = np.arange(min(each.group, each.fault) + 1)
        chances = np.convolve(chances, hypergeom.pmf(possible, each.total, each.fault, each.group))
    return min(1.0, float(chances[max(observed, 0) :].sum()))


def false_discovery(chances: Sequence[float], looked_at: int) -> list[float]:
    """Adjust the smallest p-values for how many combinations were looked at.

    Those not in `chances` count as of no interest. Each result is the share of false alarms to
    expect if all at least as striking are believed.

    References
    ----------
    Benjamini & Hochberg, "Controlling the false discovery rate", Journal of the Royal
    Statistical Society B 57(1), 1995.
    """
    from scipy.stats import false_discovery_control  # noqa: PLC0415  slow to import

    rest = max(0, looked_at - len(chances))
    adjusted = false_discovery_control([*chances, *[1.0] * rest]) if chances else []
    return [float(each) for each in adjusted[: len(chances)]]


def trend(
    days: Sequence[int], other_days: Sequence[int], *, level: float, least: int
) -> tuple[Trend, float | None]:
    """Tell whether days of one kind lie later than the days of all others, and with which p-value.

    Both kinds come from the same shop, so that more work in later years is no trend by itself.
    A two-sided p-value below `level` is a trend; with fewer days of either kind than `least`
    nothing is said, and the p-value is None.

    References
    ----------
    Mann & Whitney, "On a test of whether one of two random variables is stochastically larger
    than the other", Annals of Mathematical Statistics 18, 1947.
    """
    from scipy.stats import mannwhitneyu  # noqa: PLC0415  slow to import

    if min(len(days), len(other_days)) < least:
        return Trend.TOO_FEW, None
    test = mannwhitneyu(days, other_days, alternative="two-sided")
    chance = float(test.pvalue)
    if not chance < level:
        return Trend.UNCLEAR, chance
    later = float(test.statistic) > len(days) * len(other_days) / 2
    return (Trend.RISING if later else Trend.FALLING), chance
