"""One of several alike beside the rest of them."""

from dataclasses import replace

import pytest

from kb.bands.judgement import Finding, Verdict, VerdictReason, judge
from kb.bands.limits import trade_limits
from kb.bands.neighbours import others_of
from kb.case import Reading, Vehicle
from kb.intake.reading_search import find_readings
from tests.bands.circuits import READINGS, WORDS


def judged(line: str, engine: str | None = None) -> Verdict:
    first, *others = find_readings(line).readings
    return judge(
        first,
        Vehicle(engine=engine),
        (),
        WORDS,
        READINGS,
        same_car=others,
        limits=trade_limits(),
    )


@pytest.mark.parametrize(
    ("line", "finding"),
    [
        ("leak-off injector 3 90 ml, others 20 ml", Finding.BAD_HIGH),
        ("leak-off injector 3 25 ml, others 20 ml", Finding.CANNOT_TELL),
        ("leak-off injector 3 4 ml, others 20 ml", Finding.BAD_LOW),
        ("compression cylinder 2 8.5 bar, others 13 bar", Finding.BAD_LOW),
        ("compression cylinder 2 14 bar, others 20 bar", Finding.BAD_LOW),
        ("compression cyl 2 14 bar, cyl 1 20 bar, cyl 3 20.5 bar", Finding.BAD_LOW),
        ("compression cyl 2 14 bar, cyl 1 20 bar", Finding.CANNOT_TELL),
        ("compression cylinder 2 18 bar, others 20 bar", Finding.CANNOT_TELL),
    ],
)
def test_one_of_several_is_held_against_the_others(line: str, finding: Finding) -> None:
    found = judged(line)
    assert found.finding is finding
    assert (found.reason is VerdictReason.UNLIKE_OTHERS_OF_CAR) is (found.odd is not None)
    assert (found.odd is not None) is (finding is not Finding.CANNOT_TELL)


def test_the_limit_of_a_value_goes_before_a_mere_ratio_and_the_spreads_before_it() -> None:
    fine = judged("wheel speed sensor LF 0.9 kohm, others 2.0 kohm")
    assert fine.odd is None
    low = judged("compression cylinder 2 10.5 bar, others 15 bar", "1.4 petrol")
    assert low.finding is Finding.BAD_LOW
    assert low.odd is not None
    assert low.odd.by_limit


def test_others_are_of_the_same_condition_and_stage() -> None:
    first, others = find_readings("compression cylinder 2 4 bar, others 12 bar").readings
    assert others_of(first, [others], WORDS) == (others,)
    assert others_of(first, [replace(others, condition="wet")], WORDS) == ()
    assert others_of(first, [replace(others, proved_good=False)], WORDS) == ()
    assert others_of(others, [first], WORDS) == ()
    bad: Reading = replace(first, position=None)
    assert others_of(bad, [others], WORDS) == ()
