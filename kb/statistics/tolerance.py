"""Tolerance intervals: where a stated share of all good readings lies, with stated confidence."""

import math
from functools import lru_cache
from itertools import takewhile
from statistics import NormalDist

from kb.errors import InvalidField
from kb.statistics import beta, chisquare
from kb.statistics.roots import crossing

_NORMAL = NormalDist()
_NODES = 400
"""Nodes of Simpson's rule: factors are then right to eight digits, from three readings on."""
_REACH = 8.0
"""Beyond so many standard deviations of its own a sample's spread is never worth a node."""


@lru_cache(maxsize=4096)
def two_sided(count: int, content: float, confidence: float, freedom: int | None = None) -> float:
    """Howe's factor k: mean ± k standard deviations hold `content` of a normal population.

    `freedom` are the degrees of freedom behind the standard deviation, where they are not ``count -
    1``; of readings behind the mean there are at least 2, or 1 if it is given.

    Raises
    ------
    InvalidField
        If there are too few readings, or a share is no chance.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3; Howe, "Two-sided tolerance limits
    for normal populations", Journal of the American Statistical Association 64, 1969.

    Examples
    --------
    >>> round(two_sided(43, 0.90, 0.99), 4)
    2.2173
    """
    freedom = _freedom(count, content, confidence, freedom)
    middle = _NORMAL.inv_cdf((1 + content) / 2) * math.sqrt(1 + 1 / count)
    return middle * math.sqrt(freedom / chisquare.quantile(1 - confidence, freedom))


@lru_cache(maxsize=4096)
def one_sided(count: int, content: float, confidence: float, freedom: int | None = None) -> float:
    """Exact factor k: `content` of a normal population lies below mean + k standard deviations.

    The factor is a quantile of the noncentral t distribution over the root of `count`; the
    distribution is found by Simpson's rule over the standard deviation. Parameters and errors are
    those of `two_sided`.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, "Tolerance factors based on the
    non-central t distribution".

    Examples
    --------
    >>> round(one_sided(43, 0.90, 0.99), 3)
    1.874
    """
    freedom = _freedom(count, content, confidence, freedom)
    grid = _spreads(freedom)
    wanted, root = _NORMAL.inv_cdf(content), math.sqrt(count)

    def held(k: float) -> float:
        return sum(weight * _NORMAL.cdf(root * (k * s - wanted)) for s, weight in grid)

    high = 1.0
    while held(high) < confidence:
        high *= 2
    return crossing(lambda k: held(k) - confidence, -40.0, high)


def expected_content(k: float, count: int, freedom: int | None = None, *, sides: int = 2) -> float:
    """Share of a normal population that mean ± k standard deviations hold on average.

    `count` and `freedom` are as for `two_sided`; with one of `sides` it is the share below
    mean + k.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3 for the interval; a new reading lies
    from the mean by Student's t times s times the root of 1 + 1/n (prediction interval).

    Examples
    --------
    >>> round(expected_content(two_sided(43, 0.90, 0.99), 43), 3)
    0.966
    """
    freedom = count - 1 if freedom is None else freedom
    t = k / math.sqrt(1 + 1 / count)
    beyond = beta.cdf(freedom / (freedom + t * t), freedom / 2, 0.5)
    return 1 - beyond if sides == 2 else 1 - beyond / 2


@lru_cache(maxsize=4096)
def order_rank(count: int, content: float, confidence: float, *, sides: int = 2) -> int:
    """Rank, from either end, of the readings that bound `content` of any population.

    From 1, as far inside as the confidence allows; 0 if there are too few readings. With one of
    `sides` only that end is bounded.

    When so many gaps between readings are cut off in all, the share that is left of any population
    follows Beta(count + 1 - gaps, gaps).

    Raises
    ------
    InvalidField
        If a share is no chance.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.4; Wilks, "Determination of sample
    sizes for setting tolerance limits", Annals of Mathematical Statistics 12, 1941.

    Examples
    --------
    >>> order_rank(92, 0.95, 0.95), order_rank(93, 0.95, 0.95)
    (0, 1)
    >>> order_rank(58, 0.95, 0.95, sides=1), order_rank(59, 0.95, 0.95, sides=1)
    (0, 1)
    """
    _check(content, confidence)
    gaps = range(sides, count + 1, sides)
    held = (1 - beta.cdf(content, count + 1 - each, each) for each in gaps)
    return sum(1 for _ in takewhile(lambda share: share >= confidence, held))


def student_quantile(probability: float, freedom: int) -> float:
    """Find the point below which Student's t lies with a probability above one half.

    Examples
    --------
    >>> round(student_quantile(0.975, 10), 3)
    2.228
    """
    x = beta.quantile(2 * (1 - probability), freedom / 2, 0.5)
    return math.sqrt(freedom * (1 - x) / x)


def _freedom(count: int, content: float, confidence: float, freedom: int | None) -> int:
    _check(content, confidence)
    freedom = count - 1 if freedom is None else freedom
    if count < 1 or freedom < 1:
        raise InvalidField("count", count, "is too few readings for a spread; take two or more")
    return freedom


def _check(content: float, confidence: float) -> None:
    for name, share in (("content", content), ("confidence", confidence)):
        if not 0 < share < 1:
            raise InvalidField(name, share, "must lie between 0 and 1, as 0.95")


@lru_cache(maxsize=256)
def _spreads(freedom: int) -> tuple[tuple[float, float], ...]:
    """Nodes and Simpson weights of the sample standard deviation of a standard normal."""
    reach = _REACH / math.sqrt(2 * freedom)
    low, high = max(1e-9, 1 - reach), 1 + reach
    step = (high - low) / _NODES
    nodes = [low + step * place for place in range(_NODES + 1)]
    weights = [
        (1 if place in (0, _NODES) else 4 if place % 2 else 2)
        * math.exp((freedom - 1) * math.log(s) - freedom * (s * s - 1) / 2)
        for place, s in enumerate(nodes)
    ]
    total = math.fsum(weights)
    return tuple((s, weight / total) for s, weight in zip(nodes, weights, strict=True))
