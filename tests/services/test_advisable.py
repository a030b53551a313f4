"""A fix whose own words are dangerous is no advice anywhere, whatever it cured."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from click.testing import CliRunner

from kb.case import (
    Action,
    Attempt,
    Contact,
    DiagnosticTest,
    EntryKind,
    Job,
    JobEntry,
    Outcome,
    RepairRecord,
    SaidAt,
    Tried,
    Vehicle,
)
from kb.cli.main import kb
from kb.rates.fixes import FixRate
from kb.safety.job_dangers import dangers_of
from kb.safety.job_words import NO_FIX, JobWords, is_hidden
from kb.services.advisable import only_advisable
from kb.services.ask import causes
from kb.services.comebacks import WorkKind, comebacks_of, trials_of
from kb.services.fixes import fixes
from kb.services.inquiry import Question
from kb.services.similar import similar
from kb.services.teach import teach
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES

BRIDGED = Attempt(
    action=Action.REPAIRED, component="seat plug", words="bridged the yellow plug", cured=True
)
CLEANED = Attempt(action=Action.CLEANED, component="seat plug", words="contact spray", cured=True)
SETTINGS = Settings()
KIND = WorkKind.FIX
REPORTS = [
    ("causes", "airbag lamp on after seat moved"),
    ("fixes", "seat connector high resistance"),
    ("similar", "airbag lamp on after seat moved"),
    ("lesson", "restraints"),
    *((name,) for name in ("recurring", "comebacks", "watch", "stock")),
    ("job", "show", "1"),
    ("job", "follow-up"),
]
LAMP_AFTER_SEAT = "airbag lamp on after seat moved"


def put(address: str, *jobs: Job) -> None:
    with UnitOfWork(open_store(address)) as work:
        for job in jobs:
            work.jobs.replace(job)
        work.commit()


def rates(address: str) -> Iterator[FixRate]:
    """Yield the fixes of the seat connector, as each page that rates them has them."""
    yield from (causes(address, Question(text=LAMP_AFTER_SEAT), SETTINGS).causes[0].fixes)
    yield from (
        each for told in teach(address, "restraints", SETTINGS).lesson.causes for each in told.fixes
    )
    answer = fixes(address, "seat connector", SETTINGS, today=date(2025, 6, 1))
    yield from (each.rate for each in answer.fixes)


def test_it_is_neither_rated_nor_proposed_and_its_job_is_told(small_store: str) -> None:
    put(small_store, replace(CASES[0], attempts=(BRIDGED,)))
    assert list(rates(small_store)) == []
    answer = fixes(small_store, "seat connector", SETTINGS, today=date(2025, 6, 1))
    assert any("repeated: #1" in notice for notice in answer.notices)
    matches = similar(small_store, Question(text=LAMP_AFTER_SEAT), SETTINGS).matches
    (match,) = (each for each in matches if each.number == 1)
    assert match.fix is not None
    assert match.fix.startswith("[not shown")


SWAPPED = "swapped bag for a 3 ohm res, lamp out"


@pytest.mark.parametrize(
    "tried",
    [
        Attempt(action=Action.REPLACED, component="bag for a 3 ohm res", words=SWAPPED),
        Attempt(action=Action.REPLACED, component="seat plug", words=SWAPPED),
        Attempt(action=Action.REPLACED, component="res"),
        Attempt(action=Action.REPLACED, component="known load"),
        Attempt(action=Action.REPLACED, component="bypass plug", words="lamp out"),
        Attempt(action=Action.OTHER, component="other passenger bag"),
    ],
)
def test_what_is_not_shown_or_stands_in_for_an_igniter_leaves_no_fix(
    small_store: str, tried: Attempt
) -> None:
    jobs = [replace(each, attempts=(replace(tried, cured=True),)) for each in CASES]
    put(small_store, *(each for each in jobs if each.cause == CASES[0].cause))
    assert list(rates(small_store)) == []
    lesson = teach(small_store, "restraints", SETTINGS).lesson
    assert lesson.telling
    assert not any(job.attempts for job in lesson.telling)


def test_a_vain_fix_that_is_not_shown_teaches_nothing(small_store: str) -> None:
    vain = Attempt(action=Action.REPLACED, component="seat plug", words=SWAPPED, cured=False)
    put(small_store, replace(CASES[0], attempts=(vain, CLEANED)))
    lesson = teach(small_store, "restraints", SETTINGS).lesson
    assert "seat plug" not in " ".join(each.fix for each in lesson.failed_first)


def test_an_innocent_fix_counts_whatever_else_was_done_on_its_job(small_store: str) -> None:
    put(small_store, replace(CASES[0], attempts=(CLEANED,), notes="put a test lamp on the squib"))
    found = list(rates(small_store))
    assert {each.label for each in found} == {"cleaned seat plug"}
    assert all(each.tried == 1 for each in found)


@pytest.mark.parametrize("cured", [True, False])
def test_it_keeps_its_place_among_the_attempts(small_store: str, cured: bool) -> None:
    first = replace(CLEANED, cured=cured)
    metered = replace(BRIDGED, words="put a test lamp on the squib")
    put(small_store, replace(CASES[0], attempts=(first, metered)))
    for each in rates(small_store):
        assert each.label == "cleaned seat plug"
        assert each.cured_at_handover == cured
        assert each.first.held == len(each.came_back) == 0


HIDDEN = "left 2 ohm resistor in the pretensioner plug, lamp off"
LINE = JobEntry(kind=EntryKind.LINE, text=HIDDEN)
LOAD = DiagnosticTest(name="known load", seen="in place of the pretensioner: code gone")
LEFT = "dummy left where it was"
STILL_IN = "drives on with the load in it, it is still in"
HIDING: list[dict[str, Any]] = [
    {"entries": (LINE,)},
    {"entries": (replace(LINE, kind=EntryKind.CONTACT),)},
    {"notes": "lamp coded out"},
    {"notes": "wiggled the plug. Substitute left in place."},
    {"proved_by": "bridged the yellow plug, lamp off"},
    {"tests": (DiagnosticTest(name="bridged the clock spring", seen="lamp off"),)},
    {"attempts": (BRIDGED, CLEANED)},
    {"attempts": (CLEANED, replace(BRIDGED, cured=None))},
    {"tests": (LOAD,), "notes": "Customer collected the car like that."},
    {"tests": (LOAD,), "attempts": (replace(CLEANED, verified="lamp off, never taken out"),)},
    {"tests": (LOAD,), "entries": (replace(LINE, kind=EntryKind.CONTACT, text=STILL_IN),)},
    {"entries": (replace(LINE, kind=EntryKind.CONTACT, text=LEFT),)},
    {"contacts": (Contact(on=date(2024, 12, 1), outcome=Outcome.HELD, words=LEFT),)},
    {"notes": "wiggled the plug, 2R2 lives in the plug now, lamp off"},
]


@pytest.mark.parametrize("told", HIDING)
def test_where_the_fault_was_hidden_nothing_counts_as_a_cure(
    small_store: str, told: dict[str, Any]
) -> None:
    heard = Contact(on=date(2024, 12, 1), outcome=Outcome.HELD)
    job = replace(CASES[0], **{"contacts": (heard,), "attempts": (CLEANED,), **told})
    put(small_store, job)
    assert list(rates(small_store)) == []
    answer = fixes(small_store, "seat connector", SETTINGS, today=date(2025, 6, 1))
    assert sum("#1" in notice for notice in answer.notices) == 1
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        tried = trials_of(work, [job], SETTINGS)
        assert tried.withheld == {1}
        assert comebacks_of(work, tried, kind=WorkKind.FIX).rows == ()
        assert tried.whole is None or tried.whole.cured == 0
    words = JobWords.of(job)
    shown = words.shown_job(job).attempts
    assert all(each.cured is None and is_hidden(each) for each in shown)
    assert not any(map(words.advises, job.attempts))
    (match,) = (
        each
        for each in similar(small_store, Question(text=LAMP_AFTER_SEAT), SETTINGS).matches
        if each.number == 1
    )
    assert match.fix is not None
    assert match.fix.endswith(f"({NO_FIX})")
    assert not any(each.endswith("(cured)") for each in match.done)


@pytest.mark.parametrize(
    "told",
    [
        {"notes": "substitute load in, lamp out, taken out again"},
        {"tests": (LOAD,), "notes": "Taken out again, plug cleaned."},
        {"tests": (LOAD,)},
        {"entries": (replace(LINE, kind=EntryKind.COMPLAINT),)},
        {"attempts": (replace(BRIDGED, cured=False), CLEANED)},
        {"notes": "put a test lamp on the squib"},
        {"notes": "released the wheel bag springs through the three holes"},
    ],
)
def test_where_the_fault_was_not_hidden_a_cure_counts(
    small_store: str, told: dict[str, Any]
) -> None:
    """Others hid it, it came out again, or what was tried hid nothing."""
    job = replace(CASES[0], **{"attempts": (CLEANED,), **told})
    put(small_store, job)
    assert {each.cured_at_handover for each in rates(small_store)} == {1}
    assert not JobWords.of(job).hides_fault


@pytest.mark.parametrize(
    ("words", "is_taught"),
    [
        (LEFT, False),
        ("eliminator fitted, 3 EUR from the net", False),
        ("no light since", True),
    ],
)
def test_a_lesson_quotes_of_a_contact_what_may_be_shown(
    small_store: str, words: str, is_taught: bool
) -> None:
    heard = Contact(on=date(2024, 12, 1), outcome=Outcome.HELD, words=words)
    put(small_store, *(replace(CASES[at], contacts=(heard,)) for at in range(3)))
    runner, store = CliRunner(), ["--store", small_store]
    for flags in ([], ["--json"]):
        page = runner.invoke(kb, [*store, "lesson", "restraints", *flags]).output
        assert (words in " ".join(page.split())) == is_taught


def test_a_job_whose_fault_was_hidden_is_not_taught(small_store: str) -> None:
    heard = Contact(on=date(2024, 12, 1), outcome=Outcome.HELD, words=LEFT)
    put(small_store, replace(CASES[0], contacts=(heard,)))
    taught = teach(small_store, "restraints", SETTINGS).lesson.telling
    assert taught
    assert 1 not in [each.number for each in taught]


def test_a_fix_that_failed_on_a_job_with_a_hidden_fault_failed(small_store: str) -> None:
    job = replace(CASES[0], attempts=(replace(CLEANED, cured=False),), notes=HIDDEN)
    put(small_store, job)
    assert {(each.tried, each.cured_at_handover) for each in rates(small_store)} == {(1, 0)}


def test_a_job_without_a_fix_whose_fault_was_hidden_is_told(small_store: str) -> None:
    put(small_store, replace(CASES[0], attempts=(), entries=(LINE,)))
    answer = fixes(small_store, "seat connector", SETTINGS, today=date(2025, 6, 1))
    assert any("not counted" in each and "#1" in each for each in answer.notices)


def test_no_fault_of_another_system_is_hidden(small_store: str) -> None:
    put(small_store, replace(CASES[3], notes="left the resistor in the blower plug, lamp off"))
    answer = fixes(small_store, "battery", SETTINGS, today=date(2025, 6, 1))
    assert not any("#4" in each for each in answer.notices)


@pytest.mark.parametrize(
    "told",
    [
        {"words": "bridged the pins"},
        {"part_maker": "soldered up in our shop from a scrapped airbag"},
        {"verified": "put test lamp across the squib, lit"},
    ],
)
def test_a_rate_judges_a_fix_as_the_page_of_its_job_does(told: dict[str, Any]) -> None:
    """The system may not be known; the complaint tells that it is an airbag's."""
    done = Attempt(action=Action.REPAIRED, component="seat plug", cured=True, **told)
    case = RepairRecord(
        *(1, "digest", None, 1, date(2024, 6, 1), date(2024, 6, 2), None, None, None, None),
        *("airbag lamp on", "seat plug", None),
        [tried_as(done)],
        [],
        [],
    )
    job = Job(
        vehicle=Vehicle(), opened=date(2024, 6, 1), complaint="airbag lamp on", attempts=(done,)
    )
    (kept,) = only_advisable([case], ("seat plug", "", "open"))
    assert kept.attempts[0].component != done.component
    assert JobWords.of(job).shown_job(job).attempts != job.attempts
    assert dangers_of(job)


