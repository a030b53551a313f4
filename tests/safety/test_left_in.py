"""What stood in for an igniter and stayed in, told in any field of a job."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from kb.case import (
    Action,
    Attempt,
    Contact,
    DiagnosticTest,
    EntryKind,
    Job,
    JobEntry,
    Outcome,
    Quantity,
    Reading,
    System,
    Vehicle,
)
from kb.safety.hidden_fault import NO_PROOF
from kb.safety.igniter_acts import Reason
from kb.safety.job_dangers import dangers_of, may_be_in
from kb.safety.job_words import JobWords

PUT = DiagnosticTest(name="known load", seen="in place of the pretensioner: code gone")
FIX = Attempt(action=Action.CLEANED, component="seat plug", cured=True)
JOB = Job(
    vehicle=Vehicle(),
    opened=date(2026, 3, 2),
    complaint="airbag lamp on",
    system=System.RESTRAINTS,
    tests=(PUT,),
    attempts=(FIX,),
)
READING = Reading(item="pretensioner", quantity=Quantity.RESISTANCE, typed="2.2 ohm", value=2.2)
LATER = Contact(on=date(2026, 5, 2), outcome=Outcome.HELD)


def line(text: str) -> JobEntry:
    return JobEntry(kind=EntryKind.LINE, text=text)


@pytest.mark.parametrize(
    "told",
    [
        {"tests": (PUT, DiagnosticTest(name="handover", seen="it is still in there"))},
        {"tests": (PUT, DiagnosticTest(name="other side", seen="code gone, both left"))},
        {"contacts": (replace(LATER, words="still drives with the load in it, lamp out"),)},
        {"proved_by": "lamp stays out with it in, so it stays"},
        {"attempts": (replace(FIX, verified="lamp out with the load still plugged in"),)},
        {"attempts": (replace(FIX, verified="lamp off, never taken out"),)},
        {"readings": (replace(READING, method="load still in at handover"),)},
        {"complaint": "Airbag lamp. Last shop put a load in, it is still in", "tests": ()},
        {"entries": (line("left it there, customer in a hurry"),)},
    ],
)
def test_it_stayed_in_whatever_field_tells_it(told: dict[str, Any]) -> None:
    job = replace(JOB, **told)
    words = JobWords.of(job)
    assert words.hides_fault
    assert words.shown_job(job).attempts[0].cured is None
    assert not any(map(words.advises, job.attempts))


@pytest.mark.parametrize(
    "notes",
    [
        *(
            "Customer collected the car like that.",
            "Bag on back order, left as is.",
            "Not removed.",
        ),
        *("Nobody took it out.", "Kunde fährt so weiter.", "Bleibt drin.", "Rendu comme ça."),
        *("Laissée en place.", "Opornik zostaje.", "Sitter kvar.", "Lasciata così."),
        *("Se queda puesta.", "Until then the car goes on with it.", "Bag never went back in."),
    ],
)
def test_it_stayed_in_as_notes_tell_in_any_tongue(notes: str) -> None:
    assert JobWords.of(replace(JOB, notes=notes)).hides_fault
    assert [each.reason for each in dangers_of(replace(JOB, notes=notes), JOB)] == [Reason.DEFEAT]


def test_what_is_told_as_proof_where_the_fault_was_hidden_is_none() -> None:
    hidden = replace(JOB, notes="Customer collected the car like that.", proved_by="lamp off")
    words = JobWords.of(hidden)
    assert words.shown_proof("lamp off") == NO_PROOF
    assert words.shown_job(hidden).proved_by == f"lamp off {NO_PROOF}"
    cured = replace(hidden, notes="Taken out again, plug cleaned.")
    assert JobWords.of(cured).shown_proof("lamp off") == "lamp off"
    assert JobWords.of(cured).shown_job(cured).proved_by == "lamp off"


@pytest.mark.parametrize(
    "notes",
    [
        *("Taken out again, plug cleaned.", "Removed. Lamp stays out.", "Swapped it back."),
        *("Load out, bag back on.", "New pretensioner fitted, collected Friday."),
        *("Wieder raus, Stecker erneuert.", "Retirée, cosse refaite.", "Everything dry."),
        *("Lamp stays out, code still gone.", "Left seat trim cleaned."),
    ],
)
def test_a_stand_in_that_came_out_hid_nothing(notes: str) -> None:
    assert not JobWords.of(replace(JOB, notes=notes)).hides_fault
    assert dangers_of(replace(JOB, notes=notes), JOB) == []


def test_of_the_car_that_went_only_the_same_text_tells() -> None:
    went = "Load fitted at the left pretensioner, lamp out. Car went home."
    assert JobWords.of(replace(JOB, tests=(), notes=went)).hides_fault
    assert not JobWords.of(replace(JOB, notes="Car went home.")).hides_fault


def test_no_resistor_of_another_system_hides_anything() -> None:
    job = replace(JOB, complaint="blower dead", system=System.CLIMATE, tests=())
    notes = "resistor fitted, runs, handed over like that, it is still in"
    assert not JobWords.of(replace(job, attempts=(), notes=notes)).hides_fault


def test_in_place_of_a_part_is_where_it_stood_not_that_it_stays() -> None:
    seen = "with a load in place of the airbag it still drops out on left lock"
    spring = Attempt(action=Action.REPLACED, component="clock spring", cured=True)
    tests = (replace(PUT, seen=seen),)
    assert not JobWords.of(replace(JOB, tests=tests, attempts=(spring,))).hides_fault
    stays = (replace(PUT, seen="with the load in place the lamp stays out"),)
    assert JobWords.of(replace(JOB, tests=stays, attempts=(spring,))).hides_fault


def test_what_failed_put_nothing_in() -> None:
    failed = replace(FIX, words="left the dummy where it was", cured=False)
    assert not JobWords.of(replace(JOB, tests=(), attempts=(failed,))).hides_fault


@pytest.mark.parametrize(
    ("told", "asked"),
    [
        ({}, True),
        ({"notes": "taken out again"}, False),
        ({"tests": ()}, False),
        ({"attempts": (Attempt(action=Action.REPLACED, component="pretensioner"),)}, False),
        ({"notes": "pretensioner ordered"}, True),
        *(
            ({"attempts": (Attempt(action=Action.REPLACED, component=beside),)}, True)
            for beside in ["clock spring", "airbag connector", "airbag control unit"]
        ),
    ],
)
def test_whether_it_is_out_is_asked_where_nothing_tells_it(
    told: dict[str, Any], asked: bool
) -> None:
    assert may_be_in(replace(JOB, **told)) == asked


@pytest.mark.parametrize(
    "heard",
    [
        *("resistor still in and lamp still off", "jumper still holds", "dummy steckt noch"),
        *("clip still across the two, quiet", "load still sits in the plug, lamp off"),
        *("no lamp since the 2 ohm thing went in", "bulb still out of the cluster, fine"),
        *("the thing in the plug still does its job", "lamp coded out elsewhere"),
        "load fell out of the plug, lamp on; pushed it in again",
    ],
)
def test_what_was_heard_since_tells_that_it_is_in(heard: str) -> None:
    job = replace(JOB, tests=(), contacts=(replace(LATER, words=heard),))
    words = JobWords.of(job)
    assert words.hides_fault
    assert dangers_of(job)
    assert heard not in repr(words.shown_job(job))
    assert not any(map(words.advises, job.attempts))


@pytest.mark.parametrize(
    "heard",
    [
        *("all fine, drove 2,000 km", "still off", "had it in for tyres, no lamp since"),
        *("since the new plug went in no lamp", "everything still in order", "works since"),
        *("had the bulb changed elsewhere, lamp still off", "clips under the seat rattling"),
    ],
)
def test_what_was_heard_since_of_other_things_hides_nothing(heard: str) -> None:
    job = replace(JOB, tests=(), contacts=(replace(LATER, words=heard),))
    assert not JobWords.of(job).hides_fault
    assert JobWords.of(job).shown_job(job) == job
