"""One of several alike beside the rest of them: ``cylinder 2 4 bar, others 12 bar``.

What one cylinder, injector, wheel or coil reads is held against what the others of the same car
read under the same condition, whatever the maker's figure is.
"""

import statistics
from collections.abc import Iterable
from dataclasses import dataclass

from kb.bands.bands import NO_NATURAL_ZERO
from kb.bands.limits import Limit, Worse, find_limit
from kb.bands.measured import kind_of, same_condition
from kb.bands.twins import Twinship, twinship
from kb.case import Quantity, Reading, Relation, Vehicle
from kb.intake.wording import Wording
from kb.settings import ReadingSettings

OTHERS = frozenset(["others", "rest"])
"""Positions of the rest of several."""
_FEWEST = 2
"""So many of the rest, each told by itself, say what is usual on this car."""


def others_of(
    reading: Reading, same_car: Iterable[Reading], wording: Wording
) -> tuple[Reading, ...]:
    """Return what the others of the same kind read on a car, under the same condition.

    Either told in one, as *others*, or two other cylinders at least.
    """
    if reading.position is None or reading.position in OTHERS:
        return ()
    alike = [
        other
        for other in same_car
        if other.relation is Relation.EXACT and other.value is not None
        if other.proved_good is not False and other.stage is reading.stage
        if kind_of(other, wording) == kind_of(reading, wording)
        if same_condition(reading, other, wording)
    ]
    told = tuple(other for other in alike if other.position in OTHERS)
    cylinders = tuple(
        other for other in alike if twinship(reading.position, other.position) is Twinship.CYLINDER
    )
    return told or (cylinders if len(cylinders) >= _FEWEST else ())


@dataclass(frozen=True, slots=True)
class OddOne:
    """One reading far off the others of its car: on which side, and what they read, the middle.

    `by_limit` is True where the trade sets a limit to the spread of such readings: it then goes
    before a limit of the value itself.
    """

    side: Worse
    others: float
    by_limit: bool


def odd_one(
    reading: Reading,
    same_car: Iterable[Reading],
    vehicle: Vehicle,
    limits: Iterable[Limit],
    wording: Wording,
    settings: ReadingSettings,
) -> OddOne | None:
    """Tell whether a reading lies too far off what the others of the car read; None if not.

    How far is too far is told by the trade's limit for the spread of the item, the lowest against
    the highest, where there is one; else it is twice or half as much (`ReadingSettings.odd_ratio`).
    """
    others = others_of(reading, same_car, wording)
    usual = [other.value for other in others if other.value is not None]
    value = reading.value if reading.relation is Relation.EXACT else None
    if value is None or not usual or reading.quantity in NO_NATURAL_ZERO:
        return None
    middle = statistics.median(usual)
    low, high = sorted((value, middle))
    if low < 0 or high <= 0:
        return None
    side = Worse.HIGH if value > middle else Worse.LOW
    apart = 1 - low / high
    line = _spread_limit(reading, apart, vehicle, limits, wording)
    if line is not None:
        past = side is Worse.LOW and line.side_of(100 * apart) is not None
        return OddOne(side, middle, by_limit=True) if past else None
    return OddOne(side, middle, by_limit=False) if high >= settings.odd_ratio * low else None


def _spread_limit(
    reading: Reading, apart: float, vehicle: Vehicle, limits: Iterable[Limit], wording: Wording
) -> Limit | None:
    spread = Reading(
        item=f"{reading.item} spread",
        quantity=Quantity.PROPORTION,
        typed=f"{100 * apart:.0f} %",
        value=100 * apart,
    )
    line = find_limit(spread, vehicle, limits, wording).line
    return line if line and line.says_a_figure else None
