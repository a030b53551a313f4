"""Which past jobs are worth reading, and that nothing dangerous is read in them."""

from dataclasses import replace
from datetime import date
from typing import Any

from kb.case import (
    Action,
    Attempt,
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    Quantity,
    Reading,
    System,
    Vehicle,
)
from kb.safety.igniter import WITHHELD
from kb.training.telling import screened, telling_jobs

VAIN = Attempt(action=Action.RESEATED, component="seat connector", cured=False)
CURE = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
BAD_ADVICE = "measured resistance of the pretensioner with a multimeter"


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


def test_no_word_of_a_job_has_a_meter_put_on_an_igniter() -> None:
    told = job(
        1,
        "plug",
        replace(CURE, words=BAD_ADVICE, verified=BAD_ADVICE),
        proved_by=BAD_ADVICE,
        notes=BAD_ADVICE,
        conditions=BAD_ADVICE,
        tests=(DiagnosticTest(name=BAD_ADVICE, seen=BAD_ADVICE),),
        readings=(
            Reading(
                item="pretensioner",
                quantity=Quantity.RESISTANCE,
                typed="2.2 ohm",
                value=2.2,
                method="ohmmeter at the plug",
            ),
        ),
    )
    shown = repr(screened(told))
    assert BAD_ADVICE not in shown
    assert "ohmmeter at" not in shown
    assert shown.count(WITHHELD) == 8


def test_harmless_words_stay_as_they_are() -> None:
    harmless = job(1, "plug", replace(CURE, words="both halves, new terminals"), notes="road test")
    assert screened(harmless) == harmless
