"""Parts that cured, from a store."""

from datetime import date, timedelta

from kb.case import Action, even
from kb.errors import Notice
from kb.services.stock import SPAN_DAYS, stock
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

LATEST = date(2026, 10, 31)
"""Some days after the last job of the demonstration shop."""


def test_counts_are_those_of_the_jobs(demo_store: str) -> None:
    found = stock(demo_store, until=LATEST)
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
    found = stock(demo_store, until=LATEST)
    means = [each.ahead.mean for each in found.parts]
    assert means == sorted(means, reverse=True)
    assert found.past is not None
    assert found.past.held / found.past.made >= found.coverage


def test_an_empty_store_and_a_short_past_say_so(empty_store: str, small_store: str) -> None:
    nothing = stock(empty_store, until=LATEST)
    assert nothing.notices == (Notice.NO_CASES,)
    assert nothing.last is None
    short = stock(small_store, until=LATEST)
    assert isinstance(short.last, date)
    assert set(short.notices) <= {Notice.SHORT_PAST, Notice.NOTHING_LATELY}


def test_quarters_are_counted_back_from_the_day_that_is_told(demo_store: str) -> None:
    """Two empty quarters after the last job are two quarters without use."""
    now, later = (stock(demo_store, until=LATEST + timedelta(days)) for days in (0, 2 * SPAN_DAYS))
    assert now.notices == ()
    assert later.notices == (Notice.NOTHING_LATELY,)
    assert later.last == now.last
    before = {each.part: each for each in now.parts}
    assert {each.part for each in later.parts} < set(before)
    for each in later.parts:
        assert each.counts[-2:] == (0, 0)
        assert each.counts[-4:-2] == before[each.part].counts[-2:]
        assert each.ahead.mean < before[each.part].ahead.mean


def test_a_part_last_fitted_two_years_ago_is_not_told(demo_store: str) -> None:
    assert stock(demo_store, until=LATEST + timedelta(8 * SPAN_DAYS)).parts == ()


def test_what_was_closed_after_the_day_counts_in_no_quarter(demo_store: str) -> None:
    day = date(2024, 12, 31)
    found = stock(demo_store, until=day)
    assert found.last is not None
    assert found.last <= day
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        cases = list(work.jobs.all(cases_only=True))
    (battery,) = (each for each in found.parts if each.part == "battery")
    by_hand = sum(
        0 <= (day - job.closed).days < SPAN_DAYS
        and any(
            each.action is Action.REPLACED and each.cured and even(each.component) == "battery"
            for each in job.attempts
        )
        for job in cases
        if job.closed is not None
    )
    assert battery.counts[-1] == by_hand
