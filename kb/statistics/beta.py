"""The beta distribution: every interval on the query path needs its quantiles."""

import math

_CONTINUATIONS = 20_000
"""More than the fraction needs for any shape up to 1e5; it ends when nothing changes."""
_NEWTON_STEPS, _HALVINGS = 100, 60
"""Newton's steps mostly end within ten; so many halvings bring any bracket to the last digit."""
_NARROW = 1e-15
_STILL = 1e-12
"""Share of the point below which a step tells of rounding only: `cdf` is right to fewer digits."""
_EPSILON = 1.2e-16
"""About half the distance from 1 to the next number."""
_LEFT_OUT, _OF_SPREAD = 1e-11, 0.4
"""So much probability beyond the ends of a sum is left out; steps of so much of the spread."""
_TINY = 1e-300
"""Stands for a nought in a denominator, as Lentz's method wants it."""


def cdf(x: float, a: float, b: float) -> float:
    """Chance that a Beta(a, b) variable is at most `x`: the regularised incomplete beta function.

    It is right to about 1e-10 for shapes from 1e-3 to 1e4.

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
    return _cdf(x, 1 - x, a, b)


def quantile(probability: float, a: float, b: float) -> float:
    """Find the point below which a Beta(a, b) variable lies with the given probability.

    Newton steps, replaced by halving whenever one would leave the bracket and at last. It is right
    to about 1e-9 for probabilities from 1e-9 to 1 - 1e-7.

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
        if abs(guess - x) <= _STILL * x or high - low < _NARROW:
            break
        x = guess if low < guess < high else (low + high) / 2
    return x


def chance_greater(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Chance that a variable of one pair of shapes is greater than an independent one of another.

    The density of the one and the distribution of the other are summed at even steps of the
    log odds, where both are smooth and fall off exponentially, so that the trapezoidal rule is
    right to about 1e-9 for shapes from 0.05 to 1e4.

    Raises
    ------
    ValueError
        If a shape parameter is not a finite number above 0.

    References
    ----------
    Cook, "Exact calculation of beta inequalities", technical report UTMDABTR-005-05, M. D.
    Anderson Cancer Center, 2005, for the quantity; Trefethen and Weideman, "The exponentially
    convergent trapezoidal rule", SIAM Review 56 (2014), for the rule.

    Examples
    --------
    >>> round(chance_greater((3, 1), (1, 3)), 4)
    0.95
    """
    _check_shapes(*one, *other)
    if _spread(*one) > _spread(*other):
        return 1.0 - chance_greater(other, one)
    a, b = one
    log_beta = _log_beta(a, b)
    middle = math.log(a / b)
    low = min((math.log(_LEFT_OUT * a) + log_beta) / a, middle)
    high = max(-(math.log(_LEFT_OUT * b) + log_beta) / b, middle)
    steps = math.ceil((high - low) / (_OF_SPREAD * min(_spread(a, b), 1.0)))
    width = (high - low) / steps
    total = 0.0
    for step in range(steps + 1):
        odds = low + step * width
        log_x, log_rest = -_softplus(-odds), -_softplus(odds)
        x, rest = max(math.exp(log_x), _TINY), max(math.exp(log_rest), _TINY)
        total += math.exp(a * log_x + b * log_rest - log_beta) * _cdf(x, rest, *other)
    return min(max(total * width, 0.0), 1.0)


def _spread(a: float, b: float) -> float:
    """Return about the standard deviation of the log odds."""
    return math.sqrt(1 / a + 1 / b)


def _softplus(x: float) -> float:
    """log(1 + e^x) without overflow."""
    return max(x, 0.0) + math.log1p(math.exp(-abs(x)))


def _check_shapes(*shapes: float) -> None:
    for shape in shapes:
        if not (math.isfinite(shape) and shape > 0):
            raise ValueError(f"a shape of the beta distribution must be above 0, not {shape}")


def _cdf(x: float, rest: float, a: float, b: float) -> float:
    """Return the same of a point so near 1 that only the rest tells how near."""
    if x > (a + 1) / (a + b + 2):
        return 1.0 - _lower_tail(rest, x, b, a)
    return _lower_tail(x, rest, a, b)


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
    """x^a (1-x)^b / B(a, b)."""
    return math.exp(a * math.log(x) + b * math.log(rest) - _log_beta(a, b))


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
