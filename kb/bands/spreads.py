"""What good and bad ones of an item read here, side by side: how well its readings part them."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from kb.bands.bands import Band, BandLevel, learn, scale_for
from kb.bands.levels import states_told
from kb.bands.limits import Limit, LimitsFound, Reach, Worse, find_limit
from kb.bands.measured import Taken, condition_words, goods, kind_of, numbers_of, taken_on
from kb.case import Job, Quantity, Reading, Relation, even
from kb.intake.wording import Wording
from kb.settings import ReadingSettings

_AT_THE_EDGE = 1 + 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class PlottedReading:
    """One reading, in the unit of its quantity, and the job that it was taken on."""

    value: float
    job: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSpread:
    """The readings of one item in one condition, of those whose readings speak for one another.

    Attributes
    ----------
    make : str or None
        Whose cars they were taken on; None of all makes.
    band : Band
        Of the good ones.
    good, bad : tuple of PlottedReading
        Readings of items that proved good, and not good; exact values only.
    bad_inside : int
        How many of the bad ones lie inside the band all the same.
    sample : Reading
        The newest of them, as it was typed.
    """

    item: str
    condition: str | None
    quantity: Quantity
    make: str | None
    band: Band
    good: tuple[PlottedReading, ...]
    bad: tuple[PlottedReading, ...]
    bad_inside: int
    sample: Reading = field(repr=False)


def spreads(
    jobs: Iterable[Job],
    wording: Wording,
    settings: ReadingSettings,
    limits: Sequence[Limit],
    most: int,
    *,
    fit: Callable[[Reading], bool] = lambda _: True,
) -> tuple[ReadingSpread, ...]:
    """Return the items with most bad readings that have good ones enough for a band.

    Only readings that are `fit` to be shown are drawn. They speak as far as the line of the table
    of limits lets them: those of all makes, else those of the make with most. Where good ones were
    taken in states that exclude one another, no one band holds.
    """
    kinds = defaultdict(list)
    known: dict[Hashable, Hashable] = {}  # few items are named, however many readings there are
    for each in taken_on(jobs):
        reading = each.reading
        if reading.proved_good is not None and reading.relation is Relation.EXACT:
            named = reading.item, reading.condition, reading.quantity
            if named not in known:
                known[named] = kind_of(reading, wording), condition_words(reading, wording)
            kinds[known[named]].append(each)
    told = sorted(kinds.values(), key=lambda taken: (-len(_bad(taken)), taken[0].reading.item))
    shown = ([each for each in taken if fit(each.reading)] for taken in told)
    return tuple(islice(_drawn(filter(None, shown), wording, settings, limits), most))


def _drawn(
    kinds: Iterable[list[Taken]],
    wording: Wording,
    settings: ReadingSettings,
    limits: Sequence[Limit],
) -> Iterator[ReadingSpread]:
    for every in kinds:
        newest = every[-1]
        found = find_limit(newest.reading, newest.vehicle, limits, wording)
        make, taken = _speaking(every, found)
        if _bad(taken) and not states_told(taken, frozenset(), found.kinds):
            spread = _spread(make, taken, found, settings)
            if spread.band.speaks:
                yield spread


def _speaking(taken: list[Taken], found: LimitsFound) -> tuple[str | None, list[Taken]]:
    """Return whose readings speak for one another, the most of them; None is all makes."""
    reach = found.line.reach if found.line else Reach.ALL
    if reach is Reach.ALL:
        return None, taken
    makes = defaultdict(list)
    for each in taken if reach is Reach.MAKE else ():
        if each.vehicle.make:
            makes[even(each.vehicle.make)].append(each)
    most = max(makes.values(), key=len, default=[])
    return (most[-1].vehicle.make if most else None), most


def _spread(
    make: str | None, taken: list[Taken], found: LimitsFound, settings: ReadingSettings
) -> ReadingSpread:
    good, newest = goods(taken), taken[-1].reading
    values = [value for _, value in good]
    band = learn(
        values,
        BandLevel.MAKE if make else BandLevel.ALL,
        scale_for(newest.quantity, values),
        settings,
        jobs=numbers_of(each for each, _ in good),
        worse=found.line.worse if found.line else Worse.BOTH,
    )
    bad = _bad(taken)
    return ReadingSpread(
        item=newest.item,
        condition=newest.condition,
        quantity=newest.quantity,
        make=make,
        band=band,
        good=tuple(PlottedReading(value=value, job=each.job) for each, value in good),
        bad=bad,
        bad_inside=sum(abs(band.apart(each.value)) <= _AT_THE_EDGE for each in bad),
        sample=newest,
    )


def _bad(taken: Iterable[Taken]) -> tuple[PlottedReading, ...]:
    return tuple(
        PlottedReading(value=each.reading.value, job=each.job)
        for each in taken
        if each.reading.proved_good is False and each.reading.value is not None
    )
