"""When a car came back, by the words that tell of it."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Contact, Outcome
from kb.intake.elapsed import dated_by_words, told_when

CLOSED, TODAY = date(2024, 1, 1), date(2025, 3, 1)


@pytest.mark.parametrize(
    ("words", "day"),
    [
        ("came back the next week", date(2024, 1, 8)),
        ("back again after a week", date(2024, 1, 8)),
        ("came back in about a week", date(2024, 1, 8)),
        ("same fault the day after", date(2024, 1, 2)),
        ("came back 3 weeks later", date(2024, 1, 22)),
        ("only lasted a couple of days", date(2024, 1, 3)),
        ("came back within a month", CLOSED),
        ("never held", CLOSED),
        ("didn't hold", CLOSED),
        ("dead again the same day", CLOSED),
        ("came back last week", date(2025, 2, 22)),
        ("failed again two months ago", date(2024, 12, 31)),
        ("came back yesterday", date(2025, 2, 28)),
        ("came back", None),
        ("came back with 3 codes", None),
        ("not right on the left side", None),
    ],
)
def test_words_tell_when_a_car_came_back(words: str, day: date | None) -> None:
    when = told_when(words, CLOSED, TODAY)
    assert (when and when.day) == day


def test_words_from_today_tell_nothing_where_nobody_knows_when_they_were_said() -> None:
    assert told_when("came back last week", CLOSED) is None


@given(days=st.integers(1, 400), heard=st.integers(0, 400))
def test_a_comeback_told_late_is_put_where_its_words_have_it(days: int, heard: int) -> None:
    told = Contact(
        on=CLOSED + timedelta(heard), outcome=Outcome.COMEBACK, words=f"back after {days} days"
    )
    kept = dated_by_words(told, CLOSED)
    assert kept.on <= told.on
    if heard > days + max(3, days // 2):
        assert kept.on == CLOSED + timedelta(days)
    assert dated_by_words(kept, CLOSED) == kept


@pytest.mark.parametrize(
    "told",
    [
        Contact(on=TODAY, outcome=Outcome.HELD, words="held for a week"),
        Contact(on=TODAY, outcome=Outcome.COMEBACK, job=9, words="came back the next week"),
        Contact(on=TODAY, outcome=Outcome.COMEBACK),
        Contact(on=date(2024, 1, 10), outcome=Outcome.COMEBACK, words="back after a week"),
    ],
)
def test_other_contacts_keep_their_day(told: Contact) -> None:
    assert dated_by_words(told, CLOSED, TODAY) == told
