"""How good a ranking is, and whether its chances mean what they say."""

from collections.abc import Sequence, Sized

import numpy as np
from numpy.typing import ArrayLike

Rank = int | None
"""Place of the true cause in a ranking, from 1; None where it is not in it."""


def success_at(ranks: Sequence[Rank], k: int) -> float:
    """Return the share of rankings with the truth among the first k.

    Raises
    ------
    ValueError
        If there is no ranking.

    Examples
    --------
    >>> success_at([1, 3, None, 2], 2)
    0.5
    """
    _check_any(ranks)
    return sum(rank is not None and rank <= k for rank in ranks) / len(ranks)


def mean_reciprocal_rank(ranks: Sequence[Rank]) -> float:
    """Return the mean of 1 / rank, 0 where the truth is not in the ranking.

    Raises
    ------
    ValueError
        If there is no ranking.

    Examples
    --------
    >>> mean_reciprocal_rank([1, 2, None])
    0.5
    """
    _check_any(ranks)
    return sum(1 / rank for rank in ranks if rank is not None) / len(ranks)


def expected_calibration_error(chances: ArrayLike, came_true: ArrayLike, bins: int = 15) -> float:
    """Return the mean distance between printed chance and observed share, over equal bins.

    Parameters
    ----------
    chances : array_like of float, shape (n,)
        Between 0 and 1.
    came_true : array_like of bool, shape (n,)
    bins : int

    Returns
    -------
    float
        0 is perfect; bins weigh by their number of chances.

    References
    ----------
    Naeini, Cooper & Hauskrecht (2015). Obtaining well calibrated probabilities using Bayesian
    binning. AAAI, 2901-2907.

    Examples
    --------
    >>> expected_calibration_error([0.5, 0.5], [True, False])
    0.0
    """
    predicted = np.asarray(chances, dtype=np.float64)
    observed = np.asarray(came_true, dtype=np.float64)
    _check_any(predicted)
    place = np.minimum((predicted * bins).astype(int), bins - 1)
    gap = np.bincount(place, weights=predicted - observed, minlength=bins)
    return float(np.abs(gap).sum() / len(predicted))


def _check_any(values: Sized) -> None:
    if len(values) == 0:
        raise ValueError("nothing to measure: there is no ranking")
