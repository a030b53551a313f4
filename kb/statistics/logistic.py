"""Logistic regression drawn towards given coefficients, for few data or for none."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_CLOSE = 1e-9
"""Slope of the surprise below which a fit is done: coefficients are printed with two digits."""


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

    With no data the prior comes back.

    Rows have shape (n, k), a column of ones being the caller's; `true`, `weights` (how much each
    row counts) and `offsets` (log-odds that are there already) have shape (n,). The prior's means
    have shape (k,), as what is returned; its standard deviation is the same for every coefficient.

    References
    ----------
    le Cessie, S. & van Houwelingen, J. C. (1992). Ridge estimators in logistic regression. Applied
    Statistics 41, 191-201.
    """
    from scipy.optimize import minimize  # noqa: PLC0415  slow to import
    from scipy.special import expit  # noqa: PLC0415

    count = np.ones(len(rows)) if weights is None else weights
    start = np.zeros(len(rows)) if offsets is None else offsets
    held = np.eye(len(prior)) / spread**2

    def surprise(each: Floats) -> float:
        log_odds, away = start + rows @ each, each - prior
        fits = count @ (np.logaddexp(0, log_odds) - log_odds * true)
        return float(fits + 0.5 * away @ held @ away)

    def slope(each: Floats) -> Floats:
        lost: Floats = expit(start + rows @ each) - true
        return rows.T @ (count * lost) + held @ (each - prior)

    def curve(each: Floats) -> Floats:
        chance: Floats = expit(start + rows @ each)
        return (rows * (count * chance * (1 - chance))[:, None]).T @ rows + held

    found = minimize(
        surprise, prior, jac=slope, hess=curve, method="trust-exact", options={"gtol": _CLOSE}
    )
    return np.asarray(found.x, dtype=np.float64)
