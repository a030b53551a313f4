"""The signals blended into one chance: that a past job and this one share their cause.

A logistic model over the signals (local similarities in the sense of Aamodt & Plaza 1994). Each
signal counts for or against by its distance from a neutral similarity, at which it says nothing;
a signal that either side lacks says nothing either: missing is never a match and never a
mismatch. The parts stay apart so that every match can be explained.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from kb.settings import Weight

Floats = NDArray[np.float32]


def parts(similarities: Mapping[str, Floats], weights: Mapping[str, Weight]) -> dict[str, Floats]:
    """Return what each signal adds to the log-odds of a shared cause.

    Similarities are one array a signal, shape (n,), 0 to 1 and nan where either side lacks it; the
    parts have the same shapes and are 0 there.
    """
    return {
        name: np.where(
            np.isnan(values), np.float32(0), weights[name].slope * (values - weights[name].neutral)
        )
        for name, values in similarities.items()
    }


def chances(added: Mapping[str, Floats], intercept: float) -> Floats:
    """Return the chance of a shared cause, shape (n,), from `parts` and the intercept."""
    log_odds = intercept + sum(added.values(), np.float32(0))
    return np.asarray(1 / (1 + np.exp(-log_odds)), dtype=np.float32)
