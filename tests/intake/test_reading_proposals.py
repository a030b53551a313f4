"""What is offered where an item or a unit is not told. Common practice of the trade, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.company import Said
from kb.intake.reading_drafts import ReadingDraft
from kb.intake.reading_proposals import (
    free_words,
    is_likely_value,
    item_of_unit,
    offer,
    tells_when,
)
from kb.intake.reading_search import find_readings
from kb.intake.readings import parse_reading
from kb.intake.values import VALUE


@pytest.mark.parametrize(
    ("value", "position", "condition", "item"),
    [
        ("12.4 V", None, None, "battery"),
        ("14.2 V", None, "engine running", "charging"),
        ("31 psi", "nearside front", None, "tyre"),
        ("31 psi", None, None, None),
        ("90 psi", "nearside front", None, None),
        ("56 psi", None, "prime", "fuel pressure"),
        ("14 bar", "high side", None, "a/c"),
        ("3 ohm", "left front", None, None),
        ("1k2", "left front", None, "wheel speed sensor"),
        ("1k2", None, None, None),
    ],
)
def test_the_item_that_a_unit_tells(
    value: str, position: str | None, condition: str | None, item: str | None
) -> None:
    match = VALUE.fullmatch(value)
    assert match is not None
    told = Said(condition, None, None)
    draft = ReadingDraft("", position, told, begin=0, stop=0, qualified=False)
    assert item_of_unit(match, draft) == item


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (" ohne Licht, ", "ohne Licht"),
        (" it dropped to ", None),
        (" with 3 on ", None),
        ("one two three four five", None),
        ("", None),
    ],
)
def test_a_few_free_words_may_say_when(text: str, words: str | None) -> None:
    assert free_words(text) == words


def test_a_number_at_the_start_of_a_clause_is_an_amount_or_a_value() -> None:
    assert is_likely_value("14,1", " ohne")
    assert is_likely_value("88", " with resistor in")
    assert not is_likely_value("3", " injectors")
    assert tells_when("after load test")
    assert not tells_when("water pump")
    assert not tells_when(None)


@given(st.integers(0, 999), st.sampled_from(["battery", "oil pressure, cold", "pads"]))
def test_what_is_offered_is_read_back_or_not_offered(number: int, item: str) -> None:
    reading = parse_reading(f"{item} {number} V")
    told = offer(reading, str(number))
    if "“" in told:
        again = parse_reading(told.split("“")[1].split("”")[0])
        assert (again.item, again.value) == (reading.item, reading.value)


@pytest.mark.parametrize(
    ("line", "item"),
    [
        ("battery light on while driving, 12.1 V at idle", "charging voltage"),
        ("alternator lamp on, 15.6 V at 2000 rpm", "charging voltage"),
        ("not charging, 12.3 V with engine running", "charging voltage"),
        ("no start, 9.1 V cranking", "battery"),
        ("horn dead, 12.1 V at idle", None),
        ("battery light on, 12.1 V", None),
        ("battery light on, 5 V at idle", None),
    ],
)
def test_bare_volts_of_a_complaint_of_charging_are_taken_by_their_state(
    line: str, item: str | None
) -> None:
    found = find_readings(line)
    assert [each.item for each in found.readings] == ([item] if item else [])
    assert bool(found.doubtful) is (item is None)
