"""Placeholder readings: a control unit's ceiling, which says 'not fitted' and is no measurement."""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kb.bands.bands import Band
from kb.bands.measured import Taken, item_words, kind_of, near, numbers_of
from kb.case import Job, Quantity, Reading, Relation, same_text
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.settings import ReadingSettings

_NOT_FITTED = compiled(
    r"\bnot (?:fitted|equipped|installed|present|on this (?:car|model))\b|\bn/f\b|\bnone fitted\b",
    re.IGNORECASE,
)
_SAME = 1e-3
"""Ratio within which a control unit's ceiling is the same value, converted or rounded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placeholder:
    """A value seen again and again on circuits that nothing was wrong with.

    `value` is None beyond the instrument. It stood on so many circuits of so many cars, on `told`
    of which somebody wrote that the item is not fitted; `same_make` says that all are of the make
    asked about.
    """

    value: float | None
    circuits: int
    cars: int
    told: int
    same_make: bool
    jobs: tuple[int, ...]


def is_told_missing(reading: Reading) -> bool:
    """Whether a reading's condition says that the item is not fitted."""
    return bool(reading.condition and _NOT_FITTED.search(reading.condition))


def ceilings(jobs: Iterable[Job], least: int) -> frozenset[tuple[Quantity, float]]:
    """Return the values that stand where somebody wrote that nothing is fitted.

    Each stands on at least so many circuits and is in the unit of its quantity. A reading of just
    this value is no measurement: the circuit is open, or nothing is on it.
    """
    told = Counter(
        (reading.quantity, reading.value)
        for job in jobs
        for reading in job.readings
        if is_told_missing(reading)
    )
    return frozenset(
        (quantity, value)
        for (quantity, value), times in told.items()
        if value is not None and times >= least
    )


def find_placeholder(
    asked: Taken,
    taken: Iterable[Taken],
    band: Band | None,
    wording: Wording,
    settings: ReadingSettings,
) -> Placeholder | None:
    """Tell whether a reading is one of those values; None for a value that stands alone.

    The reading asked about counts as one of the circuits; `taken` are past readings, and those of
    its visit, which have no job number. Items must share a word to be alike. A value near the band
    of the item, where one speaks, is a measurement.
    """
    reading = asked.reading
    if reading.relation not in (Relation.EXACT, Relation.OVER_RANGE):
        return None
    # nothing was found wrong with their circuits, and nothing was proved good either
    alike = [
        each for each in taken if each.reading.proved_good is None and _alike(asked, each, wording)
    ]
    own = [
        each
        for each in alike
        if each.job is None or same_text(each.vehicle.make, asked.vehicle.make)
    ]
    here = [each for each in own if each.job is None]
    for group, same_make, least in (
        (own, True, settings.least_repeats),
        (alike, False, settings.least_repeats),
        (here, True, settings.least_on_one_car),
    ):
        circuits = {
            (each.car, kind_of(each.reading, wording), each.reading.position) for each in group
        }
        if len(circuits) < least or not _is_extreme(reading, group, band, settings):
            continue
        return Placeholder(
            value=reading.value,
            circuits=len(circuits),
            cars=len({each.car for each in group}),
            told=sum(is_told_missing(each.reading) for each in group),
            same_make=same_make,
            jobs=numbers_of(group),
        )
    return None


def _alike(asked: Taken, each: Taken, wording: Wording) -> bool:
    one, other = asked.reading, each.reading
    if one.quantity is not other.quantity or one.relation is not other.relation:
        return False
    if one.value is not None and (other.value is None or not near(one.value, other.value, _SAME)):
        return False
    return bool(item_words(one.item, wording) & item_words(other.item, wording))


def _is_extreme(
    reading: Reading, group: Sequence[Taken], band: Band | None, settings: ReadingSettings
) -> bool:
    if reading.value is None or band is None or not band.speaks:
        return any(is_told_missing(each.reading) for each in group)
    return abs(band.apart(reading.value)) >= settings.extreme_from
