"""Similarity of readings: the same item and quantity, compared as such quantities are.

Quantities with a natural zero are compared by their ratio, the others by their difference.
Beyond-the-instrument readings resemble one another and no number. Readings of different items or
quantities cannot be compared: they are missing, not unlike.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.case import Quantity, Reading, Relation
from kb.recall.hashing import Keys, key, keys

Tokenise = Callable[[str], Sequence[str]]

DIFFERENCE_SCALE = {
    Quantity.VOLTAGE: 1.0,
    Quantity.TEMPERATURE: 10.0,
    Quantity.PROPORTION: 8.0,
    Quantity.ANGLE: 5.0,
}
"""Difference, in the quantity's unit, at which similarity has fallen to 1/e."""
RATIO_SCALE = math.log(2.0)
"""Log ratio at which it has: one value twice the other."""


@dataclass(frozen=True, slots=True)
class ReadingColumns:
    """The as-found readings of all rows, ordered by `keys`.

    Attributes
    ----------
    keys : ndarray of uint64
        What was measured: item words and quantity.
    rows : ndarray of int32
    values : ndarray of float64
        In the unit of the quantity; inf beyond the instrument's range.
    size : int
        Number of rows.
    """

    keys: Keys
    rows: NDArray[np.int32]
    values: NDArray[np.float64]
    size: int

    def similarities(self, asked: Sequence[Reading], tokenise: Tokenise) -> NDArray[np.float32]:
        """Return the mean similarity over the items measured on both sides, nan where none was.

        Returns
        -------
        ndarray of float32, shape (size,)
        """
        total = np.zeros(self.size, dtype=np.float64)
        count = np.zeros(self.size, dtype=np.int64)
        for reading in asked:
            wanted = np.uint64(key(_subject(reading, tokenise)))
            first = np.searchsorted(self.keys, wanted, "left")
            last = np.searchsorted(self.keys, wanted, "right")
            best = np.zeros(self.size, dtype=np.float64)
            alike = similarity(_number(reading), self.values[first:last], reading.quantity)
            np.maximum.at(best, self.rows[first:last], alike)
            total += best
            count[np.unique(self.rows[first:last])] += 1
        mean = np.full(self.size, np.nan, dtype=np.float32)
        mean[count > 0] = total[count > 0] / count[count > 0]
        return mean


def similarity(one: float, others: NDArray[np.float64], quantity: Quantity) -> NDArray[np.float64]:
    """Return how like `one` each of the others is, 0 to 1.

    Parameters
    ----------
    one : float
        In the unit of the quantity; inf for a reading beyond the instrument.
    others : ndarray of float64, shape (n,)
    quantity : Quantity

    Returns
    -------
    ndarray of float64, shape (n,)
    """
    if math.isinf(one):
        return np.isinf(others).astype(np.float64)
    if quantity in DIFFERENCE_SCALE:
        apart = np.abs(others - one) / DIFFERENCE_SCALE[quantity]
    elif one > 0:
        with np.errstate(divide="ignore", over="ignore"):
            apart = np.abs(np.log(np.maximum(others, 0.0) / one)) / RATIO_SCALE
    else:
        apart = np.where(others == one, 0.0, np.inf)
    return np.asarray(np.exp(-apart), dtype=np.float64)


def build(rows: Sequence[Sequence[Reading]], tokenise: Tokenise) -> ReadingColumns:
    """Lay the readings of many jobs out as columns."""
    flat = [(row, reading) for row, readings in enumerate(rows) for reading in readings]
    subjects = keys(_subject(reading, tokenise) for _, reading in flat)
    order = np.argsort(subjects, kind="stable")
    return ReadingColumns(
        keys=subjects[order],
        rows=np.array([row for row, _ in flat], dtype=np.int32)[order],
        values=np.array([_number(reading) for _, reading in flat], dtype=np.float64)[order],
        size=len(rows),
    )


def _subject(reading: Reading, tokenise: Tokenise) -> str:
    return f"{reading.quantity} {' '.join(sorted(set(tokenise(reading.item))))}"


def _number(reading: Reading) -> float:
    if reading.relation is Relation.OVER_RANGE or reading.value is None:
        return math.inf
    if reading.upper is not None:
        return (reading.value + reading.upper) / 2
    return reading.value
