"""A job as a page: whole, and never as advice to meter an igniter."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from rich.console import Console, RenderableType

from kb.case import (
    Action,
    Attempt,
    Cause,
    CodeStatus,
    Contact,
    DiagnosticTest,
    EntryKind,
    FailureMode,
    Job,
    JobEntry,
    Outcome,
    Quantity,
    Reading,
    Stage,
    System,
    TroubleCode,
    Vehicle,
)
from kb.intake.account import placed
from kb.intake.findings import find_findings
from kb.reports.job import (
    change_line,
    render_draft,
    render_history,
    render_list,
    render_sheet,
    sheet_facts,
)
from kb.reports.store import created_line, status_line, upgrade_line
from kb.safety.igniter_lines import withheld_line
from kb.safety.job_words import JobWords
from kb.services.drafts import Draft
from kb.services.lookup import History, JobList, JobSheet
from kb.store.database import StoreStatus, Upgrade
from kb.store.history import Change
from tests import strategies

JOB = Job(
    number=12,
    vehicle=Vehicle(ref="K001", make="Corvane", model="Lido", year=2015),
    opened=date(2026, 3, 2),
    closed=date(2026, 3, 4),
    complaint="airbag lamp on",
    system=System.RESTRAINTS,
    conditions="wet",
    odometer_km=81_000,
    technician="BT",
    codes=(TroubleCode(code="B1234", failure_type="1B", status=CodeStatus.STORED),),
    readings=(
        Reading(
            item="pretensioner",
            position="left front",
            quantity=Quantity.RESISTANCE,
            typed="2.3 ohm",
            value=2.3,
            method="scan tool live value",
            stage=Stage.AFTER_FIX,
            proved_good=True,
        ),
    ),
    tests=(DiagnosticTest(name="wiggle test", seen="jumps", minutes=10, clears=("mat",)),),
    cause=Cause(
        component="seat connector",
        location="under seat",
        position="left front",
        failure_mode=FailureMode.HIGH_RESISTANCE,
    ),
    proved_by="steady with a substitute load",
    attempts=(
        Attempt(action=Action.CLEANED, component="seat connector", cured=True, parts_cost=3.5),
    ),
    contacts=(Contact(on=date(2026, 5, 1), outcome=Outcome.HELD, odometer_km=91_000),),
    notes="keys at desk",
)


def printed(page: RenderableType, width: int = 80) -> str:
    console = Console(width=width, markup=False, emoji=False, highlight=False)
    with console.capture() as capture:
        console.print(page)
    return capture.get()


def test_a_sheet_tells_everything_under_its_cautions() -> None:
    text = printed(render_sheet(JobSheet(job=JOB, cautions=("Can fire.",))))
    assert text.startswith("CAUTION  Can fire.")
    for line in (
        "Job 12, closed 2026-03-04, opened 2026-03-02",
        " 1  Vehicle     Corvane Lido 2015, K001",
        " 2  Odometer    81,000 km",
        "airbag lamp on",
        "B1234-1B stored",
        "wiggle test: jumps, clears mat, 10 min",
        "seat connector, under seat: high resistance (left front)",
        "steady with a substitute load",
        "cleaned seat connector, cured, parts 3.50",
        "2026-05-01 held, 91,000 km",
        "keys at desk",
    ):
        assert line in text
    assert "2.3 ohm, scan tool live value, after the fix, good" in " ".join(text.split())


@pytest.mark.parametrize("field", ["proved_by", "notes"])
def test_a_sheet_withholds_a_meter_on_an_igniter(field: str) -> None:
    job = replace(JOB, **{field: "measured igniter resistance with multimeter"})  # type: ignore[arg-type]
    text = " ".join(printed(render_sheet(JobSheet(job=job, cautions=()))).split())
    assert "multimeter" not in text
    assert withheld_line(12) in text


@given(typed=strategies.words(), line=strategies.words(), wide=strategies.texts())
def test_whatever_was_typed_is_on_the_sheet(typed: str, line: str, wide: str) -> None:
    entries = (
        JobEntry(kind=EntryKind.COMPLAINT, text=typed),
        JobEntry(kind=EntryKind.LINE, text=line),
    )
    shown = [text for _, _, text in sheet_facts(replace(JOB, entries=entries, notes=wide))]
    assert typed in shown
    assert line in shown


@pytest.mark.parametrize("kind", [EntryKind.COMPLAINT, EntryKind.LINE])
def test_a_sheet_withholds_a_meter_in_what_was_typed(kind: EntryKind) -> None:
    entry = JobEntry(kind=kind, text="igniter 2.1 ohm. Put test lamp across squib")
    job = replace(JOB, entries=(entry,))
    text = " ".join(printed(render_sheet(JobSheet(job=job, cautions=(), igniter_job=True))).split())
    assert "lamp across" not in text
    assert text.count(withheld_line(12)) == 1
    assert "lamp across" in printed(render_sheet(JobSheet(job=job, cautions=()), verbatim=True))


def test_a_draft_tells_what_was_understood_in_the_order_it_was_typed() -> None:
    found = find_findings("P0171; earth 0.02 V; B1234-13; customer waits 2 wks", JOB.opened)
    codes, readings = (placed(each, found.account, 0) for each in (found.codes, found.readings))
    base = replace(JOB, codes=(), readings=())
    job = replace(base, codes=codes, readings=readings)
    text = printed(render_draft(Draft(job=job, base=base, notices=(), account=found.account)))
    assert [line.rstrip() for line in text.splitlines()[1:5]] == [
        "Codes       + P0171",
        "Readings    + earth 0.02 V",
        "Codes       + B1234-13",
        "            kept as words only: customer waits 2 wks",
    ]


def test_a_draft_of_a_new_job_tells_what_was_understood() -> None:
    draft = Draft(job=replace(JOB, number=None), base=None, notices=("Look again.",))
    text = printed(render_draft(draft))
    assert text.startswith("Understood as a new job")
    assert "airbag lamp on" in text
    assert "Note: Look again." in text


def test_a_draft_of_a_stored_job_tells_only_what_changes() -> None:
    base = replace(JOB, closed=None, cause=None, attempts=(), proved_by=None)
    text = printed(render_draft(Draft(job=replace(JOB, odometer_km=82_000), base=base, notices=())))
    for line in ("+ cleaned seat connector", "seat connector, under seat", "81000 → 82000"):
        assert line in text
    assert "Closed      2026-03-04" in text
    assert "airbag lamp" not in text


def test_a_changed_part_is_told_by_its_path() -> None:
    better = replace(JOB, attempts=(replace(JOB.attempts[0], cured=False),))
    text = printed(render_draft(Draft(job=better, base=JOB, notices=())))
    assert "attempts[0].cured: yes → no" in text


def test_a_list_tells_what_each_job_was() -> None:
    open_job = replace(JOB, number=13, closed=None, cause=None)
    text = printed(render_list(JobList(jobs=(open_job, JOB), total=1_200)))
    assert "seat connector, under seat" in text
    assert "2 jobs of 1,200" in text
    assert "No such job" in printed(render_list(JobList(jobs=(), total=3)))


def test_a_history_tells_when_who_and_what() -> None:
    at = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
    changes = (
        Change(sequence=1, job=12, at=at, who="BT", field="added", old=None, new=None),
        Change(sequence=2, job=12, at=at, who=None, field="codes", old=[], new=[{"code": "B1"}]),
    )
    text = printed(render_history(History(job=12, changes=changes)))
    assert f"{at.astimezone():%Y-%m-%d %H:%M} BT  stored" in text
    assert "Codes: – → code B1" in text


@settings(max_examples=40)
@given(strategies.jobs(), strategies.jobs())
def test_any_job_makes_a_page(job: Job, base: Job) -> None:
    for page in (
        render_sheet(JobSheet(job=job, cautions=())),
        render_draft(Draft(job=job, base=base, notices=())),
        render_list(JobList(jobs=(job,), total=1)),
    ):
        assert printed(page)


STATUS = StoreStatus(
    address="/shop/shop.sqlite", revision="0002", head="0002", pending=(), jobs=1, cases=1_000
)


def test_the_status_of_a_store_says_what_to_do() -> None:
    line, index = status_line(STATUS).splitlines()
    assert line.endswith("1 job, 1,000 closed cases; revision 0002, up to date.")
    assert "none yet" in index
    assert status_line(replace(STATUS, index="/shop/shop.index")).endswith("/shop/shop.index")
    assert "kb init" in status_line(replace(STATUS, revision=None))
    assert "kb db upgrade" in status_line(replace(STATUS, revision="0001", pending=("0002",)))
    assert "update the program" in status_line(replace(STATUS, revision="0003"))
    assert "kb job open" in created_line(STATUS)


def test_an_upgrade_tells_where_the_copy_is() -> None:
    done = Upgrade(address="/shop/shop.sqlite", before="0001", after="0002", backup=None)
    assert upgrade_line(done).endswith("upgraded from 0001 to 0002.")
    assert "nothing to do" in upgrade_line(replace(done, before="0002"))


def test_a_change_of_what_was_typed_is_told_as_on_the_page() -> None:
    told = {"kind": "line", "text": "replaced sensor, no change", "at": None, "by": "BT"}
    change = Change(
        sequence=1,
        at=datetime(2026, 3, 2, tzinfo=UTC),
        who="BT",
        job=1,
        field="entries[0]",
        old=None,
        new=told,
    )
    words = JobWords(number=1, igniter_job=False)
    assert change_line(change, words) == "Typed 1: BT: replaced sensor, no change"
