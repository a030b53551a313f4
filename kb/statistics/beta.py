"""The beta distribution in plain mathematics.

Every interval on the query path needs its quantiles, and the libraries that have them take
longer to import than the whole query may last.
"""

import math

_HALF_LOG_TWO_PI = 0.5 * math.log(2 * math.pi)
_CONTINUATIONS = 20_000
_NEWTON_STEPS, _HALVINGS = 100, 60
_NARROW = 1e-15
_NODES = 64
_EPSILON = 1.2e-16
_TINY = 1e-300


def cdf(x: float, a: float, b: float) -> float:
    """Chance that a Beta(a, b) variable is at most `x`: the regularised incomplete beta function.

    Parameters
    ----------
    x
        Point; outside 0 to 1 the answer is 0 or 1.
    a, b
        Shape parameters, above 0.

    Returns
    -------
    float
        Probability, right to about 1e-11 for shapes from 1e-3 to 1e5.

    Raises
    ------
    ValueError
        If a shape parameter is not a finite number above 0.

    References
    ----------
    NIST Digital Library of Mathematical Functions, 8.17.22 (continued fraction) and 8.17.4
    (symmetry).

    Examples
    --------
    >>> round(cdf(0.5, 2, 3), 6)
    0.6875
    """
    _check_shapes(a, b)
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - _lower_tail(1 - x, x, b, a)
    return _lower_tail(x, 1 - x, a, b)


def quantile(probability: float, a: float, b: float) -> float:
    """Find the point below which a Beta(a, b) variable lies with the given probability.

    Newton steps, replaced by halving whenever one would leave the bracket and at last.

    Parameters
    ----------
    probability
        From 0 to 1.
    a, b
        Shape parameters, above 0.

    Returns
    -------
    float
        Point from 0 to 1, right to about 1e-9 for probabilities from 1e-9 to 1 - 1e-7.

    Raises
    ------
    ValueError
        If a shape parameter is not a finite number above 0, or `probability` lies outside 0 to 1.

    Examples
    --------
    >>> round(quantile(0.025, 3, 1), 4)
    0.2924
    """
    _check_shapes(a, b)
    if not 0 <= probability <= 1:
        raise ValueError(f"probability must lie in 0 to 1, not {probability}")
    if probability in (0, 1):
        return float(probability)
    low, high, x = 0.0, 1.0, a / (a + b)
    for step in range(_NEWTON_STEPS + _HALVINGS):
        error = cdf(x, a, b) - probability
        if error > 0:
            high = x
        else:
            low = x
        slope = _weight(x, 1 - x, a, b) / (x * (1 - x)) if 0 < x < 1 else 0.0
        guess = x - error / slope if slope > 0 and step < _NEWTON_STEPS else low
        following = guess if low < guess < high else (low + high) / 2
        if abs(following - x) <= 2 * _EPSILON * x or high - low < _NARROW:
            break
        x = following
    return x


def chance_greater(a: float, b: float, c: float, d: float) -> float:
    """Chance that a Beta(a, b) variable is greater than an independent Beta(c, d) one.

    The chance to lie below a point, averaged over the quantiles of whichever variable spreads
    less, by Gauss and Legendre's rule.

    Parameters
    ----------
    a, b, c, d
        Shape parameters, above 0.

    Returns
    -------
    float
        Probability, right to about 1e-4, and to 1e-5 where every shape is at least 1.

    Raises
    ------
    ValueError
        If a shape parameter is not a finite number above 0.

    References
    ----------
    Cook, "Exact calculation of beta inequalities", technical report UTMDABTR-005-05, M. D.
    Anderson Cancer Center, 2005, for the quantity; NIST Digital Library of Mathematical
    Functions, 3.5(v), for the rule.

    Examples
    --------
    >>> round(chance_greater(3, 1, 1, 3), 4)
    0.95
    """
    from numpy.polynomial.legendre import leggauss  # noqa: PLC0415  few questions compare

    for shapes in ((a, b), (c, d)):
        _check_shapes(*shapes)
    if _variance(a, b) < _variance(c, d):
        return 1 - chance_greater(c, d, a, b)
    nodes, weights = leggauss(_NODES)
    below = (cdf(quantile((node + 1) / 2, c, d), a, b) for node in nodes.tolist())
    at_most = sum(
        weight / 2 * chance for weight, chance in zip(weights.tolist(), below, strict=True)
    )
    return min(max(1 - at_most, 0.0), 1.0)


def _check_shapes(a: float, b: float) -> None:
    for shape in (a, b):
        if not (math.isfinite(shape) and shape > 0):
            raise ValueError(f"a shape of the beta distribution must be above 0, not {shape}")


def _variance(a: float, b: float) -> float:
    total = a + b
    return a / total * (b / total) / (total + 1)


def _lower_tail(x: float, rest: float, a: float, b: float) -> float:
    """I_x(a, b) by its continued fraction (Lentz's method); quick for x below the mean."""
    value, upper, lower = 1.0, 1.0, 0.0
    for step in range(1, _CONTINUATIONS):
        term = _coefficient(step, x, a, b)
        lower = 1 / _off_zero(1 + term * lower)
        upper = _off_zero(1 + term / upper)
        value *= upper * lower
        if abs(upper * lower - 1) < 4 * _EPSILON:
            break
    return _weight(x, rest, a, b) / (a * value)


def _coefficient(step: int, x: float, a: float, b: float) -> float:
    """d_step of DLMF 8.17.22."""
    m, odd = divmod(step, 2)
    if odd:
        return -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
    return m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))


def _off_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def _weight(x: float, rest: float, a: float, b: float) -> float:
    """x^a (1-x)^b / B(a, b), without subtracting large logarithms of gamma from one another.

    Saddle-point form of the binomial probability: Loader, "Fast and accurate computation of
    binomial probabilities", 2000.
    """
    total = a + b
    exponent = (
        _stirling_error(total)
        - _stirling_error(a)
        - _stirling_error(b)
        - _deviance(a, total, x)
        - _deviance(b, total, rest)
    )
    return math.exp(exponent - _HALF_LOG_TWO_PI) * math.sqrt(a / total * b)


def _stirling_error(n: float) -> float:
    """Log gamma(n + 1) less its Stirling approximation (DLMF 5.11.1)."""
    if n < 16:
        return math.lgamma(n + 1) - (n + 0.5) * math.log(n) + n - _HALF_LOG_TWO_PI
    square = n * n
    return (1 / 12 - (1 / 360 - (1 / 1260 - 1 / 1680 / square) / square) / square) / n


def _deviance(seen: float, total: float, share: float) -> float:
    """Compute seen log(seen / expected) + expected - seen, exact where the two are close.

    Expected is the share of the total; far off, its logarithm is taken in parts, for the product
    of two small numbers is 0.
    """
    expected = total * share
    gap = seen - expected
    if abs(gap) >= 0.1 * (seen + expected):
        return seen * (math.log(seen / total) - math.log(share)) - gap
    ratio = gap / (seen + expected)
    total, power = gap * ratio, 2 * seen * ratio
    for step in range(1, 12):
        power *= ratio * ratio
        total += power / (2 * step + 1)
    return total
