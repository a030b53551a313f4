"""How good or bad a fix may be, whatever became of the cars that nobody heard of."""

from collections.abc import Iterable, Sequence

from kb.rates.survival import Interval, Lifetime, survival_at


def outer_ends(
    attempts: Iterable[Sequence[Lifetime]], horizon: float, confidence: float = 0.95
) -> Interval:
    """Return between what ends a share lies, whichever cars were lost from sight.

    An interval tells what chance does, and takes it that the cars lost fared as the others did.
    Where those that failed are likelier to be lost, as after a wrong diagnosis, or those that held,
    as nobody rings to say so, it may miss. These ends do not: the lower one is the interval's if
    every car that is not known to have held to the horizon had failed, the upper one if every car
    not known to have failed had held.

    Parameters
    ----------
    attempts : iterable of sequences of Lifetime
        What is known of each attempt; what its lifetimes do not say by their whole weight is not
        known.

    References
    ----------
    Horowitz & Manski, "Nonparametric analysis of randomized experiments with missing covariate and
    outcome data", Journal of the American Statistical Association 95, 2000 (from memory): bounds
    without assumptions about what is missing.

    Examples
    --------
    >>> told = [[Lifetime(120, False)]] * 8 + [[Lifetime(0, False)]] * 4
    >>> found = outer_ends(told, 90)
    >>> round(found.low, 2), round(found.high, 2)
    (0.37, 1.0)
    """
    known = list(attempts)
    held = [all(life.outlasts(horizon) for life in lives) for lives in known]
    failed = [any(life.failed and life.time <= horizon for life in lives) for lives in known]
    return Interval(
        _alone(held, horizon, confidence).low,
        _alone([not each for each in failed], horizon, confidence).high,
    )


def _alone(good: Sequence[bool], horizon: float, confidence: float) -> Interval:
    """Return the interval of so many of which all is known."""
    lives = [Lifetime(horizon if each else 0.0, failed=not each) for each in good]
    return survival_at(lives, horizon, confidence).interval
