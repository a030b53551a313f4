"""Slips of spelling in a line: what is read, what stays, and where it was typed."""

from datetime import date

import pytest
from hypothesis import given

from kb.intake.findings import find_findings
from kb.intake.lifting import Place
from kb.intake.spelling import spelt
from tests.strategies import texts

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("relpaced cluch cabel", "replaced clutch cable"),
        ("hole plugd, no bubles", "hole plugged, no bubbles"),
        ("RELPACED CABLE", "replaced CABLE"),
        ("judder gone compleatly", "judder gone completely"),
        ("sqeal gone", "squeal gone"),
    ],
)
def test_a_word_nobody_knows_is_read_as_the_one_near_it(typed: str, read: str) -> None:
    assert spelt(typed).text == read


@pytest.mark.parametrize(
    "typed",
    [
        "worn wiper arm, horn dead",  # each of these is a word
        "Relpaced by who knows",  # it may be a name
        "exch unit, conv done, comm lost",  # abbreviations
        "beltpin",  # near two words, or none
        "szum, wymiana łożyska",  # another language
        "sensor 2k1, p/n 44-relpaced",
        "backfed the relay, backfeeding through the trailer plug",
    ],
)
def test_what_may_be_meant_stays(typed: str) -> None:
    assert spelt(typed).text == typed


def test_what_was_typed_is_told_in_its_own_spelling_and_place() -> None:
    line = "cabel frayd, relpaced, sqeal gone"
    found = find_findings(line, TODAY)
    assert [fix.label for fix in found.attempts] == ["replaced cable"]
    assert found.attempts[0].cured
    start, end = found.places["attempts"][0]
    assert line[start:end] == "relpaced, sqeal gone"
    assert found.attempts[0].words == "relpaced, sqeal gone"
    assert found.rest == "cabel frayd"
    assert "“cabel” is read as “cable”" in map(str, found.doubts)


@given(texts())
def test_every_letter_knows_its_place(text: str) -> None:
    line = spelt(text)
    assert line.place(Place(0, len(line.text))) == (0, len(text))
    for place in range(len(line.text)):
        here = line.place(Place(place, place + 1))
        assert 0 <= here.start <= here.end <= len(text)
    for slip in line.slips:
        assert slip.place
        assert text[slice(*slip.place)] == slip.text


def test_a_word_typed_rightly_as_well_is_told_as_it_was_typed_in_each_place() -> None:
    line = "replcaed cam snsor, no joy; crank sensor replaced 45min €38,50 sorted"
    told = find_findings(line, date(2026, 3, 2)).attempts
    assert [each.words for each in told] == [
        "replcaed cam snsor, no joy",
        "crank sensor replaced, sorted, €38,50",
    ]
