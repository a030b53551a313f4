"""Cautions and the guard: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import System, TroubleCode
from kb.safety.cautions import CAUTIONS, cautions_for, systems_of
from kb.safety.igniter import WITHHELD, screen


@pytest.mark.parametrize(
    "words",
    [
        "measured resistance of LF pretensioner 2.3 ohm",
        "ohmed the squib out",
        "Ohm out the airbag",
        "checked pretensioner for continuity",
        "check airbag resistance with DVM",
        "multimeter across the igniter",
        "test lamp on the air-bag plug",
        "resistance of the curtain igniter was measured at the plug",
        "buzzed out the inflator",
        "put an ohmmeter on the pretensoner",
    ],
)
def test_a_meter_on_an_igniter_is_withheld(words: str) -> None:
    assert screen(words) == WITHHELD
    assert screen(words.upper()) == WITHHELD


@pytest.mark.parametrize(
    "words",
    [
        "live value of the pretensioner back at 2.3 ohm, like the twin",
        "substitute load at the connector read right, airbag harness cleared",
        "continuity through the open airbag plug proves nothing: shorting bars",
        "resistance of the crank sensor 850 ohm",
        "multimeter showed 11.2 V at the starter",
        "wiggle test with live reading",
    ],
)
def test_other_words_are_told_as_they_are(words: str) -> None:
    assert screen(words) == words


def test_on_a_restraint_job_every_meter_is_withheld() -> None:
    assert screen("checked for continuity at yellow plug") != WITHHELD
    assert screen("checked for continuity at yellow plug", restraint=True) == WITHHELD


def test_every_dangerous_system_has_cautions() -> None:
    assert set(System) - set(CAUTIONS) == {System.OTHER}
    for system in CAUTIONS:
        assert cautions_for([system])


def test_restraints_come_first_and_no_caution_twice() -> None:
    lines = cautions_for([System.IGNITION, System.RESTRAINTS, System.RESTRAINTS])
    assert "Airbags" in lines[0]
    assert len(set(lines)) == len(lines)


def test_a_restraint_code_alone_brings_the_cautions() -> None:
    # SAE J2012 keeps B00xx for restraints; maker-defined B1xxx may be anything
    systems = systems_of([TroubleCode(code="B0012")], [None, System.COOLING])
    assert System.RESTRAINTS in systems


@given(st.text())
def test_any_text_is_screened_without_harm(text: str) -> None:
    assert screen(text) in {text, WITHHELD}
