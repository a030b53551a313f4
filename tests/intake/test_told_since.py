"""How long a fix held where no day is told, and words of held and comeback in four languages.

The words are common practice of the trade, no source.
"""

from datetime import date, timedelta

import pytest

from kb.case import Contact, Outcome, tag_key
from kb.intake.distances import KM_A_MILE, driven_since
from kb.intake.elapsed import dated_by_words, never_well
from kb.intake.outcomes import is_another_fault
from kb.intake.single_facts import parse_contact

CLOSED, TODAY = date(2026, 5, 1), date(2026, 11, 28)
HELD_TO = date(2026, 6, 20)


def day_of(words: str, not_before: date | None = None) -> date:
    told = parse_contact(words, TODAY)
    assert told.outcome is Outcome.COMEBACK
    return dated_by_words(told, CLOSED, TODAY, not_before).on


@pytest.mark.parametrize(
    "words",
    [
        *("didn't hold", "not held", "hat nicht gehalten", "n'a pas tenu", "nie trzymało"),
        *("toujours en panne", "immer noch defekt", "nadal nie działa", "still broken"),
        *("customer says not fixed", "nie pomogło", "hat nichts gebracht", "hält nicht"),
    ],
)
def test_what_was_never_well_gets_no_credit(words: str) -> None:
    assert never_well(words)
    assert day_of(words) == CLOSED


@pytest.mark.parametrize(
    "words", ["dead again", "wieder kaputt", "ne tient plus", "usterka wróciła"]
)
def test_what_came_anew_is_of_the_day_it_is_told(words: str) -> None:
    assert not never_well(words)
    assert day_of(words) == TODAY


@pytest.mark.parametrize(
    "words",
    [
        *("came back some time ago", "was back a while ago", "came back, day not known"),
        *("kam vor einiger Zeit wieder", "kam irgendwann wieder", "came back at some point"),
        *("revenu il y a quelque temps", "wróciło jakiś czas temu", "came back after 9,000 km"),
        *("kam nach 9.000 km wieder", "revenu après 9000 km", "wróciło po 9000 km"),
    ],
)
def test_a_comeback_of_no_day_comes_on_the_first_on_which_it_can_have_been(words: str) -> None:
    first = HELD_TO + timedelta(days=1)
    assert day_of(words) == CLOSED
    assert day_of(words, first) == first


def test_what_is_back_since_a_time_comes_after_the_last_good_word() -> None:
    first = HELD_TO + timedelta(days=1)
    for words in ("leaking again since Easter", "seit Ostern wieder undicht"):
        assert day_of(words, first) == first
    assert day_of("leaking again since June", first) == first
    assert day_of("leaking again since 10 June", first) == date(2026, 6, 10)


@pytest.mark.parametrize(
    ("words", "km"),
    [
        ("came back after 9,000 km", 9000),
        ("came back after 6000 km, leaking again", 6000),
        ("kam nach 9.000 km wieder", 9000),
        ("revenu après 9000 km", 9000),
        ("wróciło po 9000 km", 9000),
        ("came back 9000 km later", 9000),
        ("failed again after 5k miles", round(5000 * KM_A_MILE)),
        ("held 2,000 km", 2000),
        ("back, cuts out after 200 km", None),
        ("back, leaks after 10 km", None),
        ("came back at 74,500 km", None),
    ],
)
def test_how_far_it_went_since_is_read(words: str, km: int | None) -> None:
    found = driven_since(words)
    assert (found and found.km) == km


@pytest.mark.parametrize(
    "words",
    [
        "hat gehalten",
        "hält noch",
        "nadal trzyma",
        "trzyma",
        "ça tient",
        "tient toujours",
    ],
)
def test_held_in_other_tongues(words: str) -> None:
    assert parse_contact(words, TODAY).outcome is Outcome.HELD


@pytest.mark.parametrize(
    "words",
    [
        "hamulec nadal trzyma",
        "hat 2 Wochen gehalten",
        "lief bis heute",
        "hält bis heute",
        "hat bis jetzt gehalten",
        "trzyma?",
        "hält noch?",
        "sold, was fine up to then",
        "lief bis heute morgen",
    ],
)
def test_what_may_be_none_is_not_held(words: str) -> None:
    assert parse_contact(words, TODAY).outcome is not Outcome.HELD


