"""How good a ranking is, and whether its chances mean what they say."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Rank = int | None
"""Place of the true cause in a ranking, from 1; None where it is not in it."""
FLOOR = 1e-4
"""A truth that was given less chance than this counts as given this much: one left out by ten
thousand to one costs as much as any printed chance could, and not infinitely much."""
BINS = 15
"""Bins of the calibration error, as most who publish one have (common practice, no source)."""
DRAWS = 1000
"""Draws of what comes true by luck: its 95% point then varies by about a fiftieth of itself."""


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
    """Return the share of rankings, of at least one, with the truth among the first k.

    Examples
    --------
    >>> success_at([1, 3, None, 2], 2)
    0.5
    """
    return sum(rank is not None and rank <= k for rank in ranks) / len(ranks)


def mean_reciprocal_rank(ranks: Sequence[Rank]) -> float:
    """Return the mean of 1 / rank of at least one ranking, 0 where the truth is not in it.

    Examples
    --------
    >>> mean_reciprocal_rank([1, 2, None])
    0.5
    """
    return sum(1 / rank for rank in ranks if rank is not None) / len(ranks)


def log_loss(chances_of_truths: ArrayLike, floor: float = FLOOR) -> float:
    """Return the mean of ``-ln(chance)`` over the chances, shape (n,), that n truths were given.

    A chance below `floor`, as that of a truth not named at all, counts as this.

    Examples
    --------
    >>> round(log_loss([0.5, 0.25]), 3)
    1.04
    """
    return float(-np.log(np.maximum(chances_of_truths, floor)).mean())


def brier_score(chances: Collection[float], chance_of_truth: float) -> float:
    """Return the squared distance of one ranking's chances from the truth, 0 to 2.

    The chances are of all that was given one, the truth among them unless it was given none.

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


def calibration_table(
    chances: ArrayLike, came_true: ArrayLike, bins: int = BINS
) -> tuple[Bin, ...]:
    """Return the bins of equal width that hold any chance, lowest first.

    Chances (0 to 1) and what came true (bool) have shape (n,).
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


def expected_calibration_error(chances: ArrayLike, came_true: ArrayLike) -> float:
    """Return the mean distance of chance and share that came true over equal bins; 0 is perfect.

    Arguments are those of `calibration_table`; the `BINS` weigh by their number of chances.

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
    gaps = predicted - np.asarray(came_true, dtype=np.float64)
    return _binned_error(gaps, _bins(predicted, BINS))


def calibration_luck(chances: ArrayLike, *, draws: int = DRAWS) -> float:
    """Return the calibration error that so many perfectly honest chances stay below by luck.

    Few chances never match their shares exactly: with an error below this nothing speaks against
    the chances. What comes true is drawn with the chances themselves, always from the same seed;
    95 of 100 draws stay below.

    References
    ----------
    Bröcker & Smith (2007). Increasing the reliability of reliability diagrams. Weather and
    Forecasting 22(3), 651-661: consistency resampling.
    """
    predicted = np.asarray(chances, dtype=np.float64)
    place, generator = _bins(predicted, BINS), np.random.default_rng(1)
    errors = [
        _binned_error(predicted - (generator.random(len(predicted)) < predicted), place)
        for _ in range(draws)
    ]
    return float(np.quantile(errors, 0.95))


def area_under_curve(scores: ArrayLike, positive: ArrayLike) -> float | None:
    """Return the chance that a positive scores higher than a negative, a tie counting half.

    It is the area under the receiver operating characteristic; None without both kinds.

    Examples
    --------
    >>> area_under_curve([0.9, 0.5, 0.5, 0.1], [True, True, False, False])
    0.875
    """
    from sklearn.metrics import roc_auc_score  # noqa: PLC0415  slow to import

    both = len(np.unique(positive)) == 2
    return float(roc_auc_score(positive, scores)) if both else None


def share_interval(
    right: int, asked: int, confidence: float = 0.95, *, method: str = "wilson"
) -> tuple[float, float]:
    """Return where the share of right answers lies: 0 to 1 where nothing was asked.

    Wilson's score interval covers as stated on average; the "exact" one of Clopper and Pearson
    never less often.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1; ``scipy.stats.binomtest``.

    Examples
    --------
    >>> [round(end, 4) for end in share_interval(3, 3)]
    [0.4385, 1.0]
    """
    from scipy.stats import binomtest  # noqa: PLC0415  slow to import

    if not asked:
        return 0.0, 1.0
    found = binomtest(right, asked).proportion_ci(confidence, method)
    return float(found.low), float(found.high)


def _bins(chances: NDArray[np.float64], bins: int) -> NDArray[np.intp]:
    return np.minimum((chances * bins).astype(np.intp), bins - 1)


def _binned_error(gaps: NDArray[np.float64], place: NDArray[np.intp]) -> float:
    return float(np.abs(np.bincount(place, weights=gaps)).sum() / len(gaps))
