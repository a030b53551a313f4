"""Days that are still to come, and days as people write them. Forms: common practice, no source."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Contact, Job, Outcome, Vehicle
from kb.errors import InvalidField
from kb.intake.days import HeardOn, days_to_come, earliest_written, heard_on
from kb.intake.single_facts import parse_contact

TODAY = date(2026, 3, 2)


@given(st.integers(-400, 400), st.integers(0, 400), st.integers(-400, 400))
def test_a_day_is_to_come_from_the_day_after_tomorrow(
    opened: int, open_for: int, heard: int
) -> None:
    offsets = {"opened": opened, "closed": opened + open_for, "contacts[0].on": heard}
    days = {field: TODAY + timedelta(days=offset) for field, offset in offsets.items()}
    job = Job(
        vehicle=Vehicle(),
        opened=days["opened"],
        closed=days["closed"],
        complaint="no crank",
        contacts=(Contact(on=days["contacts[0].on"], outcome=Outcome.HELD),),
    )
    assert dict(days_to_come(job, TODAY)) == {
        field: day for field, day in days.items() if offsets[field] > 1
    }


WITH_YEAR = ("{:%Y-%m-%d}", "{:%d.%m.%Y}", "{:%d.%m.%y}", "on {:%d %b %Y}", "{:%B %d, %Y}")


@given(st.integers(0, 3000), st.sampled_from(WITH_YEAR))
def test_a_day_with_its_year_is_read_as_written(ago: int, form: str) -> None:
    day = TODAY - timedelta(days=ago)
    text = f"came back {form.format(day)}, same noise"
    found = heard_on(text, TODAY)
    assert (found.day, found.doubt) == (day, None)
    assert found.place is not None
    assert text[slice(*found.place)] == form.format(day)


@given(st.integers(0, 364), st.sampled_from(["{:%d.%m.}", "{:%d %b}", "{:%B %d}"]))
def test_a_day_without_its_year_is_the_last_one(ago: int, form: str) -> None:
    day = TODAY - timedelta(days=ago)
    assert heard_on(f"rang {form.format(day)}, all good", TODAY).day == day


@pytest.mark.parametrize(
    ("text", "ago"), [("yesterday", 1), ("3 days ago", 3), ("2.3.", 0), ("on 1st of March", 1)]
)
def test_a_day_may_be_told_from_today(text: str, ago: int) -> None:
    assert heard_on(f"came back {text}", TODAY).day == TODAY - timedelta(days=ago)


@pytest.mark.parametrize(
    "text",
    ["last week", "2 weeks ago", "3/9/2025", "the other day", "in March"],
)
def test_what_names_no_one_day_is_asked_about(text: str) -> None:
    found = heard_on(f"came back {text}, same noise", TODAY)
    assert (found.day, found.place) == (None, None)
    assert found.doubt is not None
    assert found.doubt.text == text


@pytest.mark.parametrize(
    "text",
    [
        "been fine since March",
        "held till 20.02.2026",
        "rang, no answer, try again Monday",
        "charges at 14.2.",
        "all good, 12.6 V",
    ],
)
def test_other_days_and_values_are_no_day_of_a_contact(text: str) -> None:
    assert heard_on(text, TODAY) == (None, None, None)


def test_what_a_car_was_in_for_hides_no_day() -> None:
    assert heard_on("in for MOT 14.02.2026, all ok", TODAY).day == date(2026, 2, 14)


def test_two_days_are_asked_about() -> None:
    found = heard_on("rang 20.02.2026, came back 22.02.2026", TODAY)
    assert found.day is None
    assert found.doubt is not None


def test_a_day_that_no_calendar_has_is_refused() -> None:
    with pytest.raises(InvalidField, match="is no day"):
        heard_on("came back 31.02.2026", TODAY)


@given(st.text(alphabet="0123456789./- marchsept,"), st.dates())
def test_no_text_breaks_the_reading_of_days(text: str, today: date) -> None:
    try:
        found = heard_on(text, today)
    except InvalidField:
        return
    assert (found.day is None) == (found.place is None)
    assert found.day is None or found.doubt is None or "is taken as" in found.doubt.why


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("rang 14/3 no stalling", date(2026, 3, 14)),
        ("rang him 30/10, fine", date(2026, 10, 30)),
        ("14-3 asked, fine", date(2026, 3, 14)),
    ],
)
def test_a_day_and_a_month_alone_are_the_last_such_day(text: str, day: date) -> None:
    assert heard_on(text, date(2026, 11, 28)).day == day


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("called 12/11 says all good till rain then lamp again", "12/11"),
        ("seen 12.11 fine", "12.11"),
        ("Nachgefragt am 12.: alles gut", "am 12."),
        ("on the 5th he said ok", "the 5th"),
        ("in for mot 25/11 no trouble", "25/11"),
    ],
)
def test_what_may_be_a_day_is_asked_about(text: str, said: str) -> None:
    found = heard_on(text, date(2026, 11, 28))
    assert found.day is None
    assert found.doubt
    assert found.doubt.text == said


@pytest.mark.parametrize(
    "text",
    ["brakes 7/8 mm", "3/4 tank, fine", "works 24/7", "charging 14.2 V", "came back 2/3 times"],
)
def test_two_numbers_of_something_are_no_day(text: str) -> None:
    assert heard_on(text, date(2026, 11, 28)) == HeardOn()


@pytest.mark.parametrize(
    ("said", "offered"),
    [("9/10", "2026-10-09"), ("9/12", "2025-12-09"), ("last week", "2026-11-26")],
)
def test_of_a_day_that_may_be_two_the_last_with_the_day_first_is_offered(
    said: str, offered: str
) -> None:
    heard = heard_on(f"rang {said}, all fine", date(2026, 11, 28))
    assert heard.day is None
    assert str(heard.doubt).endswith(f"else write it as {offered}")


WEEKDAYS = {
    "monday montag lundi poniedziałek": 0,
    "tuesday dienstag mardi wtorek": 1,
    "wednesday mittwoch mercredi środę": 2,
    "thursday donnerstag jeudi czwartek": 3,
    "friday freitag vendredi piątek": 4,
    "saturday samstag samedi sobotę": 5,
    "sunday sonntag dimanche niedzielę": 6,
}


@given(st.dates(date(2020, 1, 1), date(2030, 1, 1)))
def test_a_weekday_is_the_last_such_day_before_today_and_said(today: date) -> None:
    for names, weekday in WEEKDAYS.items():
        for name in names.split():
            found = heard_on(f"came back {name}, same noise", today)
            assert found.day is not None
            assert found.doubt is not None
            assert (found.day.weekday(), 1 <= (today - found.day).days <= 7) == (weekday, True)
            assert str(found.day) in found.doubt.why


@pytest.mark.parametrize(
    "text",
    [
        "back again Mon",
        "rang Monday, all ok",
        "last Monday it was back",
        "letzten Montag angerufen, alles gut",
        "revenu lundi dernier",
        "w poniedziałek znowu stuka",
    ],
)
def test_a_weekday_is_known_in_each_tongue(text: str) -> None:
    assert heard_on(text, TODAY).day == date(2026, 2, 23)


@pytest.mark.parametrize(
    "text",
    [
        "try again Monday",
        "booked for Monday",
        "comes on Monday",
        "call Monday",
        "kommt Montag",
        "nächsten Montag",
        "vient lundi",
        "lundi prochain",
        "przyjedzie w poniedziałek",
        "since Monday ok",
        "seit Montag gut",
    ],
)
def test_a_weekday_to_come_or_since_is_no_day_of_a_contact(text: str) -> None:
    assert heard_on(text, TODAY).day is None


def test_two_weekdays_and_one_of_another_week_are_asked_about() -> None:
    for text in ("ok on Tuesday, back on Friday", "came back Tuesday last week"):
        found = heard_on(text, TODAY)
        assert found.day is None
        assert found.doubt is not None


@pytest.mark.parametrize("end", ["Wednesday", "Mittwoch", "mercredi", "środę"])
def test_a_weekday_up_to_which_it_was_good_is_that_day(end: str) -> None:
    assert earliest_written(f"{end}, then dead", TODAY) == date(2026, 2, 25)


@pytest.mark.parametrize(
    ("line", "day"),
    [
        ("all good he said on Fri", date(2026, 11, 27)),
        ("he said Fri all ok", date(2026, 11, 27)),
        ("no noise, Sat", date(2026, 11, 28)),
        ("no rattle any more, Sat 21st", date(2026, 11, 21)),
        ("no noise any more, 98.500, Sat 21st", date(2026, 11, 21)),
        ("all ok Saturday the 21st", date(2026, 11, 21)),
        ("fine Fri 30. Oct", date(2026, 10, 30)),
        ("fine on Fri 30th", date(2026, 10, 30)),
    ],
)
def test_a_weekday_with_or_without_its_day_of_a_month(line: str, day: date) -> None:
    assert heard_on(line, date(2026, 11, 29)).day == day


@pytest.mark.parametrize("line", ["fine on Sat 22nd", "fine Mon 22nd"])
def test_a_weekday_that_its_day_of_the_month_denies_is_asked_about(line: str) -> None:
    told = heard_on(line, date(2026, 11, 29))
    assert told.day is None
    assert told.doubt is not None


@pytest.mark.parametrize(
    "line",
    ["all good he said on Fri", "no rattle any more, Sat 21st", "all good he said on Friday"],
)
def test_a_hold_with_its_weekday_is_held(line: str) -> None:
    assert parse_contact(line, date(2026, 11, 29)).outcome is Outcome.HELD


@pytest.mark.parametrize(
    ("line", "day"),
    [
        ("came back 20.11, pulling right again", date(2026, 11, 20)),
        ("kam 20.11 zurück", date(2026, 11, 20)),
        ("zurück am 3.10", date(2026, 10, 3)),
        ("back on 3.10", date(2026, 10, 3)),
        ("back on 14.12", date(2025, 12, 14)),
        ("revenu le 20.11", date(2026, 11, 20)),
        ("wrócił 20.11", date(2026, 11, 20)),
        ("20.11 fault again", date(2026, 11, 20)),
        ("back 20.11, 12.4 V at rest", date(2026, 11, 20)),
    ],
)
def test_a_day_without_its_closing_dot_where_a_contact_is_told(line: str, day: date) -> None:
    told = heard_on(line, date(2026, 11, 30))
    assert (told.day, told.doubt) == (day, None)


@pytest.mark.parametrize(
    "line",
    [
        "back again 2.2 bar",
        "back 12.4 V",
        "came back 4.10 Nm",
        "back at 12.4",
        "battery 12.1 again",
        "the test came back 4.10",
        "back on 31.2",
        "back on 3.14",
        "kommt 20.12 wieder",
    ],
)
def test_a_number_that_may_be_a_value_is_no_day(line: str) -> None:
    assert heard_on(line, date(2026, 11, 30)).day is None


def test_no_day_without_its_dot_is_to_come() -> None:
    for month in range(1, 13):
        told = heard_on(f"came back 28.{month}, same noise", date(2026, 6, 15))
        assert told.day is not None
        assert told.day <= date(2026, 6, 15)