@pytest.mark.parametrize(
    "words",
    ["hält nicht mehr", "nie trzyma", "Fehler ist zurück", "retombé en panne", "panne de retour"],
)
def test_comebacks_in_other_tongues(words: str) -> None:
    assert parse_contact(words, TODAY).outcome is Outcome.COMEBACK


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("came back 3x, always other things", Outcome.OTHER_REASON),
        ("kam 3 mal wieder, immer was anderes", Outcome.OTHER_REASON),
        ("revenue 2 fois, toujours pour autre chose", Outcome.OTHER_REASON),
        ("came back 3x, always the same", Outcome.COMEBACK),
        ("came back for the same fault? no, it held", Outcome.HELD),
        ("kam wieder? nein, hält", Outcome.HELD),
        ("came back? no, still leaking", Outcome.COMEBACK),
        ("comeback denied, customer mistaken, still fine", Outcome.HELD),
        ("came back for the same fault", Outcome.COMEBACK),
    ],
)
def test_what_it_came_back_for(words: str, outcome: Outcome) -> None:
    assert parse_contact(words, TODAY).outcome is outcome


@pytest.mark.parametrize(
    "words",
    [
        *("not the same fault", "different fault", "nicht der gleiche Fehler", "autre panne"),
        *("pas la même panne", "to nie ta sama usterka", "ein anderer Fehler"),
    ],
)
def test_another_fault_is_known(words: str) -> None:
    assert is_another_fault(words)
    assert not is_another_fault(f"{words}?")


def test_a_contact_told_of_a_day_keeps_it() -> None:
    told = Contact(on=date(2026, 7, 1), outcome=Outcome.COMEBACK, words="still dead")
    assert dated_by_words(told, CLOSED, TODAY) == told


def test_tags_are_compared_without_case_and_signs() -> None:
    assert len({tag_key(each) for each in ("K-031", "k031", "K 031", "K.031", "k–031")}) == 1
    assert len({tag_key(each) for each in ("1-12", "11-2", "112")}) == 3


@pytest.mark.parametrize(
    ("words", "day"),
    [
        ("same whine again beginning of August", date(2026, 8, 1)),
        ("wieder da, Mitte Oktober", date(2026, 10, 11)),
        ("wróciło w sierpniu", date(2026, 8, 1)),
        ("le bruit est revenu, fin septembre", date(2026, 9, 21)),
        ("same fault again around Halloween", date(2026, 6, 30)),
        ("back in autumn with the same whine", date(2026, 6, 30)),
        ("im Herbst wieder da", date(2026, 6, 30)),
        ("it is back, started in spring", date(2026, 6, 30)),
        ("zimą znowu to samo", date(2026, 6, 30)),
        ("vor 10 Tagen wieder da", date(2026, 11, 18)),
        ("tydzień temu wróciło", date(2026, 11, 21)),
        ("came back, same noise", date(2026, 11, 28)),
        ("it may rattle again", date(2026, 11, 28)),
    ],
)
def test_a_comeback_is_on_the_first_day_that_its_time_may_mean(words: str, day: date) -> None:
    today, handed_over = date(2026, 11, 28), date(2026, 6, 30)
    told = Contact(on=today, outcome=Outcome.COMEBACK, words=words)
    assert dated_by_words(told, handed_over, today).on == day


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("comeback, day unknown", Outcome.COMEBACK),
        ("it came back, does not know when", Outcome.COMEBACK),
        ("vor 10 Tagen wieder angefangen", Outcome.COMEBACK),
        ("no more whine, but the new pump leaks", Outcome.NOT_TOLD),
        ("lamp on again but the code is a different one", Outcome.NOT_TOLD),
        ("held for a week but still whines", Outcome.COMEBACK),
        ("better but it does it once a week", Outcome.COMEBACK),
    ],
)
def test_what_was_heard_is_told_apart_from_another_fault(words: str, outcome: Outcome) -> None:
    assert parse_contact(words, TODAY).outcome is outcome


def test_kilometres_behind_a_day_are_no_year_of_it() -> None:
    told = parse_contact("revenu le 3 septembre, 84 500 km", TODAY)
    assert (told.on, told.odometer_km) == (date(2026, 9, 3), 84500)
