"""Words that may be taken in two ways. How people write is common practice, no source."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Outcome
from kb.intake.findings import find_findings
from kb.intake.outcomes import judge_attempt, judge_contact
from kb.intake.two_ways import is_over, without_until_today

TODAY = date(2026, 11, 29)
GOOD = ("held", "ok", "fine", "all good", "hält", "läuft gut", "ça tient", "trzyma", "wszystko ok")
UNTIL = (
    *("until today", "til today", "till now", "until now", "up to now", "up to today"),
    *("bis heute", "bis jetzt", "jusqu'à aujourd'hui", "jusqu'à présent", "do dziś", "aż do dziś"),
)


@pytest.mark.parametrize("until", UNTIL)
def test_good_until_today_tells_neither_a_hold_nor_a_comeback(until: str) -> None:
    every = [told for good in GOOD for told in (f"{good} {until}", f"{until} {good}")]
    assert [told for told in every if judge_contact(told) is not Outcome.NOT_TOLD] == []
    assert [told for told in every if judge_attempt(told) is not None] == []
    found = {
        told: find_findings(told, TODAY, left_cured=True, complaint="lamp on").contacts
        for told in every
    }
    assert {
        told: contacts
        for told, contacts in found.items()
        if not {each.outcome for each in contacts} <= {Outcome.NOT_TOLD}
    } == {}


@pytest.mark.parametrize(
    "told",
    ["fine until today, now dead again", "ok until now, then the lamp again",
     "held until yesterday", "held until this morning", "hielt bis heute früh, jetzt wieder tot",
     "lief bis heute, jetzt wieder tot", "ok jusqu'à aujourd'hui, de nouveau en panne"],
)  # fmt: skip
def test_until_today_with_a_failure_behind_is_a_comeback(told: str) -> None:
    assert judge_contact(told) is Outcome.COMEBACK


@pytest.mark.parametrize(
    "told",
    ["lamp flickered once, then never again", "flickered once then not again",
     "it flickered, then never again", "lamp came on once, then never again",
     "cut out the first day, not since", "leaked a bit at first, then never again",
     "lamp came on once at start up and has not done it since", "stalled twice, never again since",
     "Lampe hat einmal geflackert, dann nie wieder", "flackerte kurz, danach nie wieder",
     "le voyant a clignoté une fois, puis plus jamais", "lampka mrugnęła raz, potem już nigdy"],
)  # fmt: skip
def test_seen_once_and_never_again_is_no_comeback(told: str) -> None:
    assert judge_contact(told) is not Outcome.COMEBACK
    assert judge_attempt(told) is not False
    contacts = find_findings(told, TODAY, left_cured=True, complaint="charging lamp on").contacts
    assert Outcome.COMEBACK not in {each.outcome for each in contacts}


@pytest.mark.parametrize(
    "told",
    ["came back after 3 weeks, then never again", "came back once a week",
     "lamp on again", "never fixed, lamp on again",
     "lamp came back, never again buying here"],
)  # fmt: skip
def test_what_comes_again_stays_a_comeback(told: str) -> None:
    assert judge_contact(told) is Outcome.COMEBACK


@given(st.text(max_size=60))
def test_any_text_is_read(text: str) -> None:
    assert is_over(text) in {True, False}
    beside = without_until_today(text)
    assert beside is None or without_until_today(beside) is None or beside != text


@pytest.mark.parametrize(
    "told",
    ["cranks, dead again next day", "works, dead again the very next morning",
     "cranks, dead next day", "fine, lamp on again next day", "runs, cuts out again next day",
     "läuft, am nächsten Tag wieder tot", "démarre, de nouveau en panne le lendemain",
     "kręci, następnego dnia znowu nie działa"],
)  # fmt: skip
def test_what_is_dead_again_the_next_day_has_failed(told: str) -> None:
    assert judge_attempt(told) is False
    assert judge_contact(told) is Outcome.COMEBACK


@pytest.mark.parametrize(
    "told", ["will look again next day", "fine, test again next day", "check leak again next day",
             "to be tested again next morning"],
)  # fmt: skip
def test_a_plan_for_the_next_day_tells_nothing(told: str) -> None:
    assert judge_attempt(told) is not False
    assert judge_contact(told) is Outcome.NOT_TOLD


@pytest.mark.parametrize(
    "told",
    ["back on a rope, alternator seized", "back on a low loader, no charge",
     "wieder abgeschleppt, Lichtmaschine fest", "revenue en dépanneuse, alternateur grippé",
     "wróciła na lawecie, alternator zatarty"],
)  # fmt: skip
def test_a_car_that_is_brought_back_on_a_rope_is_a_comeback(told: str) -> None:
    contacts = find_findings(told, TODAY, left_cured=True, complaint="lamp on").contacts
    assert [each.outcome for each in contacts] == [Outcome.COMEBACK]


def test_a_car_on_a_trailer_for_something_else_is_none() -> None:
    assert judge_contact("came back on a trailer for tyres") is not Outcome.COMEBACK
