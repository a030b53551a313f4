"""Which test settled such jobs, by hand and by what must hold of any share."""

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, DiagnosticTest, FailureMode, Job, Vehicle
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.decision import Choice, Kind, Problem, Test
from kb.troubleshooting.settling import (
    QUICK,
    SIMILAR,
    Settled,
    WhatSettles,
    quick_first,
    settled,
)
from kb.troubleshooting.steps import Step, advise
from kb.troubleshooting.suspicion import Prior

WORDING = Wording.default()
DAY = date(2026, 3, 2)
HOSE = Cause(component="intake hose", failure_mode=FailureMode.LEAKING)
METER = Cause(component="air mass meter", failure_mode=FailureMode.INTERNAL_FAULT)


def job(cause: Cause | None, *tests: DiagnosticTest) -> Job:
    return Job(
        vehicle=Vehicle(), opened=DAY, closed=DAY, complaint="hunts", cause=cause, tests=tests
    )


def made(name: str, *points_to: str, clears: tuple[str, ...] = ()) -> DiagnosticTest:
    return DiagnosticTest(name=name, seen="x", points_to=points_to, clears=clears)


SMOKE = made("smoke test", "intake hose")


def test_a_test_settles_a_job_where_it_points_to_what_proved_true() -> None:
    """Untested jobs and jobs without a cause do not count, and a test twice on a job once."""
    found = settled(
        [
            job(HOSE, SMOKE, SMOKE),
            job(HOSE, made("look", clears=("air mass meter",))),
            job(HOSE, made("smoke test", "air mass meter")),
            job(HOSE),
            job(None, SMOKE),
        ],
        WORDING,
    )
    assert (found.times, found.jobs) == ({"smoke test": 1}, 3)


def test_a_suspects_own_jobs_are_drawn_to_those_like_this_one() -> None:
    """By hand: of the hose (3 + 4 * 0.5) / (3 + 4), of a suspect without jobs and of none 0.5."""
    like = [job(HOSE, SMOKE), job(METER, made("scope trace", "air mass meter"))]
    settling = WhatSettles.of((HOSE, METER), [job(HOSE, SMOKE)] * 3, like, WORDING, pull=4)
    assert settling.chance("smoke test", (0.6, 0.1, 0.3)) == pytest.approx(
        0.6 * 5 / 7 + 0.1 * 0.5 + 0.3 * 0.5
    )
    assert settling.chance("load test", (0.6, 0.1, 0.3)) == 0


shares = st.floats(0, 1)


@given(times=st.integers(0, 20), more=st.integers(0, 20), start=shares, pull=st.floats(0, 50))
def test_a_share_is_a_share(times: int, more: int, start: float, pull: float) -> None:
    found = Settled({"look": times}, times + more).share("look", start, pull)
    assert -1e-9 <= found <= 1 + 1e-9


@given(st.lists(st.tuples(st.sampled_from(Kind), st.floats(1, 500)), max_size=8))
def test_fixes_keep_their_places_and_no_step_is_lost(drawn: list[tuple[Kind, float]]) -> None:
    ranked = [Choice(kind, str(place), cost) for place, (kind, cost) in enumerate(drawn)]
    like = Settled({str(len(ranked) - 1): 1}, 1)
    keys = {each.name: each.name for each in ranked}
    tests = tuple(Test(each.name, 5, ((1.0,),)) for each in ranked if each.kind is Kind.TEST)
    found = WhatSettles((), like, 4).in_order(ranked, keys, Problem((1.0,), (), tests, 240), 60)
    assert sorted(each.name for each in found) == sorted(keys)
    assert [each.kind for each in found] == [each.kind for each in ranked]


def test_what_settled_the_jobs_like_this_one_comes_before_what_would_tell_as_much() -> None:
    """Nine split hoses of ten were seen by a look: nobody smokes the intake before that (common
    practice, no source).
    """
    priors = [
        Prior(cause=HOSE, chance=0.3, jobs=(1, 2), cases=5),
        Prior(cause=METER, chance=0.2, jobs=(3,), cases=5),
    ]
    look = job(HOSE, made("visual check", "intake hose"))
    came = Job(vehicle=Vehicle(), opened=DAY, complaint="hunts at idle, whistles")

    def first_test(history: list[Job], like: list[Job]) -> Step:
        settings = TroubleshootingSettings()
        steps = advise(came, priors, history, WORDING, settings, like=like, best=9).steps
        return next(each for each in steps if each.kind is Kind.TEST)

    assert first_test([], []).title == "smoke test"
    found = first_test([look] * 5, [look] * 9 + [job(HOSE, SMOKE)])
    assert (found.title, found.settled, found.like) == ("visual check", 9, 10)


def test_of_tests_that_tell_as_much_the_quicker_comes_first() -> None:
    both = ((0.9, 0.1), (0.1, 0.9))
    tests = (Test("slow", 60, both), Test("quick", 5, both), Test("says nothing", 1, ((1.0, 1.0),)))
    ranked = [Choice(Kind.TEST, each.name, 100) for each in tests]
    keys = {each.name: each.name for each in tests}
    like = WhatSettles((Settled({}, 0),), Settled({}, 0), 1)
    found = like.in_order(ranked, keys, Problem((0.5, 0.5), (), tests, 240), 100)
    assert [each.name for each in found] == ["quick", "slow", "says nothing"]


@given(
    st.lists(
        st.tuples(st.floats(0.01, 1), st.integers(5, 90)),
        min_size=1,
        max_size=6,
    )
)
def test_no_long_test_stands_right_before_one_much_quicker_and_worth_nearly_as_much(
    tests: list[tuple[float, int]],
) -> None:
    worth = {str(place): value for place, (value, _) in enumerate(tests)}
    minutes = {str(place): float(cost) for place, (_, cost) in enumerate(tests)}
    names = sorted(worth, key=lambda name: -worth[name])
    found = quick_first(names, worth, minutes)
    assert sorted(found) == sorted(names)
    for one, other in pairwise(found):
        assert not (minutes[other] <= QUICK * minutes[one] and worth[other] >= SIMILAR * worth[one])
    alike = dict.fromkeys(names, 10.0)
    assert quick_first(names, worth, alike) == names


@pytest.mark.parametrize(("right", "order"), [(0.9, ["quick", "long"]), (0.6, ["long", "quick"])])
def test_ten_minutes_come_before_an_hour_that_tells_little_more(
    right: float, order: list[str]
) -> None:
    """By hand: a right of 0.9 tells 0.53 bits, of 0.6 0.03; 0.5 and 0.1 settle besides.

    The long one is worth 1.03 / 160 = 0.0064, the quick 0.0057 and 0.0012.
    """

    def outcomes(sure: float) -> tuple[tuple[float, ...], ...]:
        return (sure, 1 - sure, 0.5), (1 - sure, sure, 0.5)

    tests = (Test("long", 60, outcomes(0.9)), Test("quick", 10, outcomes(right)))
    problem = Problem((0.5, 0.5, 0.0), (), tests, 240)
    every = [Choice(Kind.TEST, "long", 100.0), Choice(Kind.TEST, "quick", 110.0)]
    like = [
        *[job(HOSE, made("long", "intake hose"))] * 5,
        *[job(HOSE, made("quick", "intake hose"))],
        *[job(HOSE, made("x", "x"))] * 4,
    ]
    settling = WhatSettles.of((HOSE, METER), (), like, WORDING, 1.0)
    found = settling.in_order(every, {"long": "long", "quick": "quick"}, problem, 100.0)
    assert [each.name for each in found] == order
