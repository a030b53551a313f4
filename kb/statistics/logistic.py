"""Logistic regression drawn towards given coefficients, for few data or for none."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEPS = 50
CLOSE = 1e-9


def fit_towards(
    rows: Floats,
    true: NDArray[np.bool_],
    prior: Floats,
    spread: float,
    *,
    weights: Floats | None = None,
    offsets: Floats | None = None,
) -> Floats:
    """Return the coefficients that are likeliest with a normal prior around given ones.

    Newton's method on the penalised log-likelihood; with no data the prior comes back.

    Parameters
    ----------
    rows : ndarray of float64, shape (n, k)
        A column of ones is the caller's.
    true : ndarray of bool, shape (n,)
    prior : ndarray of float64, shape (k,)
        Mean of the prior.
    spread : float
        Its standard deviation, the same for every coefficient.
    weights : ndarray of float64, shape (n,), optional
        How much each row counts; 1 where not given.
    offsets : ndarray of float64, shape (n,), optional
        Log-odds that are there already.

    Returns
    -------
    ndarray of float64, shape (k,)

    References
    ----------
    le Cessie, S. & van Houwelingen, J. C. (1992). Ridge estimators in logistic regression. Applied
    Statistics 41, 191-201.
    """
    found = prior.astype(np.float64).copy()
    count = np.ones(len(rows)) if weights is None else weights
    start = np.zeros(len(rows)) if offsets is None else offsets
    held = np.eye(len(prior)) / spread**2

    def penalised(each: Floats) -> float:
        log_odds = start + rows @ each
        fits = count @ (np.logaddexp(0, log_odds) - log_odds * true)
        return float(fits + 0.5 * (each - prior) @ held @ (each - prior))

    for _ in range(STEPS):
        chance = 1 / (1 + np.exp(-np.clip(start + rows @ found, -500, 500)))
        slope = rows.T @ (count * (chance - true)) + held @ (found - prior)
        curve = (rows * (count * chance * (1 - chance))[:, None]).T @ rows + held
        step = np.linalg.solve(curve, slope)
        length = 1.0
        while penalised(found - length * step) > penalised(found) and length > CLOSE:
            length /= 2
        found = found - length * step
        if np.abs(length * step).max() < CLOSE:
            break
    return found
