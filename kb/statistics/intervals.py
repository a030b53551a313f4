"""Intervals for a proportion seen in a few trials; nothing here knows of jobs."""

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from kb.errors import InvalidField
from kb.statistics import beta


@dataclass(frozen=True, slots=True)
class Interval:
    """Where a proportion lies with the stated confidence; both ends from 0 to 1."""

    low: float
    high: float

    @property
    def width(self) -> float:
        """`high` less `low`: how little is known."""
        return self.high - self.low


NOTHING_KNOWN = Interval(0.0, 1.0)


def wilson(successes: int, trials: int, confidence: float = 0.95) -> Interval:
    """Wilson's score interval.

    Parameters
    ----------
    successes, trials
        Counts; no trials give 0 to 1.
    confidence
        Coverage wanted, on average over true proportions; between 0 and 1.

    Returns
    -------
    Interval
        Two-sided interval.

    Raises
    ------
    InvalidField
        If there are more successes than trials, a count is negative, or `confidence` is no
        chance.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1; Brown, Cai & DasGupta, "Interval
    estimation for a binomial proportion", Statistical Science 16(2), 2001.

    Examples
    --------
    >>> wilson(3, 3).low
    0.4385...
    """
    tail = _tail(successes, trials, confidence)
    if not trials:
        return NOTHING_KNOWN
    z = NormalDist().inv_cdf(1 - tail)
    share, spread = successes / trials, z * z / trials
    middle = share + spread / 2
    reach = z * sqrt(share * (1 - share) / trials + spread / trials / 4)
    return Interval(
        (middle - reach) / (1 + spread) if successes else 0.0,
        (middle + reach) / (1 + spread) if successes < trials else 1.0,
    )


def jeffreys(successes: int, trials: int, confidence: float = 0.95) -> Interval:
    """Jeffreys' interval: quantiles of Beta(successes + 1/2, failures + 1/2).

    Without a success it starts at 0, without a failure it ends at 1: an interval that leaves
    out what was seen would never cover it.

    Parameters
    ----------
    successes, trials
        Counts; no trials give 0 to 1.
    confidence
        Coverage wanted, on average over true proportions; between 0 and 1.

    Returns
    -------
    Interval
        Two-sided interval, equal tails.

    Raises
    ------
    InvalidField
        As `wilson`.

    References
    ----------
    Brown, Cai & DasGupta, "Interval estimation for a binomial proportion", Statistical Science
    16(2), 2001, section 4.3.

    Examples
    --------
    >>> jeffreys(3, 4)
    Interval(low=0.2837..., high=0.9715...)
    """
    tail = _tail(successes, trials, confidence)
    if not trials:
        return NOTHING_KNOWN
    shapes = successes + 0.5, trials - successes + 0.5
    return Interval(
        beta.quantile(tail, *shapes) if successes else 0.0,
        beta.quantile(1 - tail, *shapes) if successes < trials else 1.0,
    )


def clopper_pearson(successes: int, trials: int, confidence: float = 0.95) -> Interval:
    """Clopper and Pearson's exact interval: it never covers less often than stated.

    Parameters
    ----------
    successes, trials
        Counts; no trials give 0 to 1.
    confidence
        Least coverage, whatever the true proportion; between 0 and 1.

    Returns
    -------
    Interval
        Two-sided interval, equal tails.

    Raises
    ------
    InvalidField
        As `wilson`.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1.

    Examples
    --------
    >>> clopper_pearson(7, 50)
    Interval(low=0.0581..., high=0.2673...)
    """
    tail = _tail(successes, trials, confidence)
    failures = trials - successes
    return Interval(
        beta.quantile(tail, successes, failures + 1) if successes else 0.0,
        beta.quantile(1 - tail, successes + 1, failures) if failures else 1.0,
    )


def _tail(successes: int, trials: int, confidence: float) -> float:
    if not 0 < confidence < 1:
        raise InvalidField("confidence", confidence, "must lie between 0 and 1, as 0.95")
    if not 0 <= successes <= trials:
        raise InvalidField("successes", successes, f"must lie in 0 to the {trials} trials")
    return (1 - confidence) / 2
