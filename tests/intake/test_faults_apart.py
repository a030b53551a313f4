"""Complaints of one fault and of two. The words of the trade are common practice, no source."""

import pytest
from hypothesis import given

from kb.intake.faults_apart import asked_apart, faults_apart
from kb.intake.shoptalk import understand
from kb.intake.wording import Wording
from tests.strategies import texts

_TRADE = Wording.default()


@pytest.mark.parametrize(
    "text",
    [
        "brake pedal soft and engine misfire",
        "squeal on braking, also radio dead",
        "battery flat after a week and window stuck",
        "no crank, and the a/c blows warm",
        "airbag lamp on, radio dead",
    ],
)
def test_two_faults_are_asked_apart(text: str) -> None:
    said = understand(text)
    (notice,) = said.notices
    assert "may be faults apart" in notice
    taken = said.complaint.system
    assert (f"taken as {taken.value}" if taken else "no system is taken") in notice
    stated = understand(text, system=next(iter(faults_apart(text, _TRADE))))
    assert stated.notices == ()


@pytest.mark.parametrize(
    "text",
    [
        "radio dead, window stuck",
        "brakes squeal, new tyres fitted at another garage",
        "ABS cuts in on dry road, lamp on",
        "no start, was on charge all night",
        "airbag lamp on after seat moved",
        "airbag lamp on, B1234-1B, horn dead",
    ],
)
def test_one_fault_is_not(text: str) -> None:
    assert asked_apart(text, _TRADE) is None


@given(texts())
def test_what_is_told_apart_stands_in_the_text(text: str) -> None:
    assert all(words in text for words in faults_apart(text, _TRADE).values())
