"""The chi-square distribution, for the factors of normal bands."""

import math

from kb.statistics.roots import crossing

_EPSILON = 1e-17
"""A term this much smaller than the sum changes no digit of it."""
_LOWEST = -200.0
"""Natural logarithm of a point below which no chance of use lies."""


def cdf(x: float, freedom: float) -> float:
    """Chance that a chi-square variable with these degrees of freedom is at most `x`.

    Raises
    ------
    ValueError
        If `freedom` is not a finite number above 0.

    References
    ----------
    NIST Digital Library of Mathematical Functions, 8.11.4: series of the regularised lower
    incomplete gamma function.

    Examples
    --------
    >>> round(cdf(3.841459, 1), 6)
    0.95
    """
    if not (math.isfinite(freedom) and freedom > 0):
        raise ValueError(f"degrees of freedom must be above 0, not {freedom}")
    shape, half = freedom / 2, x / 2
    if half <= 0:
        return 0.0
    term = total = 1 / shape
    while term > total * _EPSILON:
        shape += 1
        term *= half / shape
        total += term
    log_front = freedom / 2 * math.log(half) - half - math.lgamma(freedom / 2)
    return min(math.exp(log_front + math.log(total)), 1.0)


def quantile(probability: float, freedom: float) -> float:
    """Find the point below which a chi-square variable lies with a probability between 0 and 1.

    Raises
    ------
    ValueError
        If `freedom` is not a finite number above 0, or `probability` not between 0 and 1.

    References
    ----------
    Laurent & Massart, "Adaptive estimation of a quadratic functional by model selection", Annals
    of Statistics 28(5), 2000, lemma 1: a point above the one looked for (from memory).

    Examples
    --------
    >>> round(quantile(0.01, 42), 3)
    23.65
    """
    if not 0 < probability < 1:
        raise ValueError(f"probability must lie between 0 and 1, not {probability}")
    beyond = -math.log1p(-probability)
    high = math.log(freedom + 2 * math.sqrt(freedom * beyond) + 2 * beyond)
    return math.exp(crossing(lambda x: cdf(math.exp(x), freedom) - probability, _LOWEST, high))
