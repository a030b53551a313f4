"""What was done on a car before for something like an open job."""

from dataclasses import replace

from kb.case import Outcome
from kb.services.ask import causes
from kb.services.came_as import failed_before, not_judged
from kb.services.follow_up import heard
from kb.services.inquiry import Question
from kb.services.keeping import keep
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.services.test_follow_up import CLOSED, DAY, TODAY, job, put


def told_of(address: str, number: int) -> tuple[list[str], list[int]]:
    with UnitOfWork(open_store(address), read_only=True) as work:
        here = work.jobs.get(number)
        return not_judged(work, here), list(failed_before(work, here))


def test_a_fix_that_nobody_has_judged_is_named_on_the_car_that_is_back(empty_store: str) -> None:
    back = replace(job("K1", CLOSED + 30 * DAY), closed=None, cause=None, attempts=())
    other = replace(back, vehicle=replace(back.vehicle, ref="K2"))
    put(empty_store, job("K1", CLOSED), back, other)
    named, failed = told_of(empty_store, 2)
    assert len(named) == 1
    assert "cleaned door plug was done on this car on job 1" in named[0]
    assert "kb job follow-up 1 same fault --job 2" in named[0]
    assert not failed
    assert named[0] in causes(empty_store, Question(job=2), Settings()).notices
    assert told_of(empty_store, 3) == ([], [])
    keep(empty_store, heard(empty_store, 1, Outcome.COMEBACK, job=2, today=TODAY))
    assert told_of(empty_store, 2) == ([], [1])
