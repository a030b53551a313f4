"""Parts that cured, from a store."""

from datetime import date

from kb.case import Action, even
from kb.errors import Notice
from kb.services.stock import SPAN_DAYS, stock
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


def test_counts_are_those_of_the_jobs(demo_store: str) -> None:
    found = stock(demo_store)
    assert found.until is not None
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        cases = list(work.jobs.all(cases_only=True))
    (battery,) = (each for each in found.parts if each.part == "battery")
    fitted = [
        job
        for job in cases
        if any(
            each.action is Action.REPLACED and each.cured and even(each.component) == "battery"
            for each in job.attempts
        )
    ]
    latest = sum(
        (found.until - job.closed).days < SPAN_DAYS for job in fitted if job.closed is not None
    )
    assert battery.counts[-1] == latest
    assert sum(battery.counts) <= len(fitted)
    assert battery.ahead.low <= battery.ahead.mean <= battery.ahead.high + 1


def test_the_most_used_come_first_and_the_past_is_told(demo_store: str) -> None:
    found = stock(demo_store)
    means = [each.ahead.mean for each in found.parts]
    assert means == sorted(means, reverse=True)
    assert found.past is not None
    assert found.past.held / found.past.made >= found.coverage


def test_an_empty_store_and_a_short_past_say_so(empty_store: str, small_store: str) -> None:
    nothing = stock(empty_store)
    assert nothing.notices == (Notice.NO_CASES,)
    assert nothing.until is None
    short = stock(small_store)
    assert isinstance(short.until, date)
    assert short.notices in {(), (Notice.SHORT_PAST,)}
