"""Which past jobs are worth reading."""

from datetime import date
from typing import Any

from kb.case import (
    Action,
    Attempt,
    Cause,
    FailureMode,
    Job,
    System,
    Vehicle,
)
from kb.training.telling import telling_jobs

VAIN = Attempt(action=Action.RESEATED, component="seat connector", cured=False)
CURE = Attempt(action=Action.CLEANED, component="seat connector", cured=True)


def job(number: int, component: str, *tried: Attempt, **more: Any) -> Job:
    return Job(
        number=number,
        vehicle=Vehicle(),
        opened=date(2024, 1, 1),
        closed=date(2024, 1, 2),
        complaint="lamp on",
        system=System.RESTRAINTS,
        cause=Cause(component=component, failure_mode=FailureMode.OPEN),
        attempts=tried,
        **more,
    )


def test_a_vain_attempt_before_the_cure_tells_most() -> None:
    plain, rich = job(1, "plug", CURE), job(2, "plug", VAIN, CURE)
    assert telling_jobs([rich, plain], 1) == [rich]
    assert telling_jobs([plain, rich], 1) == [rich]


def test_two_jobs_are_of_two_causes() -> None:
    jobs = [job(1, "plug", VAIN, CURE), job(2, "plug", VAIN, CURE), job(3, "spring", CURE)]
    assert [each.number for each in telling_jobs(jobs, 2)] == [2, 3]


def test_there_may_be_fewer_than_asked_for() -> None:
    assert telling_jobs([], 2) == []
    assert len(telling_jobs([job(1, "plug", CURE)], 2)) == 1
