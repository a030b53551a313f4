"""How far a past case is evidence for its cause."""

from datetime import date, timedelta

import pytest

from kb.case import Cause, Contact, FailureMode, Job, Outcome, System, Vehicle
from kb.rates.doubt import ANOTHER_FOUND, stands
from tests.job_repairs import JobRepair

CLOSED = date(2026, 3, 2)
LATER = CLOSED + timedelta(days=10)


def job(number: int, opened: date, component: str | None, words: str, *told: Contact) -> Job:
    cause = component and Cause(component=component, failure_mode=FailureMode.OPEN)
    return Job(
        number=number,
        vehicle=Vehicle(ref="K1"),
        opened=opened,
        closed=opened if cause else None,
        complaint=words,
        system=System.BODY_ELECTRICS,
        cause=cause or None,
        contacts=told,
    )


def heard(outcome: Outcome, number: int | None = 2) -> Contact:
    return Contact(on=LATER, outcome=outcome, job=number)


DEAD, WIPER = "door lock dead", "wiper judders"


@pytest.mark.parametrize(
    ("told", "later", "share"),
    [
        ((), (), 1.0),
        ((), (job(2, LATER, "loom", DEAD),), ANOTHER_FOUND),
        ((), (job(2, LATER, None, DEAD),), 1.0),
        ((), (job(2, LATER, "wiper", WIPER),), 1.0),
        ((), (job(2, LATER, "fuse box", DEAD),), 1.0),
        ((heard(Outcome.COMEBACK),), (job(2, LATER, "loom", DEAD),), 0.0),
        ((heard(Outcome.COMEBACK),), (job(2, LATER, "fuse box", DEAD),), 1.0),
        ((heard(Outcome.COMEBACK, None),), (), 1.0),
        ((heard(Outcome.OTHER_REASON),), (job(2, LATER, "loom", DEAD),), 1.0),
        ((heard(Outcome.HELD, None),), (), 1.0),
    ],
)
def test_a_case_counts_less_where_its_car_came_back(
    told: tuple[Contact, ...], later: tuple[Job, ...], share: float
) -> None:
    first = job(1, CLOSED, "fuse box", DEAD, *told)
    repair = JobRepair.of(first, later)
    assert repair is not None
    assert stands(repair) == share
