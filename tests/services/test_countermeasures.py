"""What to do about a recurring fault, from its jobs."""

import random
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from kb.case import Action, Attempt, DiagnosticTest, FailureMode, Outcome
from kb.intake.codes import parse_code
from kb.intake.items import trade_wording
from kb.rates.trials import Trial, trials
from kb.recurrence.excess import recurring
from kb.services.countermeasures import Countermeasures, countermeasures, keys_of
from kb.services.kept_rates import CauseRepairs
from kb.settings import RateSettings, RecurrenceSettings
from tests.job_repairs import repairs_of_jobs
from tests.rates.test_fixes import attempt, contact, rated
from tests.rates.test_fixes import job as repaired
from tests.recurrence.test_excess import MODELS, background, job


def jobs_with(**more: Any) -> list[Any]:
    """Ten Lidos with a bad fuel pump, among others."""
    return [
        job(1001 + n, MODELS[0], "fuel pump", 150 * n, complaint=f"stalls when warm {n}", **more)
        for n in range(10)
    ]


def drawn(
    jobs: list[Any], tried: Iterable[Trial] = (), known: CauseRepairs | None = None
) -> Countermeasures:
    every = background(random.Random(1), 400) + jobs
    (found,) = recurring(every, RecurrenceSettings()).patterns
    by_number = {each.number: each for each in every}
    assert keys_of(found, by_number) == jobs[0].cause.key
    return countermeasures(found, by_number, tried, known, trade_wording())


def test_a_car_that_comes_often_does_not_outvote_the_others() -> None:
    """Six cars failed one way, four the other; of these one came five times more."""
    jobs = jobs_with()
    other = replace(jobs[0].cause, failure_mode=FailureMode.SEIZED)
    jobs[6:] = [replace(each, cause=other) for each in jobs[6:]]
    last = jobs[-1]
    again = [
        job(2001 + n, MODELS[0], "fuel pump", 1400 + n, ref=last.vehicle.ref, cause=other)
        for n in range(5)
    ]
    every = background(random.Random(1), 400) + jobs + again
    (found,) = recurring(every, RecurrenceSettings()).patterns
    assert set(range(2001, 2006)) < set(found.jobs)
    assert keys_of(found, {each.number: each for each in every}) == jobs[0].cause.key


def test_nothing_is_told_that_nobody_wrote() -> None:
    found = drawn(jobs_with())
    assert not found.codes
    assert not found.fixes
    assert not found.here
    assert (found.as_good, found.better_than) == (None, None)
    assert found.test is None
    assert found.parts == 0
    assert found.said is not None
    assert found.said.startswith("stalls when warm")


def test_tests_codes_parts_and_what_was_in_vain_are_counted() -> None:
    cure = Attempt(action=Action.REPLACED, component="Fuel  pump", cured=True, parts_cost=90)
    code = parse_code("P0087")
    telling = DiagnosticTest(
        name="pressure under load", seen="falls", points_to=("fuel pump",), minutes=15
    )
    aside = DiagnosticTest(name="battery test", seen="good", points_to=("battery",))
    found = drawn(jobs_with(attempts=(cure,), codes=(code,), tests=(aside, telling, telling)))
    assert [(each.what, each.jobs) for each in found.codes] == [("P0087", 10)]
    assert found.test is not None
    assert (found.test.what, found.test.minutes) == ("pressure under load", 15)
    assert found.parts == 10


def test_whatever_was_tried_on_the_jobs_is_counted_by_how_it_ended() -> None:
    vain = Attempt(action=Action.CLEANED, component="earth", cured=False, minutes=30)
    dear = replace(vain, action=Action.REPLACED, parts_cost=300)
    cure = Attempt(action=Action.REPLACED, component="fuel pump", cured=True)
    jobs = jobs_with(attempts=(vain, vain, dear, cure))
    here = drawn(jobs, trials(repairs_of_jobs(jobs), RateSettings())).here
    assert [(each.what, each.cured, each.in_vain) for each in here] == [
        ("replaced fuel pump", 10, 0),
        ("replaced earth", 0, 10),
        ("cleaned earth", 0, 10),
    ]
    assert here[1].parts_cost == 3_000


def fixes_known(*came_back: int) -> CauseRepairs:
    """Two fixes of six cars each, seen a year later; so many of each were back after a month."""
    jobs: list[Any] = []
    for action, back in zip((Action.REPLACED, Action.CLEANED), came_back, strict=True):
        for car in range(6):
            told = (30, Outcome.COMEBACK) if car < back else (400, Outcome.HELD)
            jobs.append(repaired(len(jobs) + 1, attempt(action=action), contacts=(contact(*told),)))
    rates = rated(*jobs)
    return CauseRepairs(cases=len(jobs), last_proved=(), rates=rates)


def test_a_fix_of_which_more_came_back_is_not_said_to_do_as_well() -> None:
    alike, worse = (drawn(jobs_with(), known=fixes_known(*back)) for back in ((1, 1), (1, 2)))
    assert alike.as_good is not None
    assert (worse.as_good, len(worse.fixes)) == (None, 2)


def test_what_is_dangerous_is_neither_said_nor_told_as_a_test() -> None:
    words = "put a test lamp on the airbag igniter, it lit"
    test = DiagnosticTest(name=words, seen="lit", points_to=("airbag plug",))
    jobs = [
        replace(each, cause=replace(each.cause, component="airbag plug"), tests=(test,))
        for each in jobs_with()
    ]
    jobs = [replace(each, complaint=words) for each in jobs]
    found = drawn(jobs)
    assert found.test is not None
    assert "test lamp" not in f"{found.said} {found.test.what}"
