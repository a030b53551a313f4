"""Normal bands: where the readings of good items lie, by the shop's own history.

Only readings whose item proved good count, and only exact values: an open or bounded reading is
no number. Quantities with a natural zero are fitted by the logarithm, so that a band is a ratio.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from kb.bands.limits import Worse
from kb.case import Quantity
from kb.errors import Notice
from kb.settings import ReadingSettings
from kb.statistics import tolerance

FINEST_STEP = {
    Quantity.VOLTAGE: 0.01,
    Quantity.TEMPERATURE: 0.5,
    Quantity.PROPORTION: 0.5,
    Quantity.ANGLE: 0.05,
}
"""What a workshop's meter tells apart, in the unit of the quantity (common practice, no source)."""
FINEST_RATIO = 0.01
"""The same as a ratio, for quantities that are fitted by the logarithm: meters promise about 1%
(common practice, no source)."""
_MEDIAN_COSTS = math.pi / 2
"""The median of normal readings is as certain as the mean of so many times fewer."""
_ROUNDING = 1e-9
"""Two readings that lie as far off within this are equally far in any unit."""
NO_NATURAL_ZERO = frozenset({Quantity.TEMPERATURE, Quantity.PROPORTION, Quantity.ANGLE})
"""Quantities of which twice as much means nothing: a band of theirs is no ratio."""


class BandLevel(StrEnum):
    """Whose readings speak."""

    TWIN = "this car's twin"
    MODEL = "this model"
    MAKE = "this make"
    ALL = "all makes"


class Method(StrEnum):
    """How a band was drawn."""

    NORMAL = "normal"
    BORROWED = "normal, spread of other models"
    ORDER = "distribution-free"
    THUMB = "rule of thumb"
    TOO_FEW = "too few readings"


@dataclass(frozen=True, slots=True)
class Scale:
    """Values as they are, or their logarithms; `finest` is the least spread on this scale."""

    logarithmic: bool
    finest: float

    def to(self, value: float) -> float:
        """Bring a value to the scale; what no logarithm has lies infinitely low."""
        if not self.logarithmic:
            return value
        return math.log(value) if value > 0 else -math.inf

    def back(self, point: float) -> float:
        """Undo `to`."""
        if not self.logarithmic:
            return point
        return math.exp(point) if point < 709 else math.inf


