"""The logarithm of the gamma function over whole arrays.

The standard library has it for one number only; the library that has it for arrays takes longer
to import than a question may last.
"""

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_SHIFT = 8
_HALF_LOG_TWO_PI = 0.5 * math.log(2 * math.pi)


def log_gamma(x: Floats) -> Floats:
    """Logarithm of the gamma function.

    Parameters
    ----------
    x
        Any shape; above 0.

    Returns
    -------
    ndarray
        Of the same shape, right to about 1e-10 of its size, or 1e-11 near its zeros.

    References
    ----------
    NIST Digital Library of Mathematical Functions, 5.11.1 (Stirling's series) and 5.5.1
    (recurrence, which brings small arguments to where the series is good).

    Examples
    --------
    >>> log_gamma(np.array([4.0, 5.0])).round(6).tolist()
    [1.791759, 3.178054]
    """
    product = np.ones_like(x)
    for step in range(_SHIFT):
        product = product * (x + step)
    far = x + _SHIFT
    square = far * far
    series = (1 / 12 - (1 / 360 - (1 / 1260 - 1 / 1680 / square) / square) / square) / far
    shifted: Floats = (far - 0.5) * np.log(far) - far + _HALF_LOG_TWO_PI + series - np.log(product)
    return shifted


def log_beta(a: Floats, b: Floats) -> Floats:
    """Logarithm of the beta function B(a, b).

    Examples
    --------
    >>> log_beta(np.array([2.0]), np.array([3.0])).round(6).tolist()
    [-2.484907]
    """
    return log_gamma(a) + log_gamma(b) - log_gamma(a + b)
