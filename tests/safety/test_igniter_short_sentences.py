"""What short sentences tell of the supply and of hidden faults; common practice, no source."""

import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, DiagnosticTest, FailureMode, Job, System, Vehicle
from kb.intake.told_deeds import behind_part
from kb.safety.igniter import Shown, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_screen import screen
from kb.safety.igniter_steps import dangerous_step
from kb.safety.job_dangers import dangers_of
from kb.safety.job_words import JobWords

TOLD = tomllib.loads(
    Path(__file__).with_name("igniter_short_sentences.toml").read_text(encoding="utf-8")
)
KINDS = [kind for kind, told in TOLD.items() if "hidden" in told]
BACK = ["Battery on again.", "Terminal 30 back.", "Put the earth lead on.", "Batterie rebranchée."]
BETWEEN = ["", " All good so far.", " Trim in."]
MOVES = ["Plug in.", "Then the seat plug.", "Then the yellow one clicked in.", "Stecker rein."]
OFF = [" Battery off, waited 15 minutes.", " Batterie ab, gewartet.", " Took the battery off."]


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_dangerous_is_named(kind: str) -> None:
    told = TOLD[kind]["hidden"]
    assert [text for text in told if dangerous_step(text, igniter_job=True) is None] == []


@pytest.mark.parametrize("kind", KINDS)
def test_what_only_resembles_it_is_shown(kind: str) -> None:
    told = TOLD[kind]["shown"]
    assert [t for t in told if not isinstance(judged(t, igniter_job=True), Shown)] == []


@pytest.mark.parametrize("text", TOLD["complaints"]["shown"])
def test_a_complaint_that_lists_words_is_shown(text: str) -> None:
    assert JobWords(number=1, igniter_job=True).named(text) == text


@given(*map(st.sampled_from, (BACK, BETWEEN, MOVES)))
def test_neither_the_supply_nor_the_plug_moved_under_it_is_shown(
    back: str, between: str, move: str
) -> None:
    danger = dangerous_step(f"{back}{between} {move}", igniter_job=True)
    assert danger is not None
    assert danger.reason == Reason.LIVE
    shown = screen(f"{back}{between} {move}", restraint=True)
    assert move not in shown
    assert back not in shown


@given(*map(st.sampled_from, (BACK, BETWEEN, OFF, MOVES)))
def test_once_it_is_off_again_a_plug_may_be_moved(
    back: str, between: str, off: str, move: str
) -> None:
    assert dangerous_step(f"{back}{between}{off} {move}", igniter_job=True) is None


@given(*map(st.sampled_from, (MOVES[:1], BETWEEN[:1], BACK)))
def test_a_supply_that_comes_back_last_is_the_end_of_a_job(
    move: str, between: str, back: str
) -> None:
    assert dangerous_step(f"{move}{between} {back} Lamp out.", igniter_job=True) is None


JOB = Job(
    vehicle=Vehicle(),
    opened=date(2026, 3, 2),
    complaint="airbag lamp on",
    system=System.RESTRAINTS,
)
UNPLUGGED = (DiagnosticTest(name="unplugged the yellow connector", seen="green crust"),)
NEW = Attempt(action=Action.REPLACED, component="pretensioner", cured=True)
PUSHED = replace(NEW, words="then the plug pushed on")
PLUG = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
UNIT = Attempt(action=Action.ADJUSTED, component="airbag control unit", cured=True)


def attempted(attempt: Attempt, words: str | None = None, verified: str | None = None) -> Job:
    return replace(JOB, attempts=(replace(attempt, words=words, verified=verified),))


@pytest.mark.parametrize(
    "job",
    [
        replace(JOB, tests=UNPLUGGED, notes="Key was in position 2 throughout."),
        replace(JOB, tests=UNPLUGGED, notes="Zündung war die ganze Zeit an."),
        replace(JOB, tests=UNPLUGGED, notes="Zapłon był włączony."),
        replace(JOB, tests=UNPLUGGED, conditions="engine running"),
        replace(JOB, tests=UNPLUGGED, conditions="12 V present while working"),
        replace(JOB, tests=UNPLUGGED, notes="Ignition kept going."),
        replace(JOB, tests=UNPLUGGED, notes="12 V présents pendant le travail."),
        replace(JOB, tests=UNPLUGGED, conditions="moteur tournant"),
        replace(JOB, tests=(DiagnosticTest(name="drag test", seen="loose, key was on"),)),
        replace(JOB, attempts=(PUSHED,), notes="Supply on again"),
        attempted(PLUG, "reseated, lamp went out the moment it clicked"),
        attempted(NEW, None, "lamp went out as the plug went in"),
    ],
)
def test_work_that_only_several_fields_tell_to_be_done_under_power_is_not_shown(job: Job) -> None:
    assert Reason.LIVE in [each.reason for each in dangers_of(job)]
    shown = JobWords.of(job).shown_job(job)
    assert (shown.tests, shown.attempts) != (job.tests, job.attempts)
    assert "work on an igniter with its supply on" in repr(shown)


@pytest.mark.parametrize(
    "job",
    [
        attempted(UNIT, "coding: rear belts no"),
        attempted(UNIT, "told the unit that rear bags do not exist"),
        attempted(replace(NEW, component="airbag lamp bulb"), "took it out"),
        attempted(replace(NEW, component="seat connector"), "little black box from the net"),
        replace(
            JOB,
            cause=Cause(
                component="passenger bag",
                failure_mode=FailureMode.SOFTWARE,
                location="told not fitted",
            ),
        ),
    ],
)
def test_a_fault_that_is_hidden_in_a_field_is_named(job: Job) -> None:
    assert [each.reason for each in dangers_of(job)] == [Reason.DEFEAT]
    assert JobWords.of(job).shown_job(job) != job


@pytest.mark.parametrize(
    "job",
    [
        replace(JOB, tests=UNPLUGGED, notes="Battery off, waited 15 minutes."),
        replace(
            JOB, tests=UNPLUGGED, conditions="engine running", notes="Battery off, waited 10 min."
        ),
        replace(
            JOB,
            tests=(DiagnosticTest(name="scan tool", seen="B1202 current"),),
            conditions="engine running",
        ),
        replace(
            JOB,
            tests=(DiagnosticTest(name="visual check of the seat plug", seen="loose"),),
            conditions="key on",
        ),
        replace(JOB, tests=UNPLUGGED, notes="12 V present at the fuse box. Engine kept going."),
        replace(JOB, attempts=(NEW,), notes="Battery back on, lamp out"),
        replace(JOB, attempts=(NEW,), notes="battery connected again and key on, all quiet"),
        replace(JOB, attempts=(PUSHED,), notes="Battery back on last, lamp out"),
        attempted(PLUG, "reseated", "lamp out after battery on"),
        attempted(UNIT, "coded to this car"),
    ],
)
def test_the_ordinary_job_is_shown(job: Job) -> None:
    assert dangers_of(job) == []
    assert JobWords.of(job).shown_job(job) == job


def test_what_is_clicked_in_is_no_new_part() -> None:
    assert behind_part("yellow plug clicked in") == (Action.RESEATED, "yellow plug", 22)
