"""Whom to ask whether a fix held: where an answer tells most, nobody in vain."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, System, Vehicle
from kb.rates.due import LEAST_WIDTH, Calls, Due, due, narrowing, weighed
from kb.rates.shrinkage import Posterior, fit, neutral_stages
from kb.rates.survival import Lifetime
from kb.settings import FollowUpSettings, RateSettings
from tests.job_repairs import repairs_of_jobs

TODAY = date(2026, 3, 2)
HORIZON = 90
PLUG = Cause(component="door plug", failure_mode=FailureMode.OPEN)
LOOM = Cause(component="door loom", failure_mode=FailureMode.OPEN)
CURED = Attempt(action=Action.CLEANED, component="door plug", cured=True)
SETTINGS = FollowUpSettings()


def job(number: int, days: int, *contacts: Contact, car: str | None = None, **more: Any) -> Job:
    closed = TODAY - timedelta(days=days)
    values: dict[str, Any] = {"complaint": "lock dead", "cause": PLUG, "attempts": (CURED,)}
    return Job(
        number=number,
        vehicle=Vehicle(ref=car or f"K{number}"),
        opened=closed,
        closed=closed,
        contacts=contacts,
        **(values | more),
    )


def heard(days_ago: int, outcome: Outcome = Outcome.HELD, job: int | None = None) -> Contact:
    return Contact(on=TODAY - timedelta(days=days_ago), outcome=outcome, job=job)


def calls(*jobs: Job, horizons: tuple[int, ...] = (HORIZON,)) -> Calls:
    rates = RateSettings(horizons_days=horizons)
    return due(repairs_of_jobs(jobs), neutral_stages(horizons), rates, SETTINGS, TODAY)


def called(one_car: Mapping[int, int], *jobs: Job) -> Calls:
    history = neutral_stages((HORIZON,))
    rates = RateSettings(horizons_days=(HORIZON,))
    return due(repairs_of_jobs(jobs), history, rates, SETTINGS, TODAY, one_car)


def asked(*jobs: Job) -> list[int]:
    return [each.job for each in calls(*jobs).cars]


def by_job(found: Calls) -> dict[int, Due]:
    return {each.job: each for each in found.cars}


def test_nobody_is_asked_in_vain() -> None:
    failed = Attempt(action=Action.CLEANED, component="door plug", cured=False)
    assert (
        asked(
            job(1, SETTINGS.first_days - 1),
            job(2, SETTINGS.last_days + 1),
            job(3, 200, heard(100)),
            job(4, 200, heard(150, Outcome.COMEBACK)),
            job(5, 200, attempts=(failed,)),
            job(6, 60, heard(10)),
        )
        == []
    )


def test_the_unheard_and_the_unwritten_are_asked_after() -> None:
    unwritten = Attempt(action=Action.CLEANED, component="door plug")
    first, last = job(1, SETTINGS.first_days), job(2, SETTINGS.last_days)
    found = calls(first, last, job(3, 60, attempts=(unwritten,)))
    assert {each.job: each.untold for each in found.cars} == {1: False, 2: False, 3: True}
    assert by_job(found)[3].width > 0  # what is heard of it now counts


def test_no_risk_is_told_of_a_fix_of_which_nothing_is_known_after_the_handover() -> None:
    assert [each.risk for each in calls(job(1, 90), job(2, 30)).cars] == [None, None]


def test_the_risk_grows_with_the_days_unheard() -> None:
    found = by_job(calls(job(1, 90), job(2, 30), job(3, 90, heard(60))))
    # by hand, Jeffreys' kind: a third of what cured comes back, evenly over 90 days
    assert found[1].risk == pytest.approx(1 / 3)
    assert found[2].risk == pytest.approx(1 / 9)
    assert found[3].risk == pytest.approx(1 - (2 / 3) / (8 / 9))


def test_an_answer_is_worth_more_the_more_of_the_horizon_it_tells_of() -> None:
    found = by_job(calls(job(1, 90), job(2, 30)))
    assert found[1].width > found[2].width > 0


def test_an_answer_is_worth_more_where_few_are_known() -> None:
    known = [job(number, 200, heard(100)) for number in range(10, 30)]
    alone = job(2, 90, cause=LOOM, attempts=(Attempt(action=Action.CLEANED, component="x"),))
    alone_cured = job(2, 90, cause=LOOM)
    found = by_job(calls(job(1, 90), alone_cured, *known))
    assert found[2].width > 2 * found[1].width
    assert by_job(calls(alone))[2].width > 0  # what is heard of it will count


def test_an_unwritten_cure_is_asked_after_until_something_is_heard() -> None:
    unwritten: dict[str, Any] = {
        "attempts": (Attempt(action=Action.CLEANED, component="door plug"),)
    }
    assert asked(job(1, 90, heard(60, Outcome.COMEBACK), **unwritten)) == []
    (held,) = calls(job(1, 90, heard(60), **unwritten)).cars
    assert (held.good_until, held.untold) == (30, False)
    (seen,) = calls(job(1, 90, heard(60, Outcome.OTHER_REASON), **unwritten)).cars
    assert (seen.good_until, seen.untold) == (0, True)
    (back,) = calls(job(1, 90, **unwritten), job(2, 60, car="K1", cause=LOOM)).cars[:1]
    assert back.back is not None
    assert (back.job, back.back.number, back.untold) == (1, 2, True)
    assert 0 < back.width < 1


def test_the_list_goes_by_width_and_cases_and_grave_systems_count_double() -> None:
    brakes = job(1, 90, system=System.BRAKES_WHEEL_SPEED)
    lock = job(2, 90, system=System.BODY_ELECTRICS)
    others = [job(number, 200, heard(100), cause=LOOM) for number in range(10, 13)]
    found = calls(lock, brakes, job(3, 90, cause=LOOM), *others)
    each = by_job(found)
    assert weighed(each[1], SETTINGS) == pytest.approx(2 * weighed(each[2], SETTINGS))
    assert (each[3].cases, each[2].cases) == (4, 2)
    values = [weighed(each, SETTINGS) for each in found.cars]
    assert values == sorted(values, reverse=True)


def test_a_longer_horizon_is_asked_about_as_well() -> None:
    held = job(1, 380, heard(200))
    assert asked(held) == []
    (year,) = calls(held, horizons=(90, 365)).cars
    assert (year.good_until, year.days) == (180, 380)
    assert 0 < year.width < 0.5


def test_a_car_asked_after_in_vain_rests_whichever_job_it_was() -> None:
    tried = heard(SETTINGS.rest_days - 1, Outcome.NOT_TOLD)
    other = job(2, 80, car="K1", cause=LOOM, complaint="window slow", system=System.CLIMATE)
    found = calls(job(1, 90, tried), other, job(3, 90))
    assert ([each.job for each in found.cars], found.rested) == ([3], 2)
    rested = heard(SETTINGS.rest_days, Outcome.NOT_TOLD)
    assert set(asked(job(1, 90, rested), other, job(3, 90))) == {1, 2, 3}


def test_jobs_without_a_tag_that_are_likely_one_car_are_one_call() -> None:
    none = Vehicle(make="Corvane", model="Lido")
    jobs = [replace(job(n, 80 + n, cause=LOOM), vehicle=none) for n in range(1, 7)]
    likely = dict.fromkeys(range(1, 7), 0)
    found = called(likely, *jobs, job(8, 90))
    assert {each.job: len(each.perhaps) for each in found.cars} == {8: 0, found.cars[0].job: 5}
    assert (found.same_car, found.rested) == (5, 0)
    assert len(called({1: 0, 2: 0, 3: 1, 4: 1, 5: 2, 6: 3}, *jobs).cars) == 4
    assert len(called({}, *jobs).cars) == 6
    tried = replace(jobs[3], contacts=(heard(1, Outcome.NOT_TOLD),))
    rested = called(likely, *jobs[:3], tried, *jobs[4:])
    assert (rested.cars, rested.rested) == ((), 6)


def test_nobody_reached_rests_the_call_and_no_return_to_be_judged() -> None:
    back = job(2, 60, car="K1", cause=LOOM)
    rung = calls(job(1, 90, heard(1, Outcome.NOT_TOLD)), back)
    assert [each.job for each in rung.cars if each.back] == [1]
    puzzled = calls(job(1, 90, heard(1, Outcome.NOT_TOLD, job=2)), back)
    assert not any(each.back for each in puzzled.cars)


def test_returns_that_nobody_judged_come_first_however_old() -> None:
    first = job(1, 900, system=System.BODY_ELECTRICS)
    again = job(2, 850, car="K1", cause=LOOM, system=System.BODY_ELECTRICS)
    found = calls(first, again, job(3, 90, system=System.RESTRAINTS))
    backs = [each.back and (each.back.number, each.back.opened) for each in found.cars]
    assert [each.job for each in found.cars] == [1, 3]
    assert backs == [(2, again.opened), None]
    judged = job(1, 900, heard(850, Outcome.OTHER_REASON, job=2), system=System.BODY_ELECTRICS)
    assert asked(judged, again) == []


def test_a_return_beyond_the_longest_horizon_is_to_be_judged_as_well() -> None:
    first = job(1, 900, system=System.BODY_ELECTRICS)
    again = job(2, 900 - HORIZON - 1, car="K1", cause=LOOM, system=System.BODY_ELECTRICS)
    assert asked(first, again) == [1]


def test_a_comeback_told_of_an_earlier_job_is_seen_on_the_fix_on_the_car() -> None:
    since = heard(50, Outcome.COMEBACK)
    first, second = job(1, 200, since), job(2, 100, car="K1", cause=LOOM)
    (found,) = calls(first, second).cars
    assert found.back is not None
    assert (found.job, found.back.number, found.back.told_of) == (2, 1, 1)
    assert found.back.opened == since.on
    own = job(1, 200, heard(100, Outcome.COMEBACK, job=2))
    assert by_job(calls(own, second))[2].back is None
    answered = job(2, 100, heard(50), car="K1", cause=LOOM)
    assert by_job(calls(first, answered))[2].back is None
    elsewhere = job(2, 100, car="K1", cause=LOOM, complaint="window slow", system=System.CLIMATE)
    assert by_job(calls(first, elsewhere))[2].back is None


def test_returns_told_as_the_same_come_before_graver_ones() -> None:
    brakes = System.BRAKES_WHEEL_SPEED
    grave = [job(1, 100, system=brakes), job(11, 50, car="K1", system=brakes, cause=LOOM)]
    said = [job(2, 100), job(12, 50, car="K2", cause=LOOM, complaint="lock dead again")]
    told = [job(3, 300, heard(40, Outcome.COMEBACK)), job(13, 100, car="K3", cause=LOOM)]
    found = [each.job for each in calls(*grave, *said, *told).cars if each.back]
    assert set(found[:2]) == {2, 13}
    assert found[2:] == [1]


def test_it_is_said_how_much_rests_on_cars_never_heard_of() -> None:
    silent = [job(number, 500) for number in (1, 2, 3)]
    told = [job(4, 500, heard(400)), job(5, 500, heard(400), cause=LOOM)]
    unheard = calls(*silent, *told).unheard
    assert (unheard.cars, unheard.of_cars, unheard.resting, unheard.fixes) == (3, 5, 1, 2)


shapes = st.floats(0.1, 500)
beliefs = st.builds(Posterior, shapes, shapes)


@given(st.lists(st.tuples(st.floats(0.01, 1), beliefs), min_size=1, max_size=4))
def test_an_answer_never_widens_what_is_expected(told: list[tuple[float, Posterior]]) -> None:
    total = sum(chance for chance, _ in told)
    answers = [(chance / total, [belief]) for chance, belief in told]
    assert -1e-9 <= narrowing(answers) <= 4
    same: Sequence[tuple[float, list[Posterior]]] = [
        (chance, answers[0][1]) for chance, _ in answers
    ]
    assert narrowing(same) == pytest.approx(0, abs=1e-7)


def test_a_fix_that_often_came_back_is_the_riskier_one() -> None:
    came_back = [Lifetime(0, False)] + [Lifetime(20, True)] * 6
    held = [Lifetime(0, False)] + [Lifetime(120, False)] * 6
    told = {(n, ("replaced", f"part {n}")): held for n in range(15)}
    told |= {(n, ("cleaned", f"plug {n}")): came_back for n in range(15)}
    history = fit(told, HORIZON)
    assert history is not None
    bad = history.left(("cleaned", "door plug"), came_back)[-1]
    good = history.left(("replaced", "loom"), held)[-1]
    assert bad < 0.4 < 0.9 < good


def test_every_fix_whose_end_is_open_is_counted_once() -> None:
    in_vain = heard(3, Outcome.NOT_TOLD)
    jobs = [
        *(job(number, days) for number, days in enumerate((8, 60, 200, 500), 1)),
        job(5, 100, in_vain),
        job(6, 100, heard(5)),
        job(7, 100, heard(40, Outcome.COMEBACK)),
        job(8, 100, car="K2"),
    ]
    found = calls(*jobs, horizons=(90, 365))
    assert (found.fresh, found.rested, found.past) == (2, 1, 1)
    # all but job 7 and job 2, which came back as job 8; of that no rate counts a second time
    counts = (found.fresh, found.rested, found.past, found.needless, found.same_car)
    assert len(found.cars) + sum(counts) == len(jobs) - 2
    assert found.needless == 1
    assert all(each.width >= LEAST_WIDTH for each in found.cars)
