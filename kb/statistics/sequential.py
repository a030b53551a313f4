"""Looking again and again without a false alarm too many: formulas only."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

HIGHEST = 60.0
"""No critical value of a chance that anybody would ask for is higher: e to its power is 1e26."""
STEPS = 40
"""Halvings of the interval in which a critical value lies."""


def surprise(hits: int, tried: int, share: float) -> float:
    """Return the log likelihood ratio of so many hits against `share` of those tried; 0 or more.

    Fewer hits than that are no surprise.

    References
    ----------
    Kulldorff et al., "A maximized sequential probability ratio test for drug and vaccine safety
    surveillance", Sequential Analysis 30(1), 2011: the binomial form.

    Examples
    --------
    >>> round(surprise(4, 4, 0.5), 3)
    2.773
    >>> surprise(1, 4, 0.5)
    0.0
    """
    if hits <= tried * share:
        return 0.0
    if share <= 0:
        return math.inf
    missed = tried - hits
    told = hits * math.log(hits / (tried * share))
    return told + (missed * math.log(missed / (tried * (1 - share))) if missed else 0.0)


def crossing_chance(shares: Sequence[float], critical: float, least: int) -> float:
    """Return the chance that the surprise ever reaches a critical value, by luck alone.

    Parameters
    ----------
    shares : sequence of float
        The chance of a hit at each trial, in their order; they need not be alike.
    critical : float
        In units of `surprise`, taken after each trial against the mean of the shares so far.
    least : int
        With fewer hits nothing is told.

    Examples
    --------
    >>> crossing_chance([0.5, 0.5, 0.5], 2.0, least=1)
    0.125
    """
    means = np.cumsum(shares) / np.arange(1, len(shares) + 1)
    running, crossed = np.ones(1), 0.0
    bound = 0
    for tried, (share, mean) in enumerate(zip(shares, means, strict=True), start=1):
        running = _one_more(running, share)
        bound = _bound(tried, float(mean), critical, least, bound)
        crossed += float(running[bound:].sum())
        running = running[:bound]
    return crossed


def critical_value(shares: Sequence[float], chance: float, least: int) -> float:
    """Return the smallest value that the surprise reaches by luck with at most this chance.

    The surprise takes few values only, so that the chance is mostly somewhat less.

    Raises
    ------
    ValueError
        If the chance is not between 0 and 1.

    Examples
    --------
    >>> round(critical_value([0.5] * 5, 0.05, least=1), 3)
    2.773
    """
    if not 0 < chance < 1:
        raise ValueError("a chance of false alarm lies between 0 and 1")
    low, high = 0.0, HIGHEST
    for _ in range(STEPS):
        middle = (low + high) / 2
        if crossing_chance(shares, middle, least) > chance:
            low = middle
        else:
            high = middle
    return high


def _one_more(running: NDArray[np.float64], share: float) -> NDArray[np.float64]:
    """Chances of 0, 1, 2 ... hits after one more trial."""
    after = np.zeros(len(running) + 1)
    after[:-1] = running * (1 - share)
    after[1:] += running * share
    return after


def _bound(tried: int, share: float, critical: float, least: int, before: int) -> int:
    """Return the fewest hits that are told, looked for from those of the trial before."""
    hits = max(least, before)
    while hits > least and surprise(hits - 1, tried, share) >= critical:
        hits -= 1
    while hits <= tried and surprise(hits, tried, share) < critical:
        hits += 1
    return hits
