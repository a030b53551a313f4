"""What a complaint says is fine, and what is seen to work; common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import System, TroubleCode
from kb.intake.said_fine import FINE, said_fine, system_at_fault
from kb.intake.wording import Wording

WORDING = Wording.default()


@pytest.mark.parametrize(
    ("text", "rest", "parts"),
    [
        ("battery ok, won't crank", "won't crank", "battery"),
        ("Slow to crank. Battery tests good.", "Slow to crank", "battery"),
        ("coolant level is fine but still overheats", "still overheats", "coolant level"),
        ("heater fine though a/c warm", "a/c warm", "heater"),
        ("no boost - turbo looks ok", "no boost", "turbo"),
        ("brake pads all good (squeals at the rear)", "squeals at the rear", "brake pad"),
        ("the lights work fine, horn dead", "horn dead", "light"),
    ],
)
def test_a_part_that_is_fine_is_told_apart(text: str, rest: str, parts: str) -> None:
    found = said_fine(text, WORDING)
    assert (found.rest, found.working) == (rest, frozenset())
    assert [word.removesuffix("s") for word in found.parts.split()] == parts.split()


@pytest.mark.parametrize(
    "text",
    [
        *("cranks but won't start", "Turns over, no start", "engine turns over and will not fire"),
        *("no start, cranks fine", "cranks ok no start", "spins over fine never fires"),
        *("it cranks quickly (won't start)", "won't start, engine cranks over well"),
    ],
)
def test_an_engine_that_turns_shows_that_the_starter_works(text: str) -> None:
    found = said_fine(text, WORDING)
    assert found.working == {"starting", "battery", "main cables"}
    assert not found.subjects(WORDING) & found.working
    assert system_at_fault(text, WORDING) is not System.CHARGING_STARTING


@pytest.mark.parametrize(
    "text",
    [
        *("battery not ok", "battery never ok", "is the battery ok?", "battery no good"),
        *("starts fine when cold", "fine when cold, dead hot", "was fine, now dead"),
        *("battery was ok, now flat", "no start unless jumped, then fine", "cranks slowly"),
        *("won't crank", "no crank", "crank sensor noisy"),
        *("runs fine until warm", "turns over slowly", "the dealer did not find it fine", ""),
    ],
)
def test_what_is_fine_only_sometimes_or_not_at_all_is_left_as_it_is(text: str) -> None:
    found = said_fine(text, WORDING)
    assert (found.rest, found.parts.strip(), found.working) == (text, "", frozenset())


def test_codes_still_tell_the_part_of_the_car_where_the_words_tell_what_works() -> None:
    misfire = TroubleCode(code="P0301")
    assert system_at_fault("cranks, no start", WORDING, (misfire,)) is System.IGNITION


@given(st.text(max_size=60))
def test_words_are_neither_made_nor_changed(text: str) -> None:
    found = said_fine(text, WORDING)
    if found.parts or found.working:
        assert set(found.rest) <= set(text) | set(", ")
    else:
        assert found.rest == text


@given(st.lists(st.sampled_from(["battery", "horn", "not", "dead", "leaks", "brakes", ","])))
def test_nothing_is_fine_that_nobody_calls_so(words: list[str]) -> None:
    assert FINE.isdisjoint(words)
    assert not said_fine(" ".join(words), WORDING).parts


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("airbag lamp flickers, horn pressed", {"airbags"}),
        ("airbag lamp flickers when the horn is pressed", {"airbags"}),
        ("airbag lamp on with belt latched", {"airbags"}),
        ("airbag lamp on, belt unlatched", {"airbags"}),
        ("Airbaglampe flackert, Hupe gedrückt", {"airbags"}),
        ("horn dead", {"horn"}),
        ("airbag lamp on, horn dead", {"airbags", "horn"}),
    ],
)
def test_what_was_done_while_looking_is_no_subject(text: str, about: set[str]) -> None:
    assert said_fine(text, WORDING).subjects(WORDING) == about


def test_a_state_alone_is_kept() -> None:
    assert said_fine("horn pressed", WORDING).rest == "horn pressed"


@pytest.mark.parametrize(
    ("text", "cleaned"),
    [
        ("hesitates, MAF cleaned, no change", "air mass"),
        ("hesitates, MAF cleaned no better", "air mass"),
        ("ruckelt, AGR gereinigt, ohne Erfolg", "agr"),
        ("hesitates, MAF cleaned, pulls well", ""),
        ("hesitates, MAF cleaned?", ""),
        ("hesitates, MAF not cleaned, no change", ""),
    ],
)
def test_what_was_cleaned_in_vain_is_hardly_dirty(text: str, cleaned: str) -> None:
    assert said_fine(text, Wording.default()).cleaned == cleaned


@pytest.mark.parametrize(
    "text",
    [
        "Motor ruckelt kalt, Zündspule Zyl. 1 gewechselt ohne Erfolg",
        "misfire, ignition coil cyl. 1 changed no better",
        "misfire, ignition coil cyl. 1 changed, no change",
    ],
)
def test_a_part_is_told_whole_over_the_stop_of_a_short_form(text: str) -> None:
    found = said_fine(text, WORDING)
    assert found.in_vain.startswith("ignition coil")
    assert not found.new
