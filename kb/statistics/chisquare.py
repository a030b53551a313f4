"""The chi-square distribution in plain mathematics; the query may not wait for a library."""

import math
from statistics import NormalDist

_TERMS = 10_000
_STEPS = 200
_EPSILON = 1e-15
_TINY = 1e-300


def cdf(x: float, freedom: float) -> float:
    """Chance that a chi-square variable is at most `x`: the regularised lower incomplete gamma.

    Parameters
    ----------
    x
        Point; below 0 the answer is 0.
    freedom
        Degrees of freedom, above 0.

    Returns
    -------
    float
        Probability.

    Raises
    ------
    ValueError
        If `freedom` is not a finite number above 0.

    References
    ----------
    NIST Digital Library of Mathematical Functions, 8.11.4 (series) and 8.9.2 (continued
    fraction).

    Examples
    --------
    >>> round(cdf(3.841459, 1), 6)
    0.95
    """
    _check(freedom)
    shape, half = freedom / 2, x / 2
    if half <= 0:
        return 0.0
    front = math.exp(shape * math.log(half) - half - math.lgamma(shape))
    if half < shape + 1:
        return front * _series(shape, half)
    return 1.0 - front * _continued_fraction(shape, half)


def quantile(probability: float, freedom: float) -> float:
    """Find the point below which a chi-square variable lies with the given probability.

    Parameters
    ----------
    probability
        Between 0 and 1.
    freedom
        Degrees of freedom, above 0.

    Returns
    -------
    float
        Point, found by halving from a bracket around Wilson and Hilferty's approximation.

    Raises
    ------
    ValueError
        If `freedom` is not a finite number above 0, or `probability` not between 0 and 1.

    Examples
    --------
    >>> round(quantile(0.01, 42), 3)
    23.65
    """
    _check(freedom)
    if not 0 < probability < 1:
        raise ValueError(f"probability must lie between 0 and 1, not {probability}")
    part = 2 / (9 * freedom)
    root = 1 - part + NormalDist().inv_cdf(probability) * math.sqrt(part)
    low = high = freedom * max(root, 0.1) ** 3
    while cdf(low, freedom) > probability:
        low /= 2
    while cdf(high, freedom) < probability:
        high *= 2
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if high - low <= _EPSILON * high or middle in (low, high):
            break
        if cdf(middle, freedom) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _check(freedom: float) -> None:
    if not (math.isfinite(freedom) and freedom > 0):
        raise ValueError(f"degrees of freedom must be above 0, not {freedom}")


def _series(shape: float, half: float) -> float:
    term = total = 1 / shape
    for step in range(1, _TERMS):
        term *= half / (shape + step)
        total += term
        if term < total * _EPSILON:
            break
    return total


def _continued_fraction(shape: float, half: float) -> float:
    """Lentz's method for the upper incomplete gamma function."""
    base = half + 1 - shape
    upper, lower = 1 / _TINY, 1 / base
    value = lower
    for step in range(1, _TERMS):
        term = -step * (step - shape)
        base += 2
        lower = 1 / _off_zero(base + term * lower)
        upper = _off_zero(base + term / upper)
        value *= upper * lower
        if abs(upper * lower - 1) < _EPSILON:
            break
    return value


def _off_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