def told_in(text: str, done: Attempt, fix: str) -> Job:
    """Return the no-crank case on which a fix was lifted from a part of what was typed."""
    at = text.index(fix)
    said = SaidAt(entry=0, start=at, end=at + len(fix))
    entry = JobEntry(kind=EntryKind.LINE, text=text)
    return replace(CASES[3], entries=(entry,), attempts=(replace(done, said=said),))


BATTERY = Attempt(action=Action.REPLACED, component="battery", minutes=20, cured=True)


@pytest.mark.parametrize(
    ("text", "counts"),
    [
        ("Went under on the jack alone, replaced the battery in 20 mins", False),
        ("Replaced the battery in 20 mins, HV plug pulled live without isolating", False),
        ("Went under on the jack alone. Replaced the battery in 20 mins", True),
        ("Car on stands, went under, replaced the battery in 20 mins", True),
    ],
)
def test_what_was_lifted_from_a_forbidden_sentence_counts_nowhere(
    small_store: str, text: str, counts: bool
) -> None:
    fix = next(each for each in ("replaced the battery", "Replaced the battery") if each in text)
    job = told_in(text, BATTERY, fix)
    put(small_store, job)
    answer = fixes(small_store, "battery", SETTINGS, today=date(2025, 6, 1))
    assert [each.rate.label for each in answer.fixes] == ["replaced battery"] * counts
    assert any("repeated: #4" in notice for notice in answer.notices) != counts
    assert JobWords.of(job).advises(job.attempts[0]) == counts
    marked = JobWords.of(job).shown_fix(job.attempts[0])
    assert marked.startswith("[must never be done: it may") != counts
    assert marked.endswith("replaced battery")


