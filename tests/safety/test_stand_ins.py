"""A known load in an igniter's place is a test, and nothing is cured by it."""

from datetime import date
from typing import Any

import pytest

from kb.case import Action, Attempt, Job, System, Vehicle
from kb.safety.job_words import JobWords
from kb.safety.stand_ins import NAME, is_known_load, without_known_loads

WORDS = "fitted the 2 ohm dummy load in place of the pretensioner, code gone"


def fix(component: str, words: str | None = None, **more: Any) -> Attempt:
    return Attempt(action=Action.REPLACED, component=component, words=words, **more)


def job(*attempts: Attempt) -> Job:
    return Job(
        vehicle=Vehicle(),
        opened=date(2024, 6, 1),
        complaint="airbag lamp on",
        system=System.RESTRAINTS,
        attempts=attempts,
    )


@pytest.mark.parametrize(
    ("component", "words"),
    [
        ("2 ohm dummy load in place of the pretensioner", WORDS),
        ("dummy load", None),
        ("known load for the driver bag", None),
        ("substitute resistor", "put in instead of the side bag, lamp out"),
        ("resistor", "fitted in the airbag's place, lamp out"),
        ("Ersatzwiderstand", "statt Airbag gesteckt, Fehler weg"),
        ("charge fictive", "à la place du prétensionneur"),
        ("simulator", "in place of the curtain bag, ok now"),
    ],
)
def test_what_stands_in_an_igniters_place_is_a_known_load(
    component: str, words: str | None
) -> None:
    assert is_known_load(fix(component, words), igniter_job=True)


@pytest.mark.parametrize(
    ("component", "words"),
    [
        ("blower resistor", "fan runs on all steps"),
        ("bulb of the airbag lamp", None),
        ("seat load sensor", None),
        ("dummy plug", "in the unused socket of the trailer module"),
        ("seat connector", "known load was in, live value steady, so plug renewed"),
        ("pretensioner", "new one by number, dummy load out again, code gone"),
        ("pedal simulator", None),
        ("jumper lead", None),
    ],
)
def test_another_part_is_none(component: str, words: str | None) -> None:
    assert not is_known_load(fix(component, words), igniter_job=True)


def test_elsewhere_a_load_is_a_part() -> None:
    assert not is_known_load(fix("dummy load", "of the trailer module"), igniter_job=False)


@pytest.mark.parametrize("cured", [True, False, None])
def test_told_as_a_fix_it_becomes_a_test_that_cured_nothing(cured: bool | None) -> None:
    plug = fix("seat connector", cured=True)
    told = job(plug, fix("dummy load", WORDS, cured=cured))
    kept, said = without_known_loads(told, job(plug), igniter_job=True)
    assert kept.attempts == (plug,)
    assert [(test.name, test.seen) for test in kept.tests] == [(NAME, WORDS)]
    assert "cures nothing" in said[0]


def test_what_is_stored_already_stays() -> None:
    stored = job(fix("dummy load", WORDS, cured=True))
    assert without_known_loads(stored, stored, igniter_job=True) == (stored, [])


def test_an_older_record_is_shown_as_a_test_and_never_proposed() -> None:
    stored = job(fix("dummy load in place of the pretensioner", WORDS, cured=True))
    words = JobWords.of(stored)
    assert words.shown_fix(stored.attempts[0]) == f"a test: {WORDS}"
    assert not words.advises(stored.attempts[0])


def test_a_harmless_fix_that_is_not_proposed_is_still_named() -> None:
    done = Attempt(action=Action.OTHER, component="floor carpet", words="dried it out")
    assert JobWords.of(job(done)).shown_fix(done) == "other floor carpet"
