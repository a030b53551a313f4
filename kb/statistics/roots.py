"""Where a rising function crosses nought."""

from collections.abc import Callable

_STEPS = 200
_NARROW = 1e-12
"""Width at which a bracket is a point; halving alone gets there in 40 steps from 0 to 1."""


def crossing(rising: Callable[[float], float], low: float = 0.0, high: float = 1.0) -> float:
    """Find where a function that rises between two points, with jumps perhaps, crosses nought.

    The crossing is right to 1e-12, or it is where the function jumps over nought; it is the end at
    which the function does not lie on the other side of nought.

    References
    ----------
    Regula falsi as mended in Illinois: Dowell & Jarratt, "A modified regula falsi method for
    computing the root of an equation", BIT 11, 1971; halving where it would be slower.

    Examples
    --------
    >>> round(crossing(lambda x: x * x - 0.25), 9)
    0.5
    """
    below, above = rising(low), rising(high)
    if below >= 0:
        return low
    if above <= 0:
        return high
    kept = 0
    for step in range(_STEPS):
        x = high - above * (high - low) / (above - below)
        if step % 4 == 3 or not low < x < high:
            x = (low + high) / 2
        value = rising(x)
        if value == 0 or high - low < _NARROW:
            return x
        if value < 0:
            low, below = x, value
            above = above / 2 if kept < 0 else above
            kept = -1
        else:
            high, above = x, value
            below = below / 2 if kept > 0 else below
            kept = 1
    return (low + high) / 2
