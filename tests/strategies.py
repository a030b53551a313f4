"""Random values of the vocabulary, for property tests; each strategy is made once."""

import math
import re
from collections.abc import Callable, Collection
from dataclasses import replace
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar

from hypothesis import strategies as st

from kb.bounds import (
    FIRST_YEAR,
    LAST_YEAR,
    LONGEST_TEXT,
    DayBounds,
    FieldType,
    NumberBounds,
    TextBounds,
    field_types,
)
from kb.case import Job, Reading, Relation, SaidAt

T = TypeVar("T")
LETTERS = st.characters(codec="utf-8", exclude_categories=["Cc"], include_characters="\n\t")


@cache
def texts(max_size: int = 40) -> st.SearchStrategy[str]:
    """Any text that a case can hold, the empty one included."""
    return st.text(LETTERS, max_size=max_size)


@cache
def words(max_size: int = 40) -> st.SearchStrategy[str]:
    """Any text that a required field can hold."""
    return st.text(LETTERS, min_size=1, max_size=max_size).filter(lambda text: bool(text.strip()))


@cache
def maybe(values: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    """Nothing, or one of the values."""
    return st.none() | values


@cache
def numbers(least: float | None = None, most: float | None = None) -> st.SearchStrategy[float]:
    """Finite measured values."""
    return st.floats(least, most, allow_nan=False, allow_infinity=False)


@cache
def days() -> st.SearchStrategy[date]:
    """Days of the workshop."""
    return st.dates(date(FIRST_YEAR, 1, 1), date(LAST_YEAR, 12, 31))


@cache
def moments() -> st.SearchStrategy[datetime]:
    """Moments of the workshop, in UTC."""
    first, last = datetime(FIRST_YEAR + 1, 1, 2), datetime(LAST_YEAR - 1, 12, 30)
    return st.datetimes(first, last, timezones=st.just(UTC))


def held(field: FieldType) -> st.SearchStrategy[Any]:
    """Any value that a field can hold, within its bounds."""
    values = _one(field.kind, field.bounds)
    if field.is_list:
        return st.lists(values, max_size=3).map(tuple)
    return maybe(values) if field.optional else values


def _one(kind: Any, bounds: Any) -> st.SearchStrategy[Any]:
    match bounds:
        case TextBounds(pattern=re.Pattern() as pattern):
            return st.from_regex(pattern, fullmatch=True)
        case TextBounds(filled=filled, longest=longest):
            sizes = () if longest == LONGEST_TEXT else (longest,)
            return words(*sizes) if filled else texts(*sizes)
        case NumberBounds(least=least, most=most) if kind is int:
            return st.integers(int(least), int(most))
        case NumberBounds(least=least, most=most):
            return numbers(*(end if math.isfinite(end) else None for end in (least, most)))
        case DayBounds():
            return moments() if kind is datetime else days()
    if kind is date:
        return st.dates()
    if kind is bool:
        return st.booleans()
    return st.sampled_from(kind) if issubclass(kind, StrEnum) else any_of(kind)


@cache
def any_of(kind: type[T]) -> st.SearchStrategy[T]:
    """Any value of the vocabulary."""
    return _JOINT[kind]() if kind in _JOINT else st.builds(kind, **_fields(kind))


def _fields(kind: type, besides: Collection[str] = ()) -> dict[str, st.SearchStrategy[Any]]:
    return {name: held(field) for name, field in field_types(kind).items() if name not in besides}


@cache
@st.composite
def readings(draw: st.DrawFn) -> Reading:
    """Any reading: exact, bounded, a range, or over the instrument's range."""
    relation = draw(st.sampled_from(Relation))
    value, upper = None, None
    if relation is Relation.RANGE:
        value, upper = sorted(draw(st.tuples(numbers(), numbers())))
    elif relation is not Relation.OVER_RANGE:
        value = draw(numbers())
    rest = _fields(Reading, besides=("relation", "value", "upper"))
    return Reading(relation=relation, value=value, upper=upper, **draw(st.fixed_dictionaries(rest)))


@cache
@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Any job, numbered or not, open or closed; its fix is heard of after the handover."""
    opened, later = sorted(draw(st.tuples(days(), days())))
    rest = _fields(Job, besides=("opened", "closed", "complaint"))
    job = Job(
        opened=opened,
        closed=draw(maybe(st.just(later))),
        complaint=draw(words(400)),
        **draw(st.fixed_dictionaries(rest)),
    )
    parts: dict[str, Any] = {
        name: tuple(replace(each, said=draw(_places(job))) for each in getattr(job, name))
        for name in ("codes", "readings", "tests", "attempts", "contacts")
    }
    first = job.closed or job.opened
    parts["contacts"] = tuple(replace(each, on=max(each.on, first)) for each in parts["contacts"])
    return replace(job, **parts)


@st.composite
def _places(draw: st.DrawFn, job: Job) -> SaidAt | None:
    """Any place in the entries of a job, or none."""
    if not job.entries or draw(st.booleans()):
        return None
    entry = draw(st.integers(0, len(job.entries) - 1))
    within = st.integers(0, len(job.entries[entry].text))
    start, end = sorted(draw(st.tuples(within, within)))
    return SaidAt(entry=entry, start=start, end=end)


_JOINT: dict[Any, Callable[[], st.SearchStrategy[Any]]] = {Reading: readings, Job: jobs}
"""Values of which some fields must fit one another."""
