"""What was heard on two days in one line is two contacts; a doubtful comeback lets nothing hold."""

from datetime import date

import pytest

from kb.case import Outcome
from kb.errors import InvalidField
from kb.intake.account import FixVerdict, Lift, account, as_words
from kb.intake.findings import find_findings
from kb.intake.lifting import Place
from kb.intake.single_facts import parse_contact

TODAY = date(2026, 11, 28)
HELD, BACK = date(2025, 10, 30), date(2025, 12, 2)


@pytest.mark.parametrize(
    "line",
    [
        "rang 2025-10-30, ok; on 2025-12-02 abs lamp back",
        "rang on 2025-10-30, ok; told us on 2025-12-02 abs lamp back",
        "2025-10-30 held, came back 2025-12-02",
        "rang 2025-10-30, ok. on 2025-12-02 abs lamp on again",
        "rang 2025-10-30 ok, then 2025-12-02 same fault",
        "rang 2025-10-30, ok; abs lamp back 2025-12-02",
        "2025-10-30 held; 2025-12-02 comeback",
        "held 2025-10-30 and came back 2025-12-02",
        "rang 30.10.2025, all good, but 2.12.2025 back with same noise",
        "held 2025-10-30, then on 2025-12-02 customer says noise is back",
    ],
)
def test_what_was_heard_on_two_days_is_two_contacts(line: str) -> None:
    found = find_findings(line, TODAY, left_cured=True)
    told = [(each.on, each.outcome) for each in found.contacts]
    assert told == [(HELD, Outcome.HELD), (BACK, Outcome.COMEBACK)]
    assert not found.account.kept


@pytest.mark.parametrize(
    "line",
    [
        "rang 2025-10-30, ok; lamp back",
        "rang, ok; abs lamp back",
        "held 2025-10-30; light on again sometimes",
    ],
)
def test_nothing_held_where_other_words_may_tell_of_a_comeback(line: str) -> None:
    found = find_findings(line, TODAY, left_cured=True)
    assert not [each for each in found.contacts if each.outcome is Outcome.HELD]
    assert [each.text for each in found.doubts] == line.split("; ")


@pytest.mark.parametrize(
    "line",
    [
        "customer rang 2025-10-30, happy, no codes back",
        "rang 2025-10-30: fine, has not come back",
        "held 2025-10-30; drives well, no lamp",
    ],
)
def test_good_news_without_a_comeback_is_taken(line: str) -> None:
    (heard,) = find_findings(line, TODAY, left_cured=True).contacts
    assert (heard.on, heard.outcome) == (HELD, Outcome.HELD)


def test_one_contact_cannot_be_of_two_days_that_tell_two_things() -> None:
    with pytest.raises(InvalidField, match="tells of two days"):
        parse_contact("2025-10-30 held, came back 2025-12-02", TODAY)


def test_words_that_were_left_over_are_told_once() -> None:
    line = "came back 2025-12-02"
    told = account(line, [Lift(FixVerdict(cured=False), Place(0, 9))], [], every_word=True)
    kept = as_words(told, (FixVerdict,), line).kept
    assert sorted(word for lift in kept for word in str(lift.fact).split()) == sorted(line.split())
    inner = [Lift("back 2025-12-02", Place(5, 20))]
    twice = account(line, [Lift(FixVerdict(cured=False), Place(0, 20)), *inner], [])
    assert [lift.fact for lift in as_words(twice, (FixVerdict,), line).kept] == [line]
