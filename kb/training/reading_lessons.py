"""What the items of a system read when they proved good, and when they did not."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kb.case import Job, Quantity, Reading, Relation
from kb.intake.items import item_key
from kb.intake.wording import Wording
from kb.safety.job_words import FIT, JobWords
from kb.statistics.summaries import known_median, usual

LEAST_READINGS = 3
"""A condition with fewer readings of an item is not told apart from the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Readings of one kind: lowest, middle and highest value in the unit of the quantity.

    The values are None where every reading was beyond its instrument; `over_range` counts those.
    """

    low: float | None
    middle: float | None
    high: float | None
    readings: int
    over_range: int
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingLesson:
    """What one item reads when it proved good, and when it did not.

    `condition` is None where the readings were taken in various ones or in none told; `method`
    is the usual one, fit to be printed.
    """

    item: str
    quantity: Quantity
    condition: str | None
    method: str | None
    good: Span | None
    bad: Span | None


def reading_lessons(cases: Iterable[Job], wording: Wording) -> tuple[ReadingLesson, ...]:
    """Gather the readings of one system whose item proved good or not, by item.

    The items with most readings come first.
    """
    taken = [
        (job, reading)
        for job in cases
        for reading in JobWords.of(job, wording).sound_readings(job)
        if reading.proved_good is not None
    ]
    often = Counter(_kind(reading, wording) for _, reading in taken)
    groups: dict[tuple[str, Quantity, str], list[tuple[Job, Reading]]] = defaultdict(list)
    for job, reading in taken:
        item, quantity, condition = _kind(reading, wording)
        own = often[item, quantity, condition] >= LEAST_READINGS
        groups[item, quantity, condition if own else ""].append((job, reading))
    ranked = sorted(groups, key=lambda kind: (-len(groups[kind]), kind))
    return tuple(_lesson(groups[kind], told=bool(kind[2])) for kind in ranked)


def _kind(reading: Reading, wording: Wording) -> tuple[str, Quantity, str]:
    condition = " ".join(wording.tokens(reading.condition or ""))
    return item_key(reading.item, wording), reading.quantity, condition


def _lesson(taken: Sequence[tuple[Job, Reading]], *, told: bool) -> ReadingLesson:
    methods = [JobWords.of(job).shown_reading(reading).method for job, reading in taken]
    return ReadingLesson(
        item=FIT.named(usual(reading.item for _, reading in taken) or ""),
        quantity=taken[0][1].quantity,
        condition=FIT.named(usual(reading.condition for _, reading in taken) or "")
        if told
        else None,
        method=usual(methods),
        good=_span([(job, reading) for job, reading in taken if reading.proved_good]),
        bad=_span([(job, reading) for job, reading in taken if not reading.proved_good]),
    )


def _span(taken: Sequence[tuple[Job, Reading]]) -> Span | None:
    """Return the span of some readings; one that gives bounds only counts with its bounds."""
    if not taken:
        return None
    readings = [reading for _, reading in taken]
    ends = (end for reading in readings for end in (reading.value, reading.upper))
    values = [end for end in ends if end is not None]
    numbers = (job.number for job, _ in taken)
    return Span(
        low=min(values, default=None),
        middle=known_median(values),
        high=max(values, default=None),
        readings=len(readings),
        over_range=sum(reading.relation is Relation.OVER_RANGE for reading in readings),
        jobs=tuple(dict.fromkeys(number for number in numbers if number is not None)),
    )
