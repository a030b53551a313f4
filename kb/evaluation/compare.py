"""Whether one way of ranking is better than another on the same questions, or nobody can tell."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from kb.evaluation.metrics import share_interval


class Standing(StrEnum):
    """What the questions allow to be said."""

    AHEAD = "ahead"
    BEHIND = "behind"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True, kw_only=True)
class LossComparison:
    """The losses of one way of ranking (`ours`) held against those of another; below 0 is better.

    The difference is ours' mean loss less theirs'; it lies from `low` to `high` with the stated
    confidence.
    """

    difference: float
    low: float
    high: float
    verdict: Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison(LossComparison):
    """One way held against another by the share of questions that each had right.

    `ours_only` and `theirs_only` count the questions that one of the two alone had right.
    """

    ours_only: int
    theirs_only: int


LEAST_FOR_LOSSES = 20
"""Fewer losses than this tell nothing (common practice, no source)."""


def compare(ours: Sequence[bool], theirs: Sequence[bool], confidence: float = 0.95) -> Comparison:
    """Compare two ways by the questions that only one of them had right.

    Given how many questions told the two apart, those won are binomial; the exact interval of
    their share, scaled, is that of the difference. It leaves out 0 just where the exact form of
    McNemar's test rejects that both are alike.

    References
    ----------
    McNemar (1947). Note on the sampling error of the difference between correlated proportions or
    percentages. Psychometrika 12(2), 153-157. Clopper & Pearson (1934). The use of confidence or
    fiducial limits illustrated in the case of the binomial. Biometrika 26(4), 404-413.

    Examples
    --------
    >>> compare([True] * 8 + [False], [False] * 8 + [True]).verdict
    <Standing.AHEAD: 'ahead'>
    >>> compare([True, True, False], [True, False, False]).verdict
    <Standing.CANNOT_TELL: 'cannot tell'>
    """
    pairs = list(zip(ours, theirs, strict=True))
    won = sum(our and not their for our, their in pairs)
    lost = sum(their and not our for our, their in pairs)
    apart = (won + lost) / len(pairs) if pairs else 0.0
    low, high = (
        apart * (2 * end - 1) or 0.0
        for end in share_interval(won, won + lost, confidence, method="exact")
    )
    return Comparison(
        ours_only=won,
        theirs_only=lost,
        difference=(won - lost) / len(pairs) if pairs else 0.0,
        low=low,
        high=high,
        verdict=_verdict(low, high),
    )


def _verdict(low: float, high: float) -> Standing:
    if low > 0:
        return Standing.AHEAD
    return Standing.BEHIND if high < 0 else Standing.CANNOT_TELL


def compare_losses(
    ours: Sequence[float], theirs: Sequence[float], confidence: float = 0.95
) -> LossComparison:
    """Compare the losses of two ways, of at least one question, by drawing the questions anew.

    References
    ----------
    Efron (1979). Bootstrap methods: another look at the jackknife. Annals of Statistics 7(1),
    1-26. Percentile interval of the paired differences, always from the same seed, by
    ``scipy.stats.bootstrap``.

    Examples
    --------
    >>> compare_losses([0.5] * 30, [0.5, 1.5] * 15).verdict
    <Standing.AHEAD: 'ahead'>
    """
    from scipy.stats import bootstrap  # noqa: PLC0415

    differences = np.asarray(ours, dtype=np.float64) - np.asarray(theirs, dtype=np.float64)
    mean = low = high = float(differences.mean())
    if np.ptp(differences) > 0:
        drawn = bootstrap(
            (differences,),
            np.mean,
            n_resamples=1000,
            batch=100,
            confidence_level=confidence,
            method="percentile",
            random_state=np.random.default_rng(1),
        )
        low, high = map(float, drawn.confidence_interval)
    enough = len(differences) >= LEAST_FOR_LOSSES
    return LossComparison(
        difference=mean,
        low=low,
        high=high,
        verdict=_verdict(-high, -low) if enough else Standing.CANNOT_TELL,
    )
