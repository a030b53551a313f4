"""Hypothesis strategies for the values of `kb.case`: anything that a case can hold."""

from datetime import date
from typing import TypeVar

from hypothesis import strategies as st

from kb.case import (
    CODE_PATTERN,
    FAILURE_TYPE_PATTERN,
    FIRST_YEAR,
    LARGEST_INTEGER,
    LAST_YEAR,
    VIN_PATTERN,
    Action,
    Attempt,
    Cause,
    CodeStatus,
    Contact,
    DiagnosticTest,
    FailureMode,
    Job,
    Outcome,
    Quantity,
    Reading,
    Relation,
    Stage,
    System,
    TroubleCode,
    Vehicle,
)

T = TypeVar("T")

texts = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), include_characters="\n\t"), max_size=30
)
words = texts.filter(str.strip)
counts = st.integers(0, LARGEST_INTEGER)
numbers = st.floats(allow_nan=False, allow_infinity=False)
days = st.dates(date(FIRST_YEAR, 1, 1), date(LAST_YEAR, 12, 31))


def maybe(values: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    """The value, or nothing recorded."""
    return st.none() | values


def listed(values: st.SearchStrategy[T], most: int = 3) -> st.SearchStrategy[tuple[T, ...]]:
    """A few of the values."""
    return st.lists(values, max_size=most).map(tuple)


vehicles = st.builds(
    Vehicle,
    make=maybe(words),
    model=maybe(words),
    year=maybe(st.integers(FIRST_YEAR, LAST_YEAR)),
    engine=maybe(words),
    vin=maybe(st.from_regex(VIN_PATTERN, fullmatch=True)),
    ref=maybe(words),
)
codes = st.builds(
    TroubleCode,
    code=st.from_regex(CODE_PATTERN, fullmatch=True),
    failure_type=maybe(st.from_regex(FAILURE_TYPE_PATTERN, fullmatch=True)),
    status=maybe(st.sampled_from(CodeStatus)),
)


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    """Any reading; its value need not be what its typed text says."""
    relation = draw(st.sampled_from(Relation))
    ends = sorted([draw(numbers), draw(numbers)])
    return Reading(
        item=draw(words),
        quantity=draw(st.sampled_from(Quantity)),
        typed=draw(words),
        relation=relation,
        value=None if relation is Relation.OVER_RANGE else ends[0],
        upper=ends[1] if relation is Relation.RANGE else None,
        position=draw(maybe(texts)),
        method=draw(maybe(texts)),
        condition=draw(maybe(texts)),
        stage=draw(st.sampled_from(Stage)),
        proved_good=draw(maybe(st.booleans())),
    )


tests = st.builds(
    DiagnosticTest,
    name=words,
    seen=words,
    minutes=maybe(counts),
    points_to=listed(texts),
    clears=listed(texts),
)
causes = st.builds(
    Cause,
    component=words,
    failure_mode=st.sampled_from(FailureMode),
    location=maybe(texts),
    position=maybe(texts),
    words=maybe(texts),
)
attempts = st.builds(
    Attempt,
    action=st.sampled_from(Action),
    component=words,
    words=maybe(texts),
    supposed=maybe(causes),
    parts_cost=maybe(st.floats(0, 1e9)),
    minutes=maybe(counts),
    cured=maybe(st.booleans()),
    verified=maybe(texts),
)
contacts = st.builds(
    Contact,
    on=st.dates(),
    outcome=st.sampled_from(Outcome),
    odometer_km=maybe(counts),
    job=maybe(st.integers(1, LARGEST_INTEGER)),
    words=maybe(texts),
)


@st.composite
def jobs(
    draw: st.DrawFn,
    number: st.SearchStrategy[int | None] = maybe(st.integers(1, LARGEST_INTEGER)),
    uid: st.SearchStrategy[str | None] = maybe(words),
) -> Job:
    """Any job."""
    opened, closed = sorted([draw(days), draw(days)])
    return Job(
        vehicle=draw(vehicles),
        opened=opened,
        complaint=draw(words),
        number=draw(number),
        uid=draw(uid),
        system=draw(maybe(st.sampled_from(System))),
        conditions=draw(maybe(texts)),
        odometer_km=draw(maybe(counts)),
        technician=draw(maybe(texts)),
        closed=draw(maybe(st.just(closed))),
        codes=draw(listed(codes)),
        readings=draw(listed(readings())),
        tests=draw(listed(tests)),
        cause=draw(maybe(causes)),
        proved_by=draw(maybe(texts)),
        attempts=draw(listed(attempts)),
        contacts=draw(listed(contacts)),
        notes=draw(maybe(texts)),
    )
