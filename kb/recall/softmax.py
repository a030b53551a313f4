"""Multinomial logistic regression on cases that are each told in several states.

In every state the words of a case are the same and its facts are others, so that what the words say
is reckoned once. Loss, penalty and stopping are those of scikit-learn's ``LogisticRegression`` with
its solver ``lbfgs`` (Byrd et al. 1995), which would be given every case as often as it has states
and takes twice as long: a shop waits for this at the counter.

References
----------
Byrd, R. H., Lu, P., Nocedal, J. & Zhu, C. (1995). A limited memory algorithm for bound constrained
optimization. SIAM Journal on Scientific Computing 16, 1190-1208.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.recall.spans import Floats, Places

MOST_STEPS = 100
"""Steps after which fitting stops however steep it is: several times as many as shops need."""


@dataclass(frozen=True, slots=True)
class CaseState:
    """How cases are told: what that counts, and their facts, shape (n, n_facts)."""

    share: float
    facts: Floats


def fit(
    words: Floats,
    states: Sequence[CaseState],
    classes: Places,
    *,
    strength: float,
    tolerance: float,
) -> tuple[Floats, Floats]:
    """Fit weights and intercepts with scipy.

    Parameters
    ----------
    words : ndarray of float32, shape (n, n_words)
        The words of every case.
    states : sequence of CaseState
        Their shares sum to one. A case of which only the words are told has facts of shape (n, 0).
    classes : ndarray of int32, shape (n,)
        The class of each case, from 0 on.
    strength : float
        Inverse of the penalty on the weights.
    tolerance : float
        Steepness at which it stops.

    Returns
    -------
    weights : ndarray of float32, shape (n_words + n_facts, n_classes)
        Those of the words, and those of the facts.
    intercepts : ndarray of float32, shape (n_classes,)
        What a class has without any.
    """
    from scipy.optimize import minimize  # noqa: PLC0415  slow to import, for fitting only

    columns = words.shape[1] + max(state.facts.shape[1] for state in states)
    shape = (columns + 1, int(classes.max()) + 1)
    found = minimize(
        _loss,
        np.zeros(shape).ravel(),
        args=(shape, words, states, classes, strength),
        jac=True,
        method="L-BFGS-B",
        options={
            "maxiter": MOST_STEPS,
            "maxls": 50,
            "gtol": tolerance,
            "ftol": 64 * np.finfo(float).eps,
        },
    )
    fitted = found.x.reshape(shape).astype(np.float32)
    return np.ascontiguousarray(fitted[:-1]), fitted[-1]


def _loss(
    flat: NDArray[np.float64],
    shape: tuple[int, int],
    words: Floats,
    states: Sequence[CaseState],
    classes: Places,
    strength: float,
) -> tuple[float, NDArray[np.float64]]:
    """Return the mean loss with its penalty, and how it changes with each weight."""
    weights = flat.reshape(shape)
    single = weights.astype(np.float32)
    said, size = words.shape[1], len(words)
    of_words = words @ single[:said] + single[-1]
    slope = np.zeros(shape)
    loss = 0.0
    missed = np.zeros_like(of_words)
    for state in states:
        facts = slice(said, said + state.facts.shape[1])
        scores = of_words + state.facts @ single[facts]
        lost, wrong = _missed(scores, classes)
        loss += state.share / size * lost
        wrong *= np.float32(state.share / size)
        missed += wrong
        slope[facts] += state.facts.T @ wrong
    slope[:said] = words.T @ missed
    slope[-1] = missed.sum(axis=0)
    penalty = 1 / (strength * size)
    slope[:-1] += penalty * weights[:-1]
    return loss + penalty / 2 * float((weights[:-1] ** 2).sum()), slope.ravel()


def _missed(scores: Floats, classes: Places) -> tuple[float, Floats]:
    """Return the loss of scores, and how far each chance is from what came true.

    The scores are overwritten.
    """
    cases = np.arange(len(scores))
    scores -= scores.max(axis=1, keepdims=True)
    true = scores[cases, classes].astype(np.float64)
    np.exp(scores, out=scores)
    sums = scores.sum(axis=1, keepdims=True)
    lost = float((np.log(sums[:, 0]) - true).sum())
    scores /= sums
    scores[cases, classes] -= 1
    return lost, scores