def scale_for(quantity: Quantity, values: Iterable[float]) -> Scale:
    """Choose the scale on which readings of a quantity are alike in spread."""
    if quantity in NO_NATURAL_ZERO or any(value <= 0 for value in values):
        return Scale(False, FINEST_STEP.get(quantity, 0.0))
    return Scale(True, FINEST_RATIO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """The normal band of one item at one level.

    Attributes
    ----------
    median, low, high : float or None
        In the unit of the quantity. `low` or `high` is None where that side does no harm; all
        are None where too few readings speak.
    count : int
        Good readings behind it (for a twin: good pairs), those set aside not counted.
    jobs : tuple of int
        Where they were taken.
    set_aside : int
        Readings called good that lie too far off the others to be.
    models : int
        Different models that they were taken on.
    """

    level: BandLevel
    median: float | None = None
    low: float | None = None
    high: float | None = None
    count: int = 0
    jobs: tuple[int, ...] = ()
    set_aside: int = 0
    models: int = 1
    method: Method = Method.TOO_FEW
    notices: tuple[Notice, ...] = ()
    scale: Scale = field(default=Scale(False, 0.0), repr=False)

    @property
    def speaks(self) -> bool:
        """Whether there were readings enough."""
        return self.median is not None

    def apart(self, value: float) -> float:
        """How far a value lies from the middle: 1 at the band's edge, negative below the middle.

        A value on a side that does no harm is 0 apart.
        """
        if self.median is None:
            return math.nan
        gap = self.scale.to(value) - self.scale.to(self.median)
        edge = self.high if gap > 0 else self.low
        if edge is None or not gap:
            return 0.0
        width = abs(self.scale.to(edge) - self.scale.to(self.median))
        if math.isinf(width):
            return 0.0
        return gap / width if width else math.copysign(math.inf, gap)


@dataclass(frozen=True, slots=True)
class TrimmedReadings:
    """Readings on their scale, ascending, without those set aside; with their deviations."""

    points: NDArray[np.float64]
    set_aside: int

    @property
    def freedom(self) -> int:
        """Degrees of freedom of their spread."""
        return max(0, len(self.points) - 1)

    @property
    def squares(self) -> float:
        """Sum of the squared deviations from their mean."""
        return float(np.var(self.points) * len(self.points)) if self.freedom else 0.0


def keep(points: Sequence[float], settings: ReadingSettings) -> TrimmedReadings:
    """Set aside the readings, on their scale and in any order, that lie too far off the others.

    Rosner's generalised test for up to a stated number of outliers, which one outlier cannot
    hide from another.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.3; Rosner, "Percentage points for a
    generalized ESD many-outlier procedure", Technometrics 25(2), 1983.

    Examples
    --------
    >>> keep([2.2, 2.1, 2.3, 2.2, 2.4, 2.2, 6.1], ReadingSettings()).set_aside
    1
    """
    ordered = np.sort(np.asarray(points, dtype=np.float64))
    count = len(ordered)
    most = min(math.ceil(settings.outlier_share * count), count - 3)
    first, last, kept = 0, count, slice(0, count)
    strictest = _critical(count, most, settings.outlier_level) if most > 0 else 0.0
    for step in range(1, most + 1):
        rest = ordered[first:last]
        middle, spread = float(np.mean(rest)), float(np.std(rest, ddof=1))
        below, above = middle - rest[0], rest[-1] - middle
        if not (math.isfinite(spread) and spread > 1e-12 * max(abs(middle), above, below)):
            break
        lower = below > above * (1 + _ROUNDING)
        first, last = (first + 1, last) if lower else (first, last - 1)
        farthest = max(below, above) / spread
        if farthest > strictest and farthest > _critical(count, step, settings.outlier_level):
            kept = slice(first, last)
    return TrimmedReadings(ordered[kept], count - len(ordered[kept]))


@lru_cache(maxsize=4096)
def _critical(count: int, step: int, level: float) -> float:
    """Critical value of the step-th farthest of `count` readings."""
    left = count - step
    t = tolerance.student_quantile(1 - level / (2 * (left + 1)), left - 1)
    return left * t / math.sqrt((left - 1 + t * t) * (left + 1))


@np.errstate(over="ignore", invalid="ignore")
def learn(
    values: Sequence[float],
    level: BandLevel,
    scale: Scale,
    settings: ReadingSettings,
    *,
    jobs: tuple[int, ...] = (),
    worse: Worse = Worse.BOTH,
    others: Sequence[Sequence[float]] = (),
) -> Band:
    """Draw the normal band of one sample of good readings of one kind.

    With enough readings the band lies between two of them and supposes no distribution; with
    fewer it is the mean and Howe's factor on `scale`. Small samples make the factor, and so the
    band, wide.

    `scale` is the one on which the readings are alike in spread. The band is without numbers if
    fewer than ``settings.least`` readings are left, or they differ by more than can be reckoned
    with.

    Parameters
    ----------
    jobs : tuple of int
        Where they were taken.
    worse : Worse
        Which side is a fault; the other side stays open.
    others : sequence of sequences of float
        Good readings of other models, one sequence a model, whose spread may be borrowed.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3 and 7.2.6.4.

    Examples
    --------
    >>> good = (2.2, 2.1, 2.3, 2.2, 2.4, 2.2, 6.1)
    >>> band = learn(good, BandLevel.MODEL, Scale(True, 0.01), ReadingSettings())
    >>> band.count, band.set_aside, round(band.low, 1), round(band.high, 1)
    (6, 1, 1.9, 2.6)
    """
    kept = keep([scale.to(value) for value in values], settings)
    points, count = kept.points, len(kept.points)
    if count < settings.least or not math.isfinite(kept.squares):
        return Band(level=level, count=count, jobs=jobs, scale=scale)
    squares, freedom, method = kept.squares, kept.freedom, Method.NORMAL
    if count < settings.borrow_below:
        lent = [keep([scale.to(v) for v in values], settings) for values in others]
        lent_freedom = sum(each.freedom for each in lent)
        if lent_freedom >= settings.least_borrowed:
            squares += sum(each.squares for each in lent)
            freedom += lent_freedom
            method = Method.BORROWED
    low, high, held = _by_order(points, worse, settings)
    if low is not None or high is not None:
        method = Method.ORDER
    else:
        spread = max(math.sqrt(squares / freedom), scale.finest)
        # a mislabelled reading widens a spread of their own, but not a borrowed one: there the
        # middle must be robust, which costs as much certainty as a third of the readings
        borrowed = method is Method.BORROWED
        middle = float(np.median(points) if borrowed else np.mean(points))
        apart = min(count, len(jobs) or count)  # readings of one car are alike
        behind = max(1, int(apart / _MEDIAN_COSTS)) if borrowed else apart
        low, high, held = _by_factor(middle, spread, behind, freedom, worse, settings)
    middle, least = float(np.median(points)), 2 * scale.finest
    said = {
        Notice.WIDENED: held > settings.content + settings.widened_from,
        Notice.BORROWED: method is Method.BORROWED,
        Notice.SET_ASIDE: kept.set_aside > 0,
        Notice.LONG_TAILS: _tails(points) > settings.tails_from,
    }
    return Band(
        level=level,
        median=scale.back(middle),
        low=None if low is None else scale.back(min(low, middle - least)),
        high=None if high is None else scale.back(max(high, middle + least)),
        count=count,
        jobs=jobs,
        set_aside=kept.set_aside,
        method=method,
        notices=tuple(notice for notice, holds in said.items() if holds),
        scale=scale,
    )


def _tails(points: NDArray[np.float64]) -> float:
    """Standard deviation over the one the median deviation implies: 1 for a normal population.

    The factor 1.4826 makes the median absolute deviation a standard deviation (NIST/SEMATECH
    e-Handbook of Statistical Methods, 1.3.5.6, for the deviation; the factor from memory).
    """
    robust = 1.4826 * float(np.median(np.abs(points - np.median(points))))
    return float(np.std(points)) / robust if robust else 1.0


def _by_order(
    points: NDArray[np.float64], worse: Worse, settings: ReadingSettings
) -> tuple[float | None, float | None, float]:
    """Limits between order statistics and the share they hold on average; no limits if few."""
    sides = 2 if worse is Worse.BOTH else 1
    rank = tolerance.order_rank(len(points), settings.content, settings.confidence, sides=sides)
    if not rank:
        return None, None, 0.0
    low = None if worse is Worse.HIGH else float(points[rank - 1])
    high = None if worse is Worse.LOW else float(points[-rank])
    return low, high, 1 - sides * rank / (len(points) + 1)


def _by_factor(
    middle: float, spread: float, count: int, freedom: int, worse: Worse, settings: ReadingSettings
) -> tuple[float | None, float | None, float]:
    """Limits from the mean and a tolerance factor, and the share they hold on average."""
    sides, factor = (2, tolerance.two_sided) if worse is Worse.BOTH else (1, tolerance.one_sided)
    k = factor(count, settings.content, settings.confidence, freedom)
    held = tolerance.expected_content(k, count, freedom, sides=sides)
    low = None if worse is Worse.HIGH else middle - k * spread
    high = None if worse is Worse.LOW else middle + k * spread
    return low, high, held
