"""A clock held against the store's last change."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from kb.store.clock import MOST_AHEAD, MOST_BEHIND, WrongClock, telling, wrong_clock
from kb.store.database import clock_of, open_store, store_status
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES

MOMENTS = st.datetimes(timezones=st.just(UTC))


def last_change(address: str, moment: str) -> None:
    """Have the last change of a store made at another moment, as text in UTC."""
    with closing(sqlite3.connect(address)) as store, store:
        last = "(SELECT max(sequence) FROM changes)"
        store.execute(f"UPDATE changes SET at = ? WHERE sequence = {last}", [moment])


def in_store(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%d %H:%M:%S.%f}"


@given(MOMENTS, MOMENTS)
def test_it_is_told_beyond_what_clocks_of_one_shop_differ_by(now: datetime, last: datetime) -> None:
    found = wrong_clock(now, last)
    assert (found is None) == (-MOST_BEHIND <= now - last <= MOST_AHEAD)
    if found is not None:  # in words at either end of the calendar, too
        assert (found.now, found.last) == (now, last)
        assert "set the clock" in str(found)


@given(MOMENTS, st.timedeltas(-MOST_BEHIND, MOST_AHEAD))
def test_minutes_and_holidays_are_nothing(last: datetime, later: timedelta) -> None:
    try:
        now = last + later
    except OverflowError:
        return
    assert wrong_clock(now, last) is None


def test_both_times_and_the_cure_are_named() -> None:
    now = datetime(2026, 3, 1, 7, 30, tzinfo=UTC)
    behind = str(WrongClock(now=now, last=now + timedelta(days=2)))
    assert f"{now.astimezone():%Y-%m-%d %H:%M}" in behind
    assert f"{(now + timedelta(days=2)).astimezone():%Y-%m-%d %H:%M}" in behind
    assert "year" not in behind
    assert "more than a year before" in str(WrongClock(now=now, last=now - timedelta(days=400)))


def test_a_store_without_a_change_has_no_last_one(empty_store: str) -> None:
    assert clock_of(empty_store) is None
    assert store_status(empty_store).clock is None


def test_who_writes_is_told_until_something_is_stored_by_the_clock(small_store: str) -> None:
    last_change(small_store, in_store(datetime.now(UTC) + timedelta(hours=1)))
    told: list[WrongClock] = []
    with telling(told.append):
        with UnitOfWork(open_store(small_store), read_only=True) as work:
            work.jobs.get(1)
        assert told == []
        with UnitOfWork(open_store(small_store)):
            assert len(told) == 1  # before anything is stored
        with UnitOfWork(open_store(small_store)) as work:
            work.jobs.add(replace(CASES[0], number=None))
            work.commit()
        assert len(told) == 2
        with UnitOfWork(open_store(small_store)):
            assert len(told) == 2
    assert clock_of(small_store) is None


def test_a_moment_that_cannot_be_read_is_no_clock(small_store: str) -> None:
    for spoilt in ("0000-00-00", "no day", "9999-99-99 00:00:00.000000", ""):
        last_change(small_store, spoilt)
        assert clock_of(small_store) is None
        with UnitOfWork(open_store(small_store)) as work:
            assert work.jobs.get(1).number == 1
