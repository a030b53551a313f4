"""On an igniter's job what nobody here can read is not plainly allowed."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, DiagnosticTest, EntryKind, Job, JobEntry, System, Vehicle
from kb.safety.job_words import JobWords, hidden_parts
from kb.safety.other_scripts import is_unreadable

JOB = Job(
    number=7,
    vehicle=Vehicle(make="Корван", model="Lido"),
    opened=date(2024, 6, 1),
    complaint="airbag lamp on, горит лампа",
    system=System.RESTRAINTS,
)
FOREIGN = {
    "Cyrillic": "проверка провода",
    "Greek": "γεφύρωσα το βύσμα",
    "Arabic": "قياس المقاومة",
    "Chinese": "检查",
    "Hebrew": "בדיקה",
    "Japanese": "コネクタ確認",
}


@pytest.mark.parametrize("name", FOREIGN.values(), ids=FOREIGN)
@pytest.mark.parametrize("seen", ["2.3", "lamp lit", "dry", "bridged, lamp off"])
def test_no_test_stands_under_a_name_that_cannot_be_read(name: str, seen: str) -> None:
    job = replace(JOB, tests=(DiagnosticTest(name=name, seen=seen),))
    (test,) = JobWords.of(job).shown_job(job).tests
    assert test.name == "a test"
    assert test.seen.startswith("[not shown")
    assert "job show 7 --verbatim" in test.seen


@pytest.mark.parametrize("words", FOREIGN.values(), ids=FOREIGN)
def test_nor_is_an_outcome_an_entry_or_a_fix_shown(words: str) -> None:
    fix = Attempt(action=Action.CLEANED, component="seat plug", words=words, cured=True)
    job = replace(
        JOB,
        tests=(DiagnosticTest(name="visual check", seen=words),),
        entries=(JobEntry(kind=EntryKind.LINE, text=f"Plug green. {words}. Drove 10 km."),),
        attempts=(fix,),
        notes=words,
    )
    own = JobWords.of(job)
    shown = own.shown_job(job)
    assert shown.tests[0].name == "visual check"
    assert shown.tests[0].seen.startswith("[not shown: it is not plainly allowed")
    assert shown.entries[0].text.startswith("Plug green. [not shown: ")
    assert shown.entries[0].text.endswith("] Drove 10 km.")
    assert shown.notes == shown.tests[0].seen
    assert words not in str((shown.attempts, own.shown_fix(fix)))
    assert not own.advises(fix)


def test_names_and_what_a_customer_says_are_told_in_any_letters() -> None:
    assert JobWords.of(JOB).shown_job(JOB) == JOB


@pytest.mark.parametrize("words", FOREIGN.values(), ids=FOREIGN)
def test_where_no_igniter_is_concerned_nothing_is_hidden(words: str) -> None:
    job = replace(
        JOB,
        system=System.COOLING,
        complaint="runs hot",
        tests=(DiagnosticTest(name=words, seen="dry"),),
        notes=words,
    )
    assert hidden_parts(job) == ()


@given(st.text(alphabet=st.characters(max_codepoint=0x24F, exclude_characters="µ")))
def test_what_is_in_latin_letters_can_be_read(text: str) -> None:
    assert not is_unreadable(text)


@given(st.text(alphabet="абвгджзийклмнпруфхцчшщыьэюя", min_size=2))
def test_a_word_of_other_letters_alone_cannot(text: str) -> None:
    assert is_unreadable(f"plug {text} green")
