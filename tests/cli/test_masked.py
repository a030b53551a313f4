"""Whatever field of a job tells a dangerous step, no page for people shows it."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, date, datetime, timedelta
from enum import Enum
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest
from click.testing import CliRunner

from kb.case import (
    Action,
    Attempt,
    Cause,
    Confirmation,
    Contact,
    DiagnosticTest,
    EntryKind,
    FailureMode,
    Job,
    JobEntry,
    Link,
    LinkKind,
    Outcome,
    Precondition,
    Quantity,
    Reading,
    System,
    TroubleCode,
    Vehicle,
)
from kb.cli.main import kb
from kb.reports.job import change_line
from kb.safety.job_dangers import dangers_of
from kb.safety.job_words import JobWords, hidden_of, hidden_parts
from kb.services.doubts import spelt_otherwise
from kb.services.proposed import prepare_recall
from kb.settings import Settings
from kb.store.database import create_store, open_store
from kb.store.history import Change
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES
from tests.store_copies import copied

STEP = "buzzed the squib with a meter"
FAULT = Cause(
    component=STEP, failure_mode=FailureMode.OPEN, location=STEP, position=STEP, words=STEP
)
NOT_TEXT = {"uid", "vin", "code", "failure_type"}
"""Fields whose form lets no sentence in."""
FILLED = Job(
    number=30,
    vehicle=Vehicle(make=STEP, model=STEP, engine=STEP, ref=STEP, year=2016),
    opened=date(2024, 6, 1),
    closed=date(2024, 6, 2),
    complaint=f"airbag lamp on after seat moved, {STEP}",
    system=System.RESTRAINTS,
    conditions=STEP,
    technician=STEP,
    codes=(TroubleCode(code="B1234"),),
    readings=(
        Reading(
            item=STEP,
            quantity=Quantity.RESISTANCE,
            typed=STEP,
            value=2.2,
            position=STEP,
            method=STEP,
            condition=STEP,
            proved_good=True,
        ),
    ),
    tests=(DiagnosticTest(name=STEP, seen=STEP, points_to=(STEP,), clears=(STEP,)),),
    cause=FAULT,
    proved_by=STEP,
    attempts=(
        Attempt(
            action=Action.REPLACED,
            component=STEP,
            words=STEP,
            supposed=FAULT,
            part_maker=STEP,
            cured=False,
            verified=STEP,
        ),
        Attempt(action=Action.OTHER, component=STEP, words=STEP, cured=True, verified=STEP),
    ),
    contacts=(Contact(on=date(2024, 8, 1), outcome=Outcome.HELD, words=STEP, by=STEP),),
    notes=STEP,
    circuit=(
        Link(name=STEP, kind=LinkKind.CONNECTOR),
        Link(name="airbag", kind=LinkKind.COMPONENT),
    ),
    confirmations=(
        Confirmation(
            what=Precondition.SUPPLY_OFF,
            step=STEP,
            by=STEP,
            at=datetime(2024, 6, 1, 10, tzinfo=UTC),
        ),
    ),
    entries=(
        *(JobEntry(kind=kind, text=f"airbag lamp on, {STEP}", by=STEP) for kind in EntryKind),
    ),
)


def texts(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a job that is no word of the program's, by its path without places."""
    if is_dataclass(value):
        for field in fields(value):
            yield from texts(getattr(value, field.name), f"{path}.{field.name}")
    elif isinstance(value, tuple):
        for each in value:
            yield from texts(each, path)
    elif isinstance(value, str) and not isinstance(value, Enum):
        yield path, value


def text_fields(kind: type, path: str = "") -> Iterator[str]:
    """Path of every field of a job that holds free text, by its declared type."""
    for name, hint in get_type_hints(kind, include_extras=False).items():
        parts = [each for each in (hint, *get_args(hint)) if isinstance(each, type)]
        if str in parts and name not in NOT_TEXT:
            yield f"{path}.{name}"
        for part in parts:
            if is_dataclass(part):
                yield from text_fields(part, f"{path}.{name}")


def test_every_text_field_of_a_job_is_filled_here() -> None:
    filled = {path for path, text in texts(replace(FILLED, void=STEP)) if STEP in text}
    assert set(text_fields(Job)) == filled


def test_a_shown_job_has_it_in_no_field() -> None:
    job = replace(FILLED, void=STEP)
    shown = JobWords.of(job).shown_job(job)
    assert [path for path, text in texts(shown) if STEP in text] == []


