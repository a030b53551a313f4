"""Lessons from jobs: causes with their marks, vain attempts, and what is left out."""

from collections import defaultdict
from datetime import date
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, FailureMode, Job, System, TroubleCode, Vehicle
from kb.intake.wording import Wording
from kb.rates.fixes import fix_rates
from kb.settings import RateSettings
from kb.training.lessons import Lesson, lesson
from tests.job_repairs import JobRepair

PLUG = Cause(
    component="seat connector",
    location="under seat",
    position="left front",
    failure_mode=FailureMode.HIGH_RESISTANCE,
)
SPRING = Cause(component="clock spring", failure_mode=FailureMode.OPEN)
RESEAT = Attempt(action=Action.RESEATED, component="seat connector", cured=False, minutes=20)
CLEAN = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
REPLACE = Attempt(action=Action.REPLACED, component="clock spring", cured=True)


def job(number: int, cause: Cause | None, complaint: str, *tried: Attempt, **more: Any) -> Job:
    values: dict[str, Any] = {
        "vehicle": Vehicle(make="Corvane", model="Lido"),
        "opened": date(2024, 1, number),
        "closed": date(2024, 1, number),
        "system": System.RESTRAINTS,
    }
    return Job(number=number, complaint=complaint, cause=cause, attempts=tried, **(values | more))


def shop() -> list[Job]:
    seat = [job(n, PLUG, "lamp on after the seat was moved", RESEAT, CLEAN) for n in range(1, 7)]
    code = TroubleCode(code="B1234")
    horn = [job(n, SPRING, "lamp on, horn dead", REPLACE, codes=(code,)) for n in range(7, 11)]
    return seat + horn


def taught(jobs: list[Job], system: System = System.RESTRAINTS) -> Lesson:
    repairs = defaultdict(list)
    for each in jobs:
        if (made := JobRepair.of(each)) is not None and each.cause is not None:
            repairs[each.cause.key].append(made)
    rates = {key: fix_rates(each, RateSettings()) for key, each in repairs.items()}
    return lesson(jobs, system, rates, Wording.default())


def test_causes_come_with_share_marks_fixes_and_jobs() -> None:
    found = taught(shop())
    first, second = found.causes
    assert (found.cases, first.share) == (10, 0.6)
    assert first.cause.label == PLUG.label
    assert first.cause.position is None
    assert first.jobs == tuple(range(1, 7))
    assert set(second.said) == {"horn", "dead"}
    assert second.codes == ("B1234",)
    assert [fix.label for fix in first.fixes] == [
        "cleaned seat connector",
        "reseated seat connector",
    ]


def test_words_that_all_share_are_no_mark() -> None:
    assert all("lamp" not in each.said for each in taught(shop()).causes)


def test_first_attempts_in_vain_tell_what_it_was_instead() -> None:
    swapped = Attempt(action=Action.RESEATED, component="seat connector", cured=False, minutes=40)
    cured = Attempt(action=Action.RESEATED, component="seat connector", cured=True)
    jobs = [*shop(), job(11, SPRING, "lamp on", swapped), job(12, PLUG, "lamp on", cured)]
    (miss,) = taught(jobs).failed_first
    assert (miss.fix, miss.failed, miss.tried) == ("reseated seat connector", 7, 8)
    assert (miss.minutes, miss.parts_cost) == (20, None)
    assert [(each.cause, each.count) for each in miss.turned_out] == [
        (PLUG.label, 6),
        (SPRING.label, 1),
    ]
    assert miss.jobs == (1, 2, 3, 4, 5, 6, 11)


def test_other_systems_and_open_jobs_teach_nothing() -> None:
    jobs = [
        job(1, PLUG, "lamp on", system=System.BRAKES_WHEEL_SPEED),
        job(2, PLUG, "lamp on", closed=None),
        job(3, None, "lamp on"),
    ]
    found = taught(jobs)
    assert (found.cases, found.causes, found.telling, found.since) == (0, (), (), None)


attempts = st.builds(
    Attempt,
    action=st.sampled_from(Action),
    component=st.sampled_from(["plug", "lamp"]),
    cured=st.sampled_from([True, False, None]),
)
words = st.text("abc ", max_size=12).map(lambda text: f"lamp {text}")
cases = st.lists(
    st.tuples(st.sampled_from([PLUG, SPRING]), words, st.lists(attempts, max_size=3)),
    max_size=20,
)


@given(cases)
def test_every_case_is_counted_once(rows: list[Any]) -> None:
    jobs = [
        job(number, cause, complaint, *tried)
        for number, (cause, complaint, tried) in enumerate(rows, start=1)
    ]
    found = taught(jobs)
    assert sum(len(each.jobs) for each in found.causes) == found.cases == len(jobs)
    assert not jobs or abs(sum(each.share for each in found.causes) - 1) < 1e-9
    for miss in found.failed_first:
        assert 1 <= miss.failed <= miss.tried
        assert sum(each.count for each in miss.turned_out) == miss.failed
