"""What becomes of the words of an entry: nothing that may be a fact is lost in silence."""

from datetime import date
from string import digits

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, SaidAt, TroubleCode
from kb.intake.account import Account, Lift, account, likely_facts, placed
from kb.intake.codes import find_codes
from kb.intake.findings import find_findings
from kb.intake.lifting import Doubt, Place
from kb.intake.shoptalk import understand
from tests.strategies import texts

WORDS = """P0171 p0l71 B1234-13 50 9.2 12.6v 2k1 £38.90 152,300 mi 91 000 km battery cranking
cleaned plug fixed held still no change LF coil ohm ; , . : and test"""
TALK = st.lists(st.sampled_from([*WORDS.split(), "\n"]), max_size=12).map(" ".join)


def covered(told: Account, text: str) -> list[Place]:
    return [
        *find_codes(text).lifted,  # a code told twice is one
        *(lift.place for lift in (*told.lifted, *told.kept)),
        *(doubt.place for doubt in told.asked if doubt.place),
    ]


def likely_digits(text: str) -> list[int]:
    found = (place for start, end in likely_facts(text) for place in range(start, end))
    return [place for place in found if text[place] in digits]


def is_in(place: int, places: list[Place]) -> bool:
    return any(start <= place < end for start, end in places)


@given(TALK | texts())
def test_every_likely_fact_of_a_complaint_is_lifted_kept_or_asked_about(text: str) -> None:
    told = understand(text).account
    assert not [place for place in likely_digits(text) if not is_in(place, covered(told, text))]


@given(TALK | texts())
def test_every_number_of_a_line_is_lifted_kept_or_asked_about(text: str) -> None:
    told = find_findings(text, date(2026, 3, 2)).account
    assert not [place for place in likely_digits(text) if not is_in(place, covered(told, text))]


@given(TALK)
def test_what_is_told_is_in_the_order_it_was_typed(text: str) -> None:
    for told in (understand(text).account, find_findings(text, date(2026, 3, 2)).account):
        for lifts in (told.lifted, told.kept):
            assert [lift.place for lift in lifts] == sorted(lift.place for lift in lifts)
        assert all(text[slice(*lift.place)] == lift.fact for lift in told.kept)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Dray 2.0, 152,300 mi", ["2.0", "152,300 mi"]),
        ("91 000 km at 50-60 mph", ["91 000 km", "50-60 mph"]),
        ("fifty one thousand, one of two", ["fifty one thousand"]),
        ("bay 3 (C0A1) for £38.90", ["3", "C0A1", "£38.90"]),
        ("POIOI, no change", ["POIOI", "no change"]),
        ("squeaks when braking", []),
    ],
)
def test_numbers_codes_and_outcomes_may_be_facts(text: str, found: list[str]) -> None:
    assert [text[slice(*place)] for place in likely_facts(text)] == found


@given(
    st.sampled_from(["sensor pushed home ", "odd, ", "(", "trim was "]),
    st.integers(0, 999),
    st.sampled_from(["", ".", ")", ", then home"]),
    st.booleans(),
)
def test_a_point_that_begins_a_number_is_kept(
    before: str, digits: int, behind: str, every_word: bool
) -> None:
    text = f"{before}.{digits}{behind}"
    kept = [each.fact for each in account(text, [], [], every_word=every_word).kept]
    assert [each for each in kept if f".{digits}" in str(each)]


def test_an_attempt_takes_the_numbers_that_its_fields_hold() -> None:
    text = "cleaned plug C12, 40 min, 3.50, bay 7"
    attempt = Attempt(action=Action.CLEANED, component="plug c12", minutes=40, parts_cost=3.5)
    told = account(text, [Lift(attempt, Place(0, len(text)))], [])
    assert [lift.fact for lift in told.kept] == ["bay 7"]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("replaced fuse 7 and relay 12, 30 min", ["fuse 7", "relay 12"]),
        ("checked fuse: ok; checked relay: clicks", []),
        ("about 1,5 turns loose", ["about 1,5 turns loose"]),
    ],
)
def test_what_says_nothing_alone_is_told_with_its_word(text: str, kept: list[str]) -> None:
    told = find_findings(text, date(2026, 3, 2)).account
    assert [lift.fact for lift in told.kept] == kept


def test_what_is_asked_about_is_not_told_twice() -> None:
    doubt = Doubt("50", "has no unit")
    assert account("should be 50", [], [doubt]) == Account((), (), (doubt,))


def test_a_fact_knows_its_place_in_its_entry() -> None:
    code, other = TroubleCode(code="P0171"), TroubleCode(code="P0300")
    told = account("x P0171", [Lift(code, Place(2, 7))], [])
    assert placed([code, other], told, 3) == (
        TroubleCode(code="P0171", said=SaidAt(entry=3, start=2, end=7)),
        other,
    )


def test_what_may_tell_an_outcome_within_a_reading_is_kept_as_words() -> None:
    told = find_findings("new thermostat, coolant still only goes to 65 C", date(2026, 3, 2))
    assert "still" in [each.fact for each in told.account.kept]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("misfire cyl 3, swapped coil cyl 3 to 1", ["cyl 3", "cyl 3", "1"]),
        ("no power at pin 14 of fuse #7", ["pin 14", "fuse #7"]),
        ("3 weeks on", ["3 weeks"]),
    ],
)
def test_a_number_kept_as_words_is_told_with_what_it_counts(text: str, kept: list[str]) -> None:
    assert [lift.fact for lift in understand(text).account.kept] == kept
