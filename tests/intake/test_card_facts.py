from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Job, TroubleCode, Vehicle
from kb.intake.card_facts import codes_in_words, readings_in_words
from kb.intake.items import trade_wording

CARD = Job(
    vehicle=Vehicle(),
    opened=date(2026, 3, 2),
    complaint="P0171, idles high",
    notes="P0102-1C too. fuel pressure 3.5 bar; replaced hose 8 mm. fuel pressure 3.9 bar",
)


def test_codes_of_complaint_and_notes_are_found_and_recorded_ones_left_out() -> None:
    assert [str(each) for each in codes_in_words(CARD)] == ["P0171", "P0102-1C"]
    known = replace(CARD, codes=(TroubleCode(code="P0171"),))
    assert [str(each) for each in codes_in_words(known)] == ["P0102-1C"]


def test_the_first_reading_of_an_item_is_the_one_as_found() -> None:
    found = readings_in_words(CARD, trade_wording())
    assert [(each.place, each.typed) for each in found] == [("fuel pressure", "3.5 bar")]


def test_what_is_recorded_is_told_in_the_notes_again() -> None:
    recorded = replace(CARD, readings=readings_in_words(CARD, trade_wording()))
    assert readings_in_words(recorded, trade_wording()) == ()


@given(st.text(alphabet="abP0171 .,:;VbarΩfuelpressure\n", max_size=80))
def test_any_notes_can_be_looked_through(notes: str) -> None:
    card = replace(CARD, notes=notes.strip() or None)
    found = readings_in_words(card, trade_wording())
    told = [(each.place, each.quantity, each.stage) for each in found]
    assert len(set(told)) == len(told)
    assert "P0171" in {each.code for each in codes_in_words(card)}
