"""What of a job says two things at once."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given

from kb.case import Action, Attempt, Contact, Job, Outcome, Vehicle
from kb.errors import InvalidField, KbError
from kb.intake.contradictions import check_cures, contradiction, contradictions, undecided
from kb.intake.forms import job_from_record
from kb.services.demo import seed_files
from kb.services.importing import Source
from tests.strategies import jobs

DAY = date(2026, 4, 1)


@pytest.mark.parametrize(
    ("cured", "words", "denied"),
    [
        (True, "replaced relay, not cured", True),
        (True, "no change", True),
        (True, "replaced relay, no better, still dead", True),
        (True, "came back next day", True),
        (True, "ok for a day then dead again", True),
        (True, "no good", True),
        (True, "ohne Erfolg", True),
        (True, "bez zmian", True),
        (True, "lamp back on", True),
        (True, "leaks again", True),
        (True, "replaced dead relay", False),
        (True, "leaking seal renewed, road test 10 km", False),
        (True, "cleaned corroded pin, not replaced", False),
        (False, "cured", True),
        (True, "cured", False),
        (None, "not cured", False),
        (True, "seat filed flat, tip wiped", False),
        (True, None, False),
    ],
)
def test_a_fix_and_its_words(cured: bool | None, words: str | None, denied: bool) -> None:
    fix = Attempt(action=Action.REPLACED, component="relay", cured=cured, words=words)
    assert (contradiction(fix) is not None) is denied


def test_a_proof_that_denies_the_cure() -> None:
    fix = Attempt(
        action=Action.REPLACED, component="relay", cured=True, verified="still dead after"
    )
    assert contradiction(fix) is not None
    assert contradiction(replace(fix, verified="road test 10 km, no code came back")) is None


def test_an_edit_may_not_say_cured_of_what_its_words_deny() -> None:
    job = Job(number=4, vehicle=Vehicle(make="Corvane"), opened=DAY, complaint="dead")
    fix = Attempt(action=Action.REPLACED, component="relay", words="no better, still dead")
    known = replace(job, attempts=(replace(fix, cured=True),))
    with pytest.raises(InvalidField, match=r"attempts\[0\]\.cured: 'yes' tells two things"):
        check_cures(known, replace(job, attempts=(fix,)))
    check_cures(replace(job, attempts=(fix,)), job)
    check_cures(replace(known, complaint="dead, wet"), known)


@pytest.mark.parametrize(
    ("outcome", "words", "denied"),
    [
        (Outcome.HELD, "did not hold", True),
        (Outcome.COMEBACK, "still good", True),
        (Outcome.HELD, "all fine", False),
        (Outcome.HELD, "customer was not reached", True),
        (Outcome.HELD, "rang twice, nobody answered", True),
        (Outcome.HELD, "couldn't reach the owner", True),
        (Outcome.HELD, "hopefully", True),
        (Outcome.HELD, "asked by phone", False),
        (Outcome.HELD, "in for tyres", False),
        (Outcome.COMEBACK, "not the same fault, came for tyres", True),
        (Outcome.COMEBACK, "in for tyres", True),
        (Outcome.COMEBACK, "another fault this time", True),
        (Outcome.COMEBACK, "towed in", False),
        (Outcome.OTHER_REASON, "did not hold", True),
        (Outcome.OTHER_REASON, "wipers dead again, same fault", True),
        (Outcome.OTHER_REASON, "came back with the same complaint", True),
        (Outcome.OTHER_REASON, "in for tyres, still ok", False),
        (Outcome.OTHER_REASON, "not the same fault, came for tyres", False),
        (Outcome.NOT_TOLD, "did not hold", False),
    ],
)
def test_a_contact_and_its_words(outcome: Outcome, words: str, denied: bool) -> None:
    assert (contradiction(Contact(on=DAY, outcome=outcome, words=words)) is not None) is denied


@pytest.mark.parametrize(
    ("notes", "denied"),
    [
        ("back after a week, same clunk", True),
        ("did not help, still clunks", True),
        ("kam nach einer Woche wieder", True),
        ("came back after 3 days, lamp on again", True),
        ("first clean made no change, new relay did it", False),
        ("old part given back, he can return it", False),
        ("told to take it for a run, 3 km to work and back", False),
        ("filed flat, lock stiff in frost", False),
        (None, False),
    ],
)
def test_notes_that_deny_the_cure(notes: str | None, denied: bool) -> None:
    fix = Attempt(action=Action.REPLACED, component="relay", cured=True)
    job = Job(vehicle=Vehicle(make="Corvane"), opened=DAY, complaint="dead", attempts=(fix,))
    job = replace(job, notes=notes)
    assert bool(list(contradictions(job))) is denied
    assert undecided(job).attempts[0].cured is (None if denied else True)
    back = replace(job, contacts=(Contact(on=DAY, outcome=Outcome.COMEBACK),))
    assert list(contradictions(back)) == []


@given(job=jobs())
def test_what_is_undecided_contradicts_itself_no_more(job: Job) -> None:
    assert list(contradictions(undecided(job))) == []


def seeds() -> list[Job]:
    read = (record for path in seed_files() for _, record in Source(path, None).records())
    return [job_from_record(record) for record in read if not isinstance(record, KbError)]


def test_the_demonstration_shop_contradicts_itself_nowhere() -> None:
    told = seeds()
    assert [said for job in told for said in contradictions(job)] == []


@pytest.mark.parametrize(
    "told",
    ["still leaks", "- came back", "no better", "no change", "did not cure", "leaks again",
     "immer noch undicht", "ohne Erfolg", "fuit toujours", "sans effet", "dalej cieknie",
     "nie pomogło", "made no difference", "(no good)"],
)  # fmt: skip
@pytest.mark.parametrize("part", ["hose", "Schlauch,"])
def test_a_failure_in_the_place_of_the_part_denies_a_cure(part: str, told: str) -> None:
    fix = Attempt(action=Action.REPLACED, component=f"{part} {told}", cured=True)
    assert "the name of its part says not cured" in (contradiction(fix) or "")
    assert contradiction(replace(fix, cured=False)) is None
    job = Job(vehicle=Vehicle(make="Corvane"), opened=DAY, complaint="leaks", attempts=(fix,))
    assert undecided(job).attempts[0].cured is None


@pytest.mark.parametrize(
    "part",
    ["injector return hose", "fuel return line", "back light", "durite de retour", "dead pedal",
     "broken wire at hinge", "leaking hose", "flat battery", "misfiring coil 3", "knock sensor",
     "leak detection pump", "Rücklaufleitung", "przewód powrotny"],
)  # fmt: skip
@pytest.mark.parametrize("cured", [True, False])
def test_the_name_of_a_part_denies_nothing(part: str, cured: bool) -> None:
    assert contradiction(Attempt(action=Action.REPLACED, component=part, cured=cured)) is None


def test_no_part_of_the_seed_cases_denies_its_cure() -> None:
    told = seeds()
    fixes = [fix for job in told for fix in job.attempts]
    assert fixes
    assert not [fix for fix in fixes if contradiction(replace(fix, words=None, verified=None))]
