"""The day and the time where the shop is. Zones: POSIX.1-2017, base definitions, 8.3 (TZ)."""

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.local_time import local, local_now

NOON = datetime(2026, 7, 1, 12, tzinfo=UTC)


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Iterator[None]:
    """Set the zone of this machine for one test."""
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(
    ("zone", "hour"), [("UTC0", 12), ("XXX-2", 14), ("XXX5", 7)], indirect=["zone"]
)
def test_a_moment_is_shown_by_the_clock_on_the_wall(zone: None, hour: int) -> None:
    assert local(NOON).hour == hour


@pytest.mark.parametrize("zone", ["XXX-2"], indirect=True)
def test_late_in_the_evening_it_is_the_day_of_the_shop(zone: None) -> None:
    assert local(datetime(2026, 7, 1, 23, tzinfo=UTC)).day == 2


@pytest.mark.parametrize("zone", ["XXX-24", "XXX24"], indirect=True)
def test_where_the_zone_is_none_it_is_utc(zone: None) -> None:
    assert local(NOON).utcoffset() == timedelta(0)


@given(
    st.datetimes(
        timezones=st.just(UTC), min_value=datetime(1970, 1, 2), max_value=datetime(2037, 1, 1)
    )
)
def test_it_is_the_same_moment(moment: datetime) -> None:
    assert local(moment) == moment


def test_now_is_now() -> None:
    before = datetime.now(UTC)
    assert before <= local_now() <= datetime.now(UTC)