@pytest.fixture(scope="module")
def filled_shop(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Six cases, and the job above as a case, open, and void."""
    folder: Path = tmp_path_factory.mktemp("filled")
    address = str(folder / "shop.sqlite")
    recent = date.today() - timedelta(days=100)
    with UnitOfWork(create_store(address), who="BT") as work:
        for job in (
            *CASES,
            FILLED,
            replace(FILLED, number=31, closed=None),
            replace(FILLED, number=32, void=STEP),
            replace(FILLED, number=33, opened=recent, closed=recent, contacts=()),
        ):
            work.jobs.add(job)
        work.commit()
    prepare_recall(address, Settings(), today=date.today())
    return address


@pytest.mark.parametrize(
    "words",
    [
        ["causes", "airbag lamp on after seat moved", "--detail"],
        ["causes", "--job", "31", "--detail"],
        ["similar", "airbag lamp on after seat moved"],
        ["similar", "--job", "31"],
        ["next-test", "31", "--detail"],
        ["fixes", "--job", "30"],
        ["fixes", "o"],
        ["fixes", "sqib"],
        ["reading", "squib 2.2 ohm"],
        ["reading", "squib 2.2 ohm", "--job", "31"],
        ["code", "B1234"],
        ["lesson", "restraints", "--detail"],
        ["recurring", "--detail"],
        ["comebacks", "--detail"],
        ["stock", "--detail"],
        ["comebacks", "--by", "cause", "--detail"],
        ["comebacks", "--by", "model"],
        ["vehicle", "show", STEP],
        ["job", "show", "30"],
        ["job", "show", "32"],
        ["job", "list"],
        ["job", "history", "31"],
        ["job", "add", "31", "plug cleaned", "--yes"],
        ["job", "edit", "31", "--set", "odometer_km=80000", "--yes"],
        ["job", "edit", "31", "--set", "notes=none", "--yes"],
        ["job", "remove", "31", "10", "--yes"],
        ["job", "close", "31", "seat connector, open", "--yes"],
        ["job", "void", "32", "--why", "again"],
        ["job", "void", "32", "--back", "--yes"],
        ["job", "reopen", "30", "--yes"],
        ["job", "follow-up"],
        ["undo", "--list"],
        ["undo", "1", "--yes"],
    ],
    ids=" ".join,
)
def test_no_page_shows_it(filled_shop: str, tmp_path: Path, words: list[str]) -> None:
    asked = ["--store", copied(filled_shop, tmp_path), *words]
    result = CliRunner().invoke(kb, asked)
    assert not (result.exception and not isinstance(result.exception, SystemExit)), result.output
    assert result.exit_code != 2, result.output
    told = " ".join(result.output.split())
    assert STEP not in told, told


def test_names_that_resemble_one_typed_are_masked(filled_shop: str) -> None:
    job = Job(number=31, vehicle=Vehicle(), opened=date(2024, 6, 1), complaint="airbag lamp on")
    alike = replace(FAULT, component="buzed the squib with a meter")
    with UnitOfWork(open_store(filled_shop), read_only=True) as work:
        told = list(spelt_otherwise(work, replace(job, cause=alike), job))
    assert len(told) == 1
    assert "did you mean" in told[0]
    assert "not shown" in told[0].partition("did you mean")[2]
    assert "the squib with" not in told[0]


@pytest.mark.parametrize(
    ("component", "words"),
    [("resistor in place of bag", None), ("jumper wire", None), ("seat plug", "bypass fitted")],
)
def test_a_bypass_told_as_another_action_is_dangerous(component: str, words: str | None) -> None:
    done = Attempt(action=Action.OTHER, component=component, words=words, cured=True)
    job = Job(
        vehicle=Vehicle(),
        opened=date(2024, 6, 1),
        complaint="airbag lamp on",
        system=System.RESTRAINTS,
        attempts=(done,),
    )
    assert dangers_of(job)
    assert not JobWords.of(job).advises(done)


def test_a_dangerous_note_beside_a_fix_is_masked_and_the_fix_not_proposed() -> None:
    done = Attempt(action=Action.REPLACED, component="seat plug", words=STEP, cured=True)
    job = Job(
        vehicle=Vehicle(), opened=date(2024, 6, 1), complaint="airbag lamp on", attempts=(done,)
    )
    words = JobWords.of(job)
    assert STEP not in str(words.shown_job(job).attempts)
    assert not words.advises(done)


def test_what_a_horn_does_not_do_is_no_step() -> None:
    horn = Job(vehicle=Vehicle(), opened=date(2024, 6, 1), complaint="horn dead", notes="no beep")
    assert JobWords.of(horn).shown_job(horn) == horn
    assert not dangers_of(horn)


def test_what_will_not_be_shown_is_named_once() -> None:
    line = "checked resistance of the bag with bag in lap"
    base = Job(vehicle=Vehicle(), opened=date(2024, 6, 1), complaint="airbag lamp on")
    job = replace(base, notes=line, entries=(JobEntry(kind=EntryKind.LINE, text=line),))
    assert hidden_of(job, base) == [line]
    assert hidden_of(job, job) == []


def test_a_history_tells_all_as_written_under_the_caution_when_asked(filled_shop: str) -> None:
    masked, told = (
        CliRunner().invoke(kb, ["--store", filled_shop, "job", "history", "30", *more]).output
        for more in ([], ["--verbatim"])
    )
    assert STEP not in " ".join(masked.split())
    assert told.startswith("CAUTION")


DAY = datetime(2026, 3, 2, tzinfo=UTC)
ONE = Job(number=7, vehicle=Vehicle(), opened=DAY.date(), complaint="airbag lamp on")


def test_what_a_page_hides_by_what_stands_beside_it_its_history_hides() -> None:
    said = JobEntry(kind=EntryKind.LINE, text="squib with the meter 2.3 ohm", at=DAY)
    reading = Reading(item="squib", quantity=Quantity.RESISTANCE, typed="2.3 ohm", value=2.3)
    job = replace(ONE, readings=(reading,), entries=(said,))
    hidden, words = hidden_parts(job), JobWords.of(job)
    assert set(hidden) == {"readings[0]", "entries[0]"}
    change = Change(
        sequence=1, job=7, at=DAY, who="AB", field="readings[0].typed", old=None, new="2.3 ohm"
    )
    assert "not shown" in change_line(change, words, hidden)
    assert change_line(change, None, hidden).endswith(": 2.3 ohm")


def test_a_note_names_no_step_that_the_page_above_it_hides() -> None:
    fix = Attempt(
        action=Action.REPLACED, component="squib plug", words="squib plug bridged with a wire"
    )
    job = replace(ONE, attempts=(fix,))
    words = JobWords.of(job)
    assert words.shown_job(job).attempts[0].label != fix.label
    assert words.step_of(job, fix.label).startswith("[not shown")
    assert words.step_of(job, "read the live values by scan tool").startswith("read")