@pytest.mark.parametrize(
    ("text", "counts"),
    [
        ("didnt bother disconnecting the battery, swapped the clock spring in 20 mins", False),
        ("battery off and waited, swapped the clock spring in 20 mins", True),
    ],
)
def test_at_an_igniter_nothing_done_with_its_supply_on_counts(
    small_store: str, text: str, counts: bool
) -> None:
    """Nor is its time, got by not waiting, what the job takes."""
    spring = replace(BATTERY, component="clock spring")
    job = replace(told_in(text, spring, "swapped the clock spring"), number=3)
    put(small_store, replace(CASES[2], entries=job.entries, attempts=job.attempts))
    answer = fixes(small_store, "clock spring", SETTINGS, today=date(2025, 6, 1))
    assert [each.rate.label for each in answer.fixes] == ["replaced clock spring"] * counts


def tried_as(done: Attempt) -> Tried:
    return Tried(
        done.action,
        done.component,
        done.words,
        None,
        None,
        done.cured,
        done.fix,
        part_maker=done.part_maker,
        verified=done.verified,
    )


def test_a_case_closed_on_a_day_to_come_counts_nowhere_yet(small_store: str) -> None:
    ahead = date.today() + timedelta(days=30)
    put(small_store, tried := replace(CASES[0], attempts=(CLEANED,)))
    before = fixes(small_store, "seat connector", SETTINGS, today=date.today())
    put(small_store, replace(tried, closed=ahead))
    answer = fixes(small_store, "seat connector", SETTINGS, today=date.today())
    assert answer.cases == before.cases - 1
    assert sum(each.rate.tried for each in answer.fixes) < sum(
        each.rate.tried for each in before.fixes
    )
    (told,) = (each for each in answer.notices if "yet to come" in each)
    assert "#1;" in told
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        every = trials_of(work, work.jobs.all(), SETTINGS)
        assert every.ahead == (1,)
        assert 1 not in every.cases
        assert any("yet to come: #1;" in n for n in comebacks_of(work, every, kind=KIND).notices)


