"""Random values of the vocabulary, for property tests; each strategy is made once."""

from datetime import UTC, date, datetime
from functools import cache
from typing import TypeVar

from hypothesis import strategies as st

from kb.bounds import (
    CODE_PATTERN,
    FAILURE_TYPE_PATTERN,
    FIRST_YEAR,
    LARGEST_INTEGER,
    LAST_YEAR,
    LONGEST_KEY,
    VIN_PATTERN,
)
from kb.case import (
    Action,
    Attempt,
    Cause,
    CodeStatus,
    Confirmation,
    Contact,
    DiagnosticTest,
    FailureMode,
    Job,
    Link,
    LinkKind,
    Outcome,
    Precondition,
    Proof,
    Quantity,
    Reading,
    Relation,
    Stage,
    System,
    TroubleCode,
    Vehicle,
)

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
def counts(least: int = 0) -> st.SearchStrategy[int]:
    """Whole numbers that a case can hold."""
    return st.integers(least, LARGEST_INTEGER)


@cache
def numbers(least: float | None = None) -> st.SearchStrategy[float]:
    """Finite measured values."""
    return st.floats(least, allow_nan=False, allow_infinity=False)


@cache
def days() -> st.SearchStrategy[date]:
    """Days of the workshop."""
    return st.dates(date(FIRST_YEAR, 1, 1), date(LAST_YEAR, 12, 31))


@cache
def codes() -> st.SearchStrategy[TroubleCode]:
    """Any trouble code."""
    return st.builds(
        TroubleCode,
        code=st.from_regex(CODE_PATTERN, fullmatch=True),
        failure_type=maybe(st.from_regex(FAILURE_TYPE_PATTERN, fullmatch=True)),
        status=maybe(st.sampled_from(CodeStatus)),
    )


@cache
def vehicles() -> st.SearchStrategy[Vehicle]:
    """Any vehicle, known by ref, by vin or not at all."""
    return st.builds(
        Vehicle,
        make=maybe(words()),
        model=maybe(words()),
        year=maybe(st.integers(FIRST_YEAR, LAST_YEAR)),
        engine=maybe(words()),
        vin=maybe(st.from_regex(VIN_PATTERN, fullmatch=True)),
        ref=maybe(words(LONGEST_KEY)),
    )


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
    return Reading(
        item=draw(words()),
        quantity=draw(st.sampled_from(Quantity)),
        typed=draw(words()),
        relation=relation,
        value=value,
        upper=upper,
        position=draw(maybe(texts())),
        method=draw(maybe(texts())),
        condition=draw(maybe(texts())),
        stage=draw(st.sampled_from(Stage)),
        proved_good=draw(maybe(st.booleans())),
    )


@cache
def tests() -> st.SearchStrategy[DiagnosticTest]:
    """Any diagnostic test."""
    suspects = st.lists(texts(), max_size=3).map(tuple)
    return st.builds(
        DiagnosticTest,
        name=words(),
        seen=words(),
        minutes=maybe(counts()),
        points_to=suspects,
        clears=suspects,
    )


@cache
def causes() -> st.SearchStrategy[Cause]:
    """Any cause."""
    return st.builds(
        Cause,
        component=words(),
        failure_mode=st.sampled_from(FailureMode),
        location=maybe(texts()),
        position=maybe(texts()),
        words=maybe(texts()),
    )


@cache
def attempts() -> st.SearchStrategy[Attempt]:
    """Any attempt."""
    return st.builds(
        Attempt,
        action=st.sampled_from(Action),
        component=words(),
        words=maybe(texts()),
        supposed=maybe(causes()),
        parts_cost=maybe(numbers(0)),
        minutes=maybe(counts()),
        cured=maybe(st.booleans()),
        verified=maybe(texts()),
        proofs=st.lists(st.sampled_from(Proof), max_size=3).map(tuple),
    )


@cache
def contacts() -> st.SearchStrategy[Contact]:
    """Any later sign of life."""
    return st.builds(
        Contact,
        on=days(),
        outcome=st.sampled_from(Outcome),
        odometer_km=maybe(counts()),
        job=maybe(counts(1)),
        words=maybe(texts()),
    )


@cache
def links() -> st.SearchStrategy[Link]:
    """Any part of a circuit."""
    return st.builds(
        Link, name=words(), kind=st.sampled_from(LinkKind), shorting_bars=st.booleans()
    )


@cache
def confirmations() -> st.SearchStrategy[Confirmation]:
    """Any confirmed precondition."""
    return st.builds(
        Confirmation,
        what=st.sampled_from(Precondition),
        step=words(),
        by=words(),
        at=st.datetimes(
            datetime(FIRST_YEAR + 1, 1, 2),
            datetime(LAST_YEAR - 1, 12, 30),
            timezones=st.just(UTC),
        ),
    )


@cache
@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Any job, numbered or not, open or closed."""
    opened, later = sorted(draw(st.tuples(days(), days())))

    def some(items: st.SearchStrategy[T]) -> tuple[T, ...]:
        return tuple(draw(st.lists(items, max_size=3)))

    return Job(
        vehicle=draw(vehicles()),
        opened=opened,
        complaint=draw(words(400)),
        number=draw(maybe(counts(1))),
        uid=draw(maybe(words(LONGEST_KEY))),
        system=draw(maybe(st.sampled_from(System))),
        conditions=draw(maybe(texts())),
        odometer_km=draw(maybe(counts())),
        technician=draw(maybe(texts())),
        closed=draw(maybe(st.just(later))),
        codes=some(codes()),
        readings=some(readings()),
        tests=some(tests()),
        cause=draw(maybe(causes())),
        proved_by=draw(maybe(texts())),
        attempts=some(attempts()),
        contacts=some(contacts()),
        notes=draw(maybe(texts())),
        circuit=some(links()),
        confirmations=some(confirmations()),
        reproduced=draw(maybe(st.booleans())),
    )
