"""Spans of good and bad readings."""

from datetime import date
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Job, Quantity, Reading, Relation, System, Vehicle
from kb.intake.wording import Wording
from kb.training.reading_lessons import ReadingLesson, reading_lessons

WORDS = Wording.default()


def reading(value: float | None, good: bool | None, **more: Any) -> Reading:
    values: dict[str, Any] = {
        "item": "pretensioner circuit",
        "quantity": Quantity.RESISTANCE,
        "typed": "as typed",
        "relation": Relation.OVER_RANGE if value is None else Relation.EXACT,
        "method": "scan tool live value",
    }
    return Reading(value=value, proved_good=good, **(values | more))


def job(number: int, *readings: Reading) -> Job:
    return Job(
        number=number,
        vehicle=Vehicle(),
        opened=date(2024, 1, 1),
        complaint="lamp on",
        system=System.RESTRAINTS,
        readings=readings,
    )


def only(*jobs: Job) -> ReadingLesson:
    (found,) = reading_lessons(jobs, WORDS)
    return found


def test_good_and_bad_are_told_apart_with_their_jobs() -> None:
    found = only(
        job(1, reading(2.1, True), reading(5.8, False)),
        job(2, reading(2.5, True)),
        job(3, reading(2.2, True), reading(None, False), reading(12.7, None)),
    )
    assert found.good is not None
    assert found.bad is not None
    assert (found.good.low, found.good.middle, found.good.high) == (2.1, 2.2, 2.5)
    assert (found.good.readings, found.good.jobs) == (3, (1, 2, 3))
    assert (found.bad.low, found.bad.high, found.bad.readings) == (5.8, 5.8, 2)
    assert (found.bad.over_range, found.bad.jobs) == (1, (1, 3))


def test_only_beyond_the_instrument_has_no_number() -> None:
    bad = only(job(1, reading(None, False))).bad
    assert bad is not None
    assert (bad.low, bad.middle, bad.high, bad.over_range) == (None, None, None, 1)


def test_a_range_counts_with_both_ends() -> None:
    spread = reading(2.0, True, upper=2.6, relation=Relation.RANGE)
    good = only(job(1, spread)).good
    assert good is not None
    assert (good.low, good.high) == (2.0, 2.6)


def test_shorthand_does_not_part_like_from_like() -> None:
    short = reading(2.2, True, item="PRETENS CIRCUIT")
    long = reading(2.3, True)
    assert len(reading_lessons([job(1, short, long, long)], WORDS)) == 1


def test_a_usual_condition_stands_alone_and_rare_ones_together() -> None:
    seated = [job(n, reading(100.0, True, condition="seat occupied")) for n in range(1, 4)]
    rare = [job(n, reading(400.0, True, condition=f"seat at notch {n}")) for n in range(9, 13)]
    found = {each.condition: each.good for each in reading_lessons(seated + rare, WORDS)}
    assert set(found) == {"seat occupied", None}
    rare_ones = found[None]
    assert rare_ones is not None
    assert rare_ones.low == 400.0


def test_a_meter_on_an_igniter_is_not_taught() -> None:
    assert reading_lessons([job(1, reading(2.2, True, method="multimeter"))], WORDS) == ()
    assert only(job(1, reading(2.2, True))).method == "scan tool live value"


numbers = st.one_of(st.none(), st.floats(0, 1e6))
readings = st.builds(
    reading, numbers, st.sampled_from([True, False, None]), condition=st.sampled_from(["a", "b"])
)


@given(st.lists(st.lists(readings, max_size=5), max_size=10))
def test_every_known_reading_is_counted_once(shop: list[list[Reading]]) -> None:
    jobs = [job(number, *taken) for number, taken in enumerate(shop, start=1)]
    spans = [
        span
        for each in reading_lessons(jobs, WORDS)
        for span in (each.good, each.bad)
        if span is not None
    ]
    known = sum(each.proved_good is not None for taken in shop for each in taken)
    assert sum(span.readings for span in spans) == known
    for span in spans:
        if span.low is not None and span.middle is not None and span.high is not None:
            assert span.low <= span.middle <= span.high
        else:
            assert span.over_range == span.readings