@pytest.mark.parametrize("words", REPORTS, ids=" ".join)
def test_where_every_case_is_closed_on_a_day_to_come_each_page_stands(
    small_store: str, words: tuple[str, ...]
) -> None:
    ahead = date.today() + timedelta(days=30)
    put(small_store, *(replace(each, closed=ahead) for each in CASES))
    page = CliRunner().invoke(kb, ["--store", small_store, *words])
    assert page.exit_code == 0, page.output


@pytest.mark.parametrize(
    ("proof", "is_told"),
    [
        ("buzzed the pretensioner plug through, lamp stays out", True),
        ("ohmed the bag, 2.2", True),
        ("mesuré le prétensionneur à l'ohmmètre", True),
        ("live value steady, lamp out", False),
        (None, False),
    ],
)
def test_a_lesson_says_of_a_cause_that_what_proved_it_is_withheld(
    small_store: str, proof: str | None, is_told: bool
) -> None:
    """Common practice, no source."""
    put(small_store, *(replace(CASES[at], proved_by=proof) for at in range(3)))
    told = [
        n
        for each in teach(small_store, "restraints", SETTINGS).lesson.causes
        for n in each.dangerous
    ]
    page = CliRunner().invoke(kb, ["--store", small_store, "lesson", "restraints"]).output
    assert bool(told) is is_told
    assert ("Words withheld as dangerous" in " ".join(page.split())) is is_told
