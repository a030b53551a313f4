"""One value for many: what a shop mostly says, and the middle of what is known."""

from collections import Counter
from collections.abc import Iterable
from statistics import median


def usual(texts: Iterable[str | None]) -> str | None:
    """Return the most frequent text, the first met of equals; None where there is none.

    Examples
    --------
    >>> usual(["plug", None, "seat plug", "plug"])
    'plug'
    """
    counted = Counter(text for text in texts if text)
    return counted.most_common(1)[0][0] if counted else None


def known_median(values: Iterable[float | None]) -> float | None:
    """Return the median of the values that are known; None where none is.

    Examples
    --------
    >>> known_median([3, None, 5])
    4.0
    """
    known = [value for value in values if value is not None]
    return float(median(known)) if known else None
