"""Since when something takes another share of the work: formulas only."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray


class Trend(StrEnum):
    """Whether something takes a growing share of the work as time goes by."""

    GROWING = "growing"
    FADING = "fading"
    STEADY = "no clear trend"
    TOO_FEW = "too few to tell"
    CARS_UNKNOWN = "no trend told, as which visits are one car's is a guess"


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """Where a share of the work changed.

    The work from place `at` on (0-based) has another share than the work before it: `before` and
    `after`; `earliest` and `latest` are the ends of what that place may be.
    """

    at: int
    earliest: int
    latest: int
    before: float
    after: float


def change_point(marked: Sequence[bool] | NDArray[np.bool_], confidence: float) -> ChangePoint:
    """Tell where the share of the marked among all work changed, taken in the order it came.

    Before it is looked at every place is alike, and the share on each side as the invariant prior
    has it (beta with halves). The place is the median of what is believed after, the interval the
    central one.

    Raises
    ------
    ValueError
        With fewer than two pieces of work there is no place for a change.

    References
    ----------
    Smith, "A Bayesian approach to inference about a change-point in a sequence of random
    variables", Biometrika 62(2), 1975, section 3.1 (binomial).

    Examples
    --------
    >>> change_point([False] * 20 + [True] * 10, 0.9).at
    20
    """
    if len(marked) < 2:
        raise ValueError("no place for a change in fewer than two pieces of work")
    from scipy.special import betaln  # noqa: PLC0415  slow to import

    size, hits = len(marked), int(np.sum(marked))
    places = np.arange(1, size)
    early = np.cumsum(np.asarray(marked, dtype=float))[:-1]
    logs = betaln(early + 0.5, places - early + 0.5) + betaln(
        hits - early + 0.5, size - places - (hits - early) + 0.5
    )
    belief = np.cumsum(np.exp(logs - logs.max()))
    tail = (1 - confidence) / 2
    first, middle, last = (
        int(places[min(np.searchsorted(belief, level * belief[-1]), size - 2)])
        for level in (tail, 0.5, 1 - tail)
    )
    seen = int(early[middle - 1])
    return ChangePoint(
        at=middle,
        earliest=first,
        latest=last,
        before=seen / middle,
        after=(hits - seen) / (size - middle),
    )


def chance_of_silence(marked: Sequence[bool] | NDArray[np.bool_]) -> float:
    """Chance that nothing was marked for so long at the end, if any order was as likely.

    Only what came after the first one is looked at: how long there was none before tells nothing.

    Parameters
    ----------
    marked : array of shape (pieces of work,)
        In the order they came, at least one of them marked.

    References
    ----------
    Of all orders, those with every mark before the silence: the hypergeometric chance of none
    among the last, Fisher, "The Design of Experiments", 1935.

    Examples
    --------
    >>> chance_of_silence([False, True, True, False, False, False])
    0.25...
    """
    places = np.flatnonzero(marked)
    first, last = int(places[0]) + 1, int(places[-1]) + 1
    until, hits, size = last - first, len(places) - 1, len(marked) - first
    return math.exp(
        math.lgamma(until + 1)
        - math.lgamma(until - hits + 1)
        - math.lgamma(size + 1)
        + math.lgamma(size - hits + 1)
    )


def trend(
    days: Sequence[int] | NDArray[np.int_],
    other_days: Sequence[int] | NDArray[np.int_],
    *,
    level: float,
    least: int,
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
        return Trend.STEADY, chance
    later = float(test.statistic) > len(days) * len(other_days) / 2
    return (Trend.GROWING if later else Trend.FADING), chance
