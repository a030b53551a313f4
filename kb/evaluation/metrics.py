"""How good a ranking is, and whether its chances mean what they say."""

from collections.abc import Collection, Sequence, Sized
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Rank = int | None
"""Place of the true cause in a ranking, from 1; None where it is not in it."""
FLOOR = 1e-4
"""A truth that was given less chance than this counts as given this much."""


@dataclass(frozen=True, slots=True)
class Bin:
    """Chances that lie close together: from `low` to `high`, their mean, and what came true."""

    low: float
    high: float
    count: int
    chance: float
    came_true: int

    @property
    def share(self) -> float:
        """Share of them that came true."""
        return self.came_true / self.count


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
    place = _bins(predicted, bins)
    gap = np.bincount(place, weights=predicted - observed, minlength=bins)
    return float(np.abs(gap).sum() / len(predicted))


def log_loss(chances_of_truths: ArrayLike, floor: float = FLOOR) -> float:
    """Return the mean of ``-ln(chance)`` over the chances that the truths were given.

    Parameters
    ----------
    chances_of_truths : array_like of float, shape (n,)
        What each ranking gave to what proved true; 0 where it did not name it.
    floor : float
        Smaller chances count as this, so that one truth left out does not make it infinite.

    Raises
    ------
    ValueError
        If there is no ranking.

    Examples
    --------
    >>> round(log_loss([0.5, 0.25]), 3)
    1.04
    """
    chances = np.asarray(chances_of_truths, dtype=np.float64)
    _check_any(chances)
    return float(-np.log(np.maximum(chances, floor)).mean())


def brier_score(chances: Collection[float], chance_of_truth: float) -> float:
    """Return the squared distance of one ranking's chances from the truth, 0 to 2.

    Parameters
    ----------
    chances : collection of float
        Of everything that was given a chance, the truth among them if it was.
    chance_of_truth : float
        0 where the truth was given none.

    References
    ----------
    Brier (1950). Verification of forecasts expressed in terms of probability. Monthly Weather
    Review 78(1), 1-3.

    Examples
    --------
    >>> round(brier_score([0.7, 0.2, 0.1], 0.7), 2)
    0.14
    """
    return sum(chance * chance for chance in chances) - 2 * chance_of_truth + 1


def calibration_table(chances: ArrayLike, came_true: ArrayLike, bins: int = 15) -> tuple[Bin, ...]:
    """Return the bins of equal width that hold any chance, lowest first.

    Parameters
    ----------
    chances : array_like of float, shape (n,)
        Between 0 and 1.
    came_true : array_like of bool, shape (n,)
    bins : int
    """
    predicted = np.asarray(chances, dtype=np.float64)
    observed = np.asarray(came_true, dtype=bool)
    place = _bins(predicted, bins)
    return tuple(
        Bin(
            low=number / bins,
            high=(number + 1) / bins,
            count=int((place == number).sum()),
            chance=float(predicted[place == number].mean()),
            came_true=int(observed[place == number].sum()),
        )
        for number in np.unique(place).tolist()
    )


def calibration_luck(
    chances: ArrayLike, bins: int = 15, *, quantile: float = 0.95, draws: int = 1000
) -> float:
    """Return the calibration error that so many perfectly honest chances stay below by luck.

    Few chances never match their shares exactly: with an error below this nothing speaks against
    the chances. What comes true is drawn with the chances themselves, always from the same seed.

    Parameters
    ----------
    chances : array_like of float, shape (n,)
    bins : int
        As for `expected_calibration_error`.
    quantile : float
        How many of the draws stay below.

    References
    ----------
    Bröcker & Smith (2007). Increasing the reliability of reliability diagrams. Weather and
    Forecasting 22(3), 651-661: consistency resampling.
    """
    predicted = np.asarray(chances, dtype=np.float64)
    _check_any(predicted)
    place = _bins(predicted, bins)
    generator = np.random.default_rng(1)
    errors = []
    for _ in range(draws):
        gap = predicted - (generator.random(len(predicted)) < predicted)
        binned = np.bincount(place, weights=gap, minlength=bins)
        errors.append(np.abs(binned).sum() / len(predicted))
    return float(np.quantile(errors, quantile))


def area_under_curve(scores: ArrayLike, positive: ArrayLike) -> float | None:
    """Return the chance that a positive scores higher than a negative, a tie counting half.

    Parameters
    ----------
    scores : array_like of float, shape (n,)
    positive : array_like of bool, shape (n,)

    Returns
    -------
    float or None
        The area under the receiver operating characteristic; None without both kinds.

    References
    ----------
    Hanley & McNeil (1982). The meaning and use of the area under a receiver operating
    characteristic (ROC) curve. Radiology 143(1), 29-36.

    Examples
    --------
    >>> area_under_curve([0.9, 0.5, 0.5, 0.1], [True, True, False, False])
    0.875
    """
    values, which = np.asarray(scores, dtype=np.float64), np.asarray(positive, dtype=bool)
    high, low = values[which], np.sort(values[~which])
    if not len(high) or not len(low):
        return None
    below = np.searchsorted(low, high, "left") + np.searchsorted(low, high, "right")
    return float(below.mean() / 2 / len(low))


def _bins(chances: NDArray[np.float64], bins: int) -> NDArray[np.intp]:
    return np.minimum((chances * bins).astype(np.intp), bins - 1)


def _check_any(values: Sized) -> None:
    if len(values) == 0:
        raise ValueError("nothing to measure: there is no ranking")
