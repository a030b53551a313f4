"""When a car came back, by the words that tell of it."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Contact, Outcome
from kb.intake.elapsed import dated_by_words, tells_return, told_when, without_since
from kb.intake.outcomes import judge_contact

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
        ("came back last week", date(2025, 2, 17)),
        ("failed again two months ago", date(2024, 12, 31)),
        ("came back yesterday", date(2025, 2, 28)),
        ("was fine till end of Jan then dead again", date(2025, 1, 21)),
        ("lasted until mid September, then same lamp", date(2024, 9, 11)),
        ("fault back since 3 weeks", date(2025, 2, 8)),
        ("dead again for 3 weeks", date(2025, 2, 8)),
        ("ok for 3 weeks then same lamp", date(2024, 1, 22)),
        ("ran till 20 Sept then dead again", date(2024, 9, 20)),
        ("same fault again since 20.09.", date(2024, 9, 20)),
        ("same fault again since 20.09", date(2024, 9, 20)),
        ("dead again since Monday", date(2025, 2, 24)),
        ("dead again since last Sunday", date(2025, 2, 23)),
        ("bis Ende Januar gut, dann wieder tot", date(2025, 1, 21)),
        ("seit zwei Wochen wieder tot", date(2025, 2, 15)),
        ("back again since we fitted the radio", None),
        ("dead again, drove it until hot", None),
        ("fine until 31.02., then back", None),
        ("came back", None),
        ("came back with 3 codes", None),
        ("not right on the left side", None),
    ],
)
def test_words_tell_when_a_car_came_back(words: str, day: date | None) -> None:
    when = told_when(words, CLOSED, TODAY)
    assert (when and when.day) == day


@given(
    told=st.sampled_from(["till", "until", "up to"]),
    day=st.dates(CLOSED, TODAY - timedelta(1)),
    back=st.sampled_from(["then dead again", "then same lamp", "then back again"]),
)
def test_a_fix_gets_no_credit_beyond_the_day_until_which_it_was_good(
    told: str, day: date, back: str
) -> None:
    words = f"fine {told} {day}, {back}"
    kept = dated_by_words(Contact(on=TODAY, outcome=Outcome.COMEBACK, words=words), CLOSED, TODAY)
    assert kept.on == day


def test_an_end_of_which_nobody_can_tell_the_day_gives_no_credit() -> None:
    told = Contact(on=TODAY, outcome=Outcome.COMEBACK, words="good till summer, then dead again")
    assert dated_by_words(told, CLOSED, TODAY).on == CLOSED
    good = date(2024, 4, 1)
    assert dated_by_words(told, CLOSED, TODAY, good).on == good


@pytest.mark.parametrize(
    ("words", "days"),
    [
        ("revenu au bout de 3 semaines, meme panne", 21),
        ("wrocil po 3 tygodniach, znowu cieknie", 21),
        ("au bout de trois mois la fuite est revenue", 90),
        ("came bak after thre weeks, leaks agian", 0),
        ("wieder da, war zwei Wochne ruhig", 0),
        ("kam nach zwölf Tagen wieder", 12),
        ("came back after 300, same noise", 0),
        ("leaks again since about 40", 0),
        ("wieder da, war so im Frühjar", 0),
        ("fuit de nouveau depuis la rentrée", 0),
        ("lamp on again, came at 9 oclock one morning", 0),
        ("back by the time leaves fell, leaks again", 0),
        ("vibrates again at 70 mph", None),
        ("misfires again after 10 min", None),
        ("leaks again every day", None),
        ("came back, same noise", None),
        ("weak battery again", None),
    ],
)
def test_a_time_that_is_not_understood_gives_no_credit(words: str, days: int | None) -> None:
    told = Contact(on=TODAY, outcome=Outcome.COMEBACK, words=words)
    day = TODAY if days is None else CLOSED + timedelta(days)
    assert dated_by_words(told, CLOSED, TODAY).on == day


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
        Contact(on=TODAY, outcome=Outcome.HELD, words="still fine"),
        Contact(on=TODAY, outcome=Outcome.COMEBACK, job=9, words="came back the next week"),
        Contact(on=TODAY, outcome=Outcome.COMEBACK),
        Contact(on=date(2024, 1, 10), outcome=Outcome.COMEBACK, words="back after a week"),
    ],
)
def test_other_contacts_keep_their_day(told: Contact) -> None:
    assert dated_by_words(told, CLOSED, TODAY) == told


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("came back yesterday", Outcome.COMEBACK),
        ("came back next day", Outcome.COMEBACK),
        ("came back a fortnight later", Outcome.COMEBACK),
        ("after three weeks again", Outcome.COMEBACK),
        ("customer returned two days later", Outcome.COMEBACK),
        ("has it come back next day?", Outcome.NOT_TOLD),
        ("a fortnight later", Outcome.NOT_TOLD),
        ("came back yesterday to collect a wheel", Outcome.NOT_TOLD),
        ("came back next day for tyres", Outcome.OTHER_REASON),
        ("did not come back after three weeks", Outcome.HELD),
    ],
)
def test_a_return_at_a_time_is_a_comeback(words: str, outcome: Outcome) -> None:
    assert judge_contact(words) is outcome


RETURNS = st.sampled_from(["came back", "was back", "again", "it returned", "car came back again"])
TIMES = st.sampled_from(
    ["yesterday", "next day", "last week", "a fortnight later", "after 3 weeks", "two days ago"]
)


@given(RETURNS, TIMES, st.sampled_from(["not", "never", "for tyres", "?", "fine", "maybe"]))
def test_nothing_but_a_return_and_its_time_is_taken_for_one(
    back: str, time: str, more: str
) -> None:
    assert tells_return(f"{back} {time}")
    assert tells_return(f"{time} {back}".upper())
    assert not tells_return(f"{back} {time} {more}")
    assert not tells_return(f"{more} {back} {time}")
    assert not tells_return(back)
    assert not tells_return(time)


@pytest.mark.parametrize(("on", "day"), [(TODAY, date(2025, 2, 28)), (date(2025, 2, 27), None)])
def test_yesterday_is_not_today(on: date, day: date | None) -> None:
    told = Contact(on=on, outcome=Outcome.COMEBACK, words="came back yesterday")
    assert dated_by_words(told, CLOSED, TODAY).on == (day or on)


@pytest.mark.parametrize("words", ["came back last month", "held until 3 weeks ago", "last week"])
def test_a_day_that_was_told_is_not_moved_by_words_that_are_reckoned_from_today(words: str) -> None:
    told = Contact(on=date(2025, 3, 1), outcome=Outcome.COMEBACK, words=words)
    assert dated_by_words(told, date(2025, 1, 10), date(2026, 11, 27)) == told


@pytest.mark.parametrize(
    ("words", "day"),
    [
        ("seit 3 Wochen wieder tot", date(2025, 2, 8)),
        ("wieder seit letzter Woche", date(2025, 2, 17)),
        ("back since 3 weeks", date(2025, 2, 8)),
        ("back for 3 weeks", date(2025, 2, 8)),
        ("noise back since the weekend", date(2025, 2, 22)),
        ("been back since September", date(2024, 9, 1)),
        ("back since 2 Nov", date(2024, 11, 2)),
        ("revenu depuis 2 semaines", date(2025, 2, 15)),
        ("le voyant est rallumé depuis la semaine dernière", date(2025, 2, 17)),
        ("le même bruit de nouveau depuis début octobre", date(2024, 10, 1)),
        ("de nouveau mort depuis hier", date(2025, 2, 28)),
        ("znowu od 2 tygodni", date(2025, 2, 15)),
        ("od tygodnia znowu nie odpala", date(2025, 2, 22)),
        ("od września znowu to samo", date(2024, 9, 1)),
        ("springt seit Montag wieder nicht an", date(2025, 2, 24)),
    ],
)
def test_what_is_there_again_since_a_time_is_a_comeback_of_that_day(words: str, day: date) -> None:
    """Calendar: 1 March 2025 was a Saturday; weeks begin on Monday (ISO 8601)."""
    assert judge_contact(words) is Outcome.COMEBACK
    told = Contact(on=TODAY, outcome=Outcome.COMEBACK, words=words)
    assert dated_by_words(told, CLOSED, TODAY).on == day


@pytest.mark.parametrize(
    "words",
    [
        *("back since summer", "again since Easter", "lamp lit again since the MOT"),
        *("seit Ostern wieder die Lampe", "seit Wochen wieder da", "back again for ages"),
        *("le bruit est revenu depuis Pâques", "od Wielkanocy znowu stuka"),
    ],
)
def test_since_a_time_whose_day_nobody_can_tell_gives_no_credit(words: str) -> None:
    assert judge_contact(words) is Outcome.COMEBACK
    told = Contact(on=TODAY, outcome=Outcome.COMEBACK, words=words)
    assert dated_by_words(told, CLOSED, TODAY).on == CLOSED
    good = date(2024, 4, 1)
    assert dated_by_words(told, CLOSED, TODAY, good).on == good


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("keine Probleme seit 3 Wochen", Outcome.HELD),
        ("seit 3 Wochen wieder gut", Outcome.HELD),
        ("pas revenu depuis 2 semaines", Outcome.HELD),
        ("works again since 3 weeks", Outcome.HELD),
        ("tyres since Easter", Outcome.OTHER_REASON),
        *(
            (words, Outcome.NOT_TOLD)
            for words in (
                *("not back since summer", "never back since Easter", "no comeback since Easter"),
                *("back since summer?", "maybe back since summer", "since Easter"),
                *("customer is back since Monday", "he's back since summer"),
                *("back on the road since summer", "power back since Easter"),
                *("seit Ostern nicht wieder", "seit 3 Wochen wieder im Einsatz"),
                *("depuis 2 semaines", "rien depuis 2 semaines", "de retour depuis lundi"),
                *("od 2 tygodni", "nie wróciło od 2 tygodni", "znowu dobrze od tygodnia"),
            )
        ),
    ],
)
def test_since_when_makes_no_comeback_of_what_is_denied_asked_or_well(
    words: str, outcome: Outcome
) -> None:
    assert judge_contact(words) is outcome


SINCE = st.sampled_from(
    [
        "since summer",
        "since 3 weeks",
        "since last week",
        "seit Ostern",
        "depuis lundi",
        "od tygodnia",
    ]
)
STATES = st.sampled_from(["back", "lamp lit again", "wieder tot", "revenu", "znowu stuka"])


@given(STATES, SINCE)
def test_a_state_is_told_with_the_time_since_when_as_without_it(state: str, since: str) -> None:
    assert without_since(f"{state} {since}") == without_since(f"{since} {state}") == state
    assert judge_contact(f"{state} {since}") is Outcome.COMEBACK


DENIED = st.sampled_from(["not back", "never back", "nicht wieder tot", "pas revenu", "nie wrócił"])


@given(DENIED, SINCE)
def test_a_denied_state_is_never_a_comeback(denied: str, since: str) -> None:
    assert judge_contact(f"{denied} {since}") is not Outcome.COMEBACK
    assert judge_contact(f"{since} {denied}") is not Outcome.COMEBACK


@given(days=st.integers(1, 300), more=st.integers(0, 300))
def test_a_hold_for_a_time_is_no_longer_one(days: int, more: int) -> None:
    today = CLOSED + timedelta(days + more)
    for words in (f"good after {days} days", f"ok for {days} days"):
        told = Contact(on=today, outcome=Outcome.HELD, words=words)
        assert dated_by_words(told, CLOSED, today).on == CLOSED + timedelta(days)


@pytest.mark.parametrize(
    ("words", "days"),
    [
        ("been 5 weeks now and starts every time", 35),
        ("5 months on and still no lamp", 150),
        ("seit 3 Wochen gut", 21),
        ("fine after 200 km", 20),
        ("no trouble in 9,000 km", None),
        ("still fine", None),
    ],
)
def test_a_hold_is_told_for_no_longer_than_its_words_have_it(words: str, days: int | None) -> None:
    told = Contact(on=TODAY, outcome=Outcome.HELD, words=words)
    day = TODAY if days is None else CLOSED + timedelta(days)
    assert dated_by_words(told, CLOSED, TODAY).on == day
