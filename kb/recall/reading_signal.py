"""Similarity of readings: the same item and quantity, compared in widths of its normal band.

Where the shop knows the normal band of an item, two readings are alike if both are normal or both
lie off the band on the same side; far off is far off, so 6 Ω and 9 Ω are alike where 2.1 to 2.5 Ω
is normal. Where it does not, quantities with a natural zero are compared by their ratio, the others
by their difference. Open readings and a control unit's ceiling are no measurements: they resemble
one another and no number. Readings of different items or quantities cannot be compared: they are
missing, not unlike.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.bands.levels import all_makes
from kb.bands.measured import Kind, kind_of
from kb.bands.placeholders import ceilings
from kb.case import Job, Quantity, Reading, Relation
from kb.intake.wording import Wording
from kb.recall.hashing import Keys, key, keys
from kb.recall.spans import greatest
from kb.settings import ReadingSettings

Values = NDArray[np.float64]

DIFFERENCE_SCALE = {
    Quantity.VOLTAGE: 1.0,
    Quantity.TEMPERATURE: 10.0,
    Quantity.PROPORTION: 8.0,
    Quantity.ANGLE: 5.0,
}
"""Difference, in the quantity's unit, at which similarity has fallen to 1/e: about what the same
fault differs by from car to car (common practice, no source). Asked only until the shop's own
normal bands say how far apart is far."""
_CEILING_RELATIVE, _CEILING_ABSOLUTE = 1e-3, 1e-8
"""How near to one of a control unit's ceilings a value is that is the same (by judgement)."""
RATIO_SCALE = math.log(2.0)
"""Log ratio at which it has: one value twice the other (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Width:
    """The normal band of one item: its middle, and how far the edges are, on its scale.

    An edge is infinitely far where that side does no harm. `good` counts the readings behind it.
    """

    middle: float
    below: float
    above: float
    logarithmic: bool
    good: int

    @property
    def low(self) -> float | None:
        """Lower edge in the unit of the quantity, None where that side does no harm."""
        return self._edge(self.middle - self.below)

    @property
    def high(self) -> float | None:
        """Upper edge likewise."""
        return self._edge(self.middle + self.above)

    def _edge(self, point: float) -> float | None:
        if math.isinf(point):
            return None
        return math.exp(point) if self.logarithmic else point

    def places(self, value: float) -> float:
        """Return `apart` of one value."""
        return float(self.apart(np.array([value]))[0])

    def apart(self, values: Values) -> Values:
        """Return how many half-widths of the band each value lies from its middle.

        Negative below the middle; -inf for what has no logarithm.
        """
        with np.errstate(divide="ignore", invalid="ignore"):
            points = np.log(np.maximum(values, 0.0)) if self.logarithmic else values
            gaps = np.asarray(points - self.middle, dtype=np.float64)
            return np.where(gaps < 0, gaps / self.below, gaps / self.above)


@dataclass(frozen=True, slots=True)
class WidthColumns:
    """The normal bands of everything the shop has good readings enough of, ordered by `keys`.

    `keys` stand for what was measured, item words and quantity, shape (n,) as the bands'. The
    ceilings, shape (m,), are values that a control unit shows where a circuit is open or nothing is
    fitted.
    """

    keys: Keys
    middle: Values
    below: Values
    above: Values
    logarithmic: NDArray[np.bool_]
    good: NDArray[np.int64]
    ceiling_quantities: Keys
    ceiling_values: Values

    def is_ceiling(self, reading: Reading) -> bool:
        """Whether a reading says 'open or not fitted' and is no measurement."""
        if reading.relation is not Relation.EXACT or reading.value is None:
            return reading.relation is Relation.OVER_RANGE
        same = self.ceiling_values[self.ceiling_quantities == np.uint64(key(reading.quantity))]
        # as `numpy.isclose`, which takes ten times as long for so few
        near = _CEILING_ABSOLUTE + _CEILING_RELATIVE * abs(reading.value)
        return bool((np.abs(same - reading.value) <= near).any())

    def number(self, reading: Reading) -> float:
        """Return what a reading is compared by: its value, inf for one that is no measurement."""
        if reading.value is None or self.is_ceiling(reading):
            return math.inf
        return reading.value if reading.upper is None else (reading.value + reading.upper) / 2

    def of_kind(self, kind: Kind) -> Width | None:
        """Return the band of what was measured, None where the shop knows none."""
        return self.of(np.uint64(key(_subject(kind))))

    def of(self, wanted: np.uint64) -> Width | None:
        """Return the band under one key, None where the shop knows none."""
        place = int(np.searchsorted(self.keys, wanted))
        if place == len(self.keys) or self.keys[place] != wanted:
            return None
        columns = (self.middle, self.below, self.above, self.logarithmic, self.good)
        return Width(*(column[place].item() for column in columns))


@dataclass(frozen=True, slots=True)
class ReadingColumns:
    """The as-found readings of all rows, ordered by `keys`.

    `keys` stand for what was measured, item words and quantity; `values` are in the unit of the
    quantity, inf for what is no measurement; `size` is the number of rows.
    """

    keys: Keys
    rows: NDArray[np.int32]
    values: Values
    size: int

    def similarities(
        self, asked: Sequence[Reading], wording: Wording, widths: WidthColumns
    ) -> NDArray[np.float32]:
        """Return the mean similarity over the items measured on both sides, nan where none was.

        Its shape is (size,).
        """
        mean = np.full(self.size, np.nan, dtype=np.float32)
        if not asked:
            return mean
        total = np.zeros(self.size, dtype=np.float64)
        count = np.zeros(self.size, dtype=np.int32)
        for reading in asked:
            wanted = np.uint64(key(_subject(kind_of(reading, wording))))
            first = np.searchsorted(self.keys, wanted, "left")
            last = np.searchsorted(self.keys, wanted, "right")
            values = self.values[first:last]
            alike = similarity(widths.number(reading), values, reading.quantity, widths.of(wanted))
            rows, best = greatest(self.rows[first:last], alike)
            total[rows] += best
            count[rows] += 1
        some = np.flatnonzero(count)
        mean[some] = total[some] / count[some]
        return mean


def similarity(
    one: float, others: Values, quantity: Quantity, width: Width | None = None
) -> Values:
    """Return how like `one` each of the others is, 0 to 1, shape (n,); all in the quantity's unit.

    A reading beyond the instrument is inf; `width` is the normal band of what was measured.
    """
    if math.isinf(one):
        return np.isinf(others).astype(np.float64)
    if width is not None:
        places = _squashed(width.apart(np.append(others, one)))
        alike = np.maximum(0.0, 1 - np.abs(places[:-1] - places[-1]))
        return np.where(np.isinf(others), 0.0, alike)
    if quantity in DIFFERENCE_SCALE:
        apart = np.abs(others - one) / DIFFERENCE_SCALE[quantity]
    elif one > 0:
        with np.errstate(divide="ignore", over="ignore"):
            apart = np.abs(np.log(np.maximum(others, 0.0) / one)) / RATIO_SCALE
    else:
        apart = np.where(others == one, 0.0, np.inf)
    return np.asarray(np.exp(-apart), dtype=np.float64)


def build(
    rows: Sequence[Sequence[Reading]], wording: Wording, widths: WidthColumns
) -> ReadingColumns:
    """Lay the readings of many jobs out as columns."""
    flat = [(row, reading) for row, readings in enumerate(rows) for reading in readings]
    subjects = keys(_subject(kind_of(reading, wording)) for _, reading in flat)
    order = np.argsort(subjects, kind="stable")
    return ReadingColumns(
        keys=subjects[order],
        rows=np.array([row for row, _ in flat], dtype=np.int32)[order],
        values=np.array([widths.number(reading) for _, reading in flat], dtype=np.float64)[order],
        size=len(rows),
    )


def fit_widths(cases: Sequence[Job], wording: Wording, settings: ReadingSettings) -> WidthColumns:
    """Learn normal bands from readings of items that proved good, and ceilings from empty ones."""
    tops = sorted(ceilings(cases, settings.least_repeats))
    bands = {
        key(_subject(kind)): band
        for kind, band in all_makes(cases, wording, settings).items()
        if band.median is not None
    }
    ordered = sorted(bands)
    middle = [bands[each].scale.to(bands[each].median or 0.0) for each in ordered]
    edges = [
        [
            math.inf if edge is None else abs(bands[each].scale.to(edge) - place) or math.inf
            for edge in (bands[each].low, bands[each].high)
        ]
        for each, place in zip(ordered, middle, strict=True)
    ]
    return WidthColumns(
        keys=np.array(ordered, dtype=np.uint64),
        middle=np.array(middle, dtype=np.float64),
        below=np.array([low for low, _ in edges], dtype=np.float64),
        above=np.array([high for _, high in edges], dtype=np.float64),
        logarithmic=np.array([bands[each].scale.logarithmic for each in ordered], dtype=np.bool_),
        good=np.array([bands[each].count for each in ordered], dtype=np.int64),
        ceiling_quantities=keys(quantity for quantity, _ in tops),
        ceiling_values=np.array([value for _, value in tops], dtype=np.float64),
    )


def _squashed(apart: Values) -> Values:
    """Bring band widths to -1 to 1: an edge of the band is at half way, far off is far off."""
    finite = np.clip(apart, -1e9, 1e9)
    return np.asarray(finite / (1 + np.abs(finite)), dtype=np.float64)


def _subject(kind: Kind) -> str:
    words, quantity = kind
    return f"{quantity} {' '.join(sorted(words))}"
