"""The twin: the same item elsewhere on the same car, and how far good twins differ."""

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from enum import StrEnum
from itertools import combinations

from kb.bands.bands import Band, BandLevel, Method, Scale, learn
from kb.bands.measured import Taken, goods, kind_of, same_condition
from kb.case import Reading, Relation
from kb.errors import Notice
from kb.intake.wording import Wording
from kb.settings import ReadingSettings


class Twinship(StrEnum):
    """How two places on one car lie to one another, the nearest kinship first."""

    SIDE = "other side"
    CYLINDER = "other cylinder"
    CORNER = "other corner"


_SIDES = {"left": "right", "nearside": "offside", "driver": "passenger"}
_OPPOSITES = [frozenset(pair) for pair in (*_SIDES.items(), ("front", "rear"))]
_ENDS = frozenset(("front", "rear"))


def twinship(one: str | None, other: str | None) -> Twinship | None:
    """Tell how two positions lie to one another.

    Left and right, nearside and offside, driver and passenger are kept apart: which is which
    depends on the car.

    Examples
    --------
    >>> str(twinship("left front", "right front")), str(twinship("left front", "left rear"))
    ('other side', 'other corner')
    >>> twinship("left front", "passenger front") is None
    True
    """
    if not one or not other or one == other:
        return None
    mine, theirs = set(one.split()), set(other.split())
    apart = mine ^ theirs
    if {"cylinder"} <= mine & theirs and all(word.isdigit() for word in apart):
        return Twinship.CYLINDER
    pairs = [pair for pair in _OPPOSITES if pair <= apart]
    if not pairs or apart != set().union(*pairs):
        return None
    return Twinship.CORNER if _ENDS in pairs else Twinship.SIDE


def find_twin(
    reading: Reading, same_car: Iterable[Reading], wording: Wording
) -> tuple[Reading, Twinship] | None:
    """Find the reading of the same car that is the nearest twin.

    It must be a number of the same item and quantity in the same condition, of an item not
    proved bad. Of several the nearest in place, then the one taken last counts.
    """
    found = [
        (list(Twinship).index(related), -place, other)
        for place, other in enumerate(same_car)
        if other.relation is Relation.EXACT and other.proved_good is not False
        if kind_of(other, wording) == kind_of(reading, wording)
        if same_condition(reading, other, wording)
        if (related := twinship(reading.position, other.position)) is not None
    ]
    if not found:
        return None
    nearest, _, other = min(found, key=lambda each: each[:2])
    return other, list(Twinship)[nearest]


def twin_band(
    reading: Reading,
    twin: Reading,
    related: Twinship,
    taken: Iterable[Taken],
    own: Band,
    wording: Wording,
    settings: ReadingSettings,
) -> Band:
    """Draw the band in which a reading lies if it is as good as its twin (`find_twin`).

    Learnt from the paired differences of good twins on the same job; with too few of those a
    rule of thumb says how far twins may differ. `taken` are past readings of the item; `own` is
    the band that speaks for it, whose scale is used.
    """
    value = twin.value
    if value is None or not math.isfinite(own.scale.to(value)):
        return Band(level=BandLevel.TWIN, scale=own.scale)
    turned = -1.0 if (reading.position or "") > (twin.position or "") else 1.0
    pairs = _pairs(taken, related, own.scale, wording)
    apart = learn(
        [turned * gap for gap, _ in pairs],
        BandLevel.TWIN,
        Scale(False, own.scale.finest),
        replace(settings, least=settings.least_pairs),
        jobs=tuple(sorted({job for _, job in pairs if job is not None})),
    )
    at = own.scale.to(value)
    if apart.speaks:
        open_low, open_high = own.speaks and own.low is None, own.speaks and own.high is None
        middle, low, high = (at + (each or 0.0) for each in (apart.median, apart.low, apart.high))
        return replace(
            apart,
            median=own.scale.back(middle),
            low=None if open_low else own.scale.back(low),
            high=None if open_high else own.scale.back(high),
            scale=own.scale,
        )
    return _by_thumb(replace(apart, scale=own.scale), value, own, settings)


def _by_thumb(few: Band, value: float, own: Band, settings: ReadingSettings) -> Band:
    """Draw the band around the twin's value by the trade's ratio, or by the item's own band."""
    at, scale = own.scale.to(value), own.scale
    if scale.logarithmic:
        reach = math.log1p(settings.twin_ratio)
    elif own.median is not None:
        edges = [edge for edge in (own.low, own.high) if edge is not None]
        reach = math.sqrt(2) * max(abs(edge - own.median) for edge in edges)
    else:
        return few
    one_sided = own.speaks and (own.low is None or own.high is None)
    return replace(
        few,
        median=value,
        low=None if one_sided and own.low is None else scale.back(at - reach),
        high=None if one_sided and own.high is None else scale.back(at + reach),
        method=Method.THUMB,
        notices=(Notice.NO_PAIRS,),
    )


def _pairs(
    taken: Iterable[Taken], related: Twinship, scale: Scale, wording: Wording
) -> list[tuple[float, int | None]]:
    """Differences of good twins of one job and stage, first position less second."""
    by_job: dict[object, list[tuple[Taken, float]]] = defaultdict(list)
    for each, value in goods(taken):
        by_job[each.job, each.reading.stage].append((each, scale.to(value)))
    for group in by_job.values():
        group.sort(key=lambda each: each[0].reading.position or "")
    return [
        (first - second, one.job)
        for group in by_job.values()
        for (one, first), (other, second) in combinations(group, 2)
        if twinship(one.reading.position, other.reading.position) is related
        if same_condition(one.reading, other.reading, wording)
    ]
