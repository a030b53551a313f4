"""A store with values that cannot be read back is mended, keys and all, in a file and in a server.

What SQLite keeps and refuses: https://www.sqlite.org/flextypegood.html,
https://www.sqlite.org/foreignkeys.html.
"""

import json
import os
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from sqlalchemy import Boolean, text

from kb.case import (
    UNREADABLE,
    Action,
    Attempt,
    Cause,
    Complaint,
    DiagnosticTest,
    EntryKind,
    FailureMode,
    JobEntry,
    Proof,
    System,
    Vehicle,
)
from kb.cli.main import kb
from kb.recall.cards import written_on
from kb.store.address import index_folder
from kb.store.cell_repair import mend, readable_part
from kb.store.condition import condition_of, unreadable_rows
from kb.store.database import open_store
from kb.store.mapping import vehicle_row
from kb.store.tables import METADATA, YesNo
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES
from tests.store.conftest import Server
from tests.store.test_condition import jobs_of, spoil

CLEANED = Attempt(action=Action.CLEANED, component="plug", minutes=20, cured=True)
SPLICE = Cause(
    component="splice", failure_mode=FailureMode.SHORT_TO_GROUND, location="sill", words="green"
)
TOLD = JobEntry(kind=EntryKind.NOTE, text="told by phone", at=datetime(2026, 3, 2, 8, tzinfo=UTC))


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, *words])


def test_a_job_whose_car_is_not_there_is_named_left_out_and_given_an_unknown_one(
    small_store: str,
) -> None:
    before = {job.number: job for job in jobs_of(small_store)}
    spoil(small_store, "UPDATE jobs SET vehicle_id = 777 WHERE number IN (2, 3)")
    cells = condition_of(small_store).cells
    assert [(each.job, each.field) for each in cells] == [(2, "vehicle_id"), (3, "vehicle_id")]
    shown = run(small_store, "job", "show", "2")
    assert shown.exit_code == 0
    assert "job 2, vehicle_id" in shown.stderr
    assert run(small_store, "job", "edit", "2", "--set", "odometer_km=7", "--yes").exit_code == 1
    assert mend(small_store, "AB").guessed == cells
    after = {job.number: job for job in jobs_of(small_store)}
    expected = {
        n: replace(before[n], vehicle=Vehicle()) if n in {2, 3} else before[n] for n in before
    }
    assert after == expected
    with closing(sqlite3.connect(small_store)) as connection:
        cars = {car for (car,) in connection.execute("SELECT vehicle_id FROM jobs")}
    assert 777 in cars  # both jobs stay of one car


def test_what_has_no_end_beside_a_spoilt_store_is_not_copied(small_store: str) -> None:
    folder = index_folder(small_store)
    assert run(small_store, "similar", "no crank").exit_code == 0
    for name, leads in (("fixes.json", "/dev/zero"), ("all", "/")):
        (folder / name).unlink(missing_ok=True)
        (folder / name).symlink_to(leads)
    os.mkfifo(folder / "pipe")
    spoil(small_store, "UPDATE jobs SET vehicle_id = 777 WHERE number = 2")
    with readable_part(small_store) as part:
        copied = {each.name for each in index_folder(part).iterdir()}
    assert copied == {"cards.index"}


def test_an_item_that_belongs_to_no_job_is_named_kept_and_taken_out(small_store: str) -> None:
    before = jobs_of(small_store)
    with UnitOfWork(open_store(small_store)) as work:
        work.jobs.replace(replace(work.jobs.get(3), attempts=(CLEANED,)))
        work.commit()
    spoil(small_store, "UPDATE attempts SET job_number = 777 WHERE job_number = 3")
    (cell,) = condition_of(small_store).cells
    assert (cell.field, cell.raw) == ("attempts[0].job_number", "777")
    done = mend(small_store)
    assert done.taken_out == (cell,)
    (kept,) = map(json.loads, done.kept.read_text().splitlines())
    assert (kept["row"]["component"], kept["row"]["job_number"]) == ("plug", 777)
    assert jobs_of(small_store) == [
        replace(job, attempts=()) if job.number == 3 else job for job in before
    ]


def test_a_job_whose_number_cannot_be_one_gets_the_next_with_all_that_is_its_own(
    small_store: str,
) -> None:
    before = {job.number or 0: job for job in jobs_of(small_store)}
    tables = ("codes", "readings", "tests", "attempts", "contacts", "links", "entries")
    spoil(
        small_store,
        "UPDATE jobs SET number = -5 WHERE number = 2",
        "UPDATE changes SET job = -5 WHERE job = 2",
    )
    with closing(sqlite3.connect(small_store)) as connection:
        for table in tables:
            connection.execute(f"UPDATE {table} SET job_number = -5 WHERE job_number = 2")
        connection.commit()
    (cell,) = condition_of(small_store).cells
    assert (cell.table, cell.column) == ("jobs", "number")
    listed = run(small_store, "export")
    assert "number" in listed.stderr
    assert len(listed.stdout.splitlines()) == len(before)
    assert mend(small_store).guessed == (cell,)
    new = max(before) + 1
    assert {job.number: job for job in jobs_of(small_store)} == {
        **{number: job for number, job in before.items() if number != 2},
        new: replace(before[2], number=new),
    }
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        assert [each.field for each in work.changes.of(new)][-1] == "number"
    assert condition_of(small_store).is_sound


def typed(address: str, *numbers: int) -> None:
    """Give jobs their complaint as it was typed, and a fix."""
    with UnitOfWork(open_store(address)) as work:
        for number in numbers:
            job = work.jobs.get(number)
            entry = replace(TOLD, kind=EntryKind.COMPLAINT, text=job.complaint)
            work.jobs.replace(replace(job, entries=(entry,), attempts=(CLEANED,)))
        work.commit()


@pytest.mark.parametrize("numbers", [{2: -3}, {2: -3, 4: 2**63 - 1}])
def test_a_lost_number_is_given_back_where_what_hung_on_it_tells_it(
    small_store: str, numbers: dict[int, int]
) -> None:
    typed(small_store, *numbers)
    before = jobs_of(small_store)
    for number, lost in numbers.items():
        spoil(small_store, f"UPDATE jobs SET number = {lost} WHERE number = {number}")
    done = mend(small_store, "AB")
    assert {each.key[0] for each in done.restored} == {*numbers.values()}
    assert (done.taken_out, done.guessed, done.left) == ((), (), ())
    assert jobs_of(small_store) == before
    assert condition_of(small_store).is_sound
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        assert work.changes.of(2)[-1].new == 2


def test_rows_of_another_job_that_is_gone_give_no_number_back(small_store: str) -> None:
    typed(small_store, 2)
    before = {job.number or 0: job for job in jobs_of(small_store)}
    spoil(small_store, "UPDATE jobs SET number = -3 WHERE number = 2")
    spoil(small_store, "UPDATE entries SET text = 'another complaint' WHERE job_number = 2")
    mend(small_store)
    assert {job.number for job in jobs_of(small_store)} == {*before} - {2} | {max(before) + 1}
    assert condition_of(small_store).is_sound


def test_what_cannot_be_read_is_exported_as_it_lies_there(small_store: str, tmp_path: Path) -> None:
    said = run(small_store, "export", "--raw")
    assert (said.exit_code, said.stdout) == (0, "")
    assert "nothing to export raw" in said.stderr
    spoil(
        small_store,
        "UPDATE jobs SET opened = '0000-00-00', notes = CAST(x'fffe41' AS TEXT) WHERE number = 2",
        "UPDATE jobs SET odometer_km = 'far' WHERE number = 3",
    )
    raw = tmp_path / "raw.jsonl"
    said = run(small_store, "export", "--raw", str(raw))
    assert (said.exit_code, "2 rows" in said.stderr) == (0, True)
    first, second = map(json.loads, raw.read_text().splitlines())
    assert {*first["unreadable"]} == {"opened", "notes"}
    assert (first["row"]["opened"], first["row"]["notes"]) == ("0000-00-00", repr(b"\xff\xfeA"))
    assert (second["table"], second["row"]["odometer_km"]) == ("jobs", "far")
    with closing(sqlite3.connect(small_store)) as connection:
        connection.text_factory = bytes
        query = "SELECT complaint FROM jobs WHERE number = 3"
        assert second["row"]["complaint"].encode() == connection.execute(query).fetchone()[0]
    assert run(small_store, "export", "--raw", str(raw)).exit_code == 1  # it is there already
    assert run(small_store, "export", "--raw", "--format", "csv").exit_code == 2


@pytest.mark.parametrize("brackets", ["[" * 100_000, "[" * 900 + "]" * 900, '{"a":' * 50_000])
def test_json_in_one_another_without_end_is_one_bad_cell(
    small_store: str, tmp_path: Path, brackets: str
) -> None:
    with UnitOfWork(open_store(small_store)) as work:
        attempt = replace(CLEANED, proofs=(Proof.DRIVEN,))
        work.jobs.replace(replace(work.jobs.get(3), attempts=(attempt,)))
        work.commit()
    before = jobs_of(small_store)
    with closing(sqlite3.connect(small_store)) as connection:
        connection.execute("UPDATE attempts SET proofs = ? WHERE job_number = 3", (brackets,))
        connection.execute(
            "INSERT INTO changes (at, field, new) VALUES ('2024-01-01', 'x', ?)", (brackets,)
        )
        connection.commit()
    told = {(each.table, each.column) for each in condition_of(small_store).cells}
    assert told == {("attempts", "proofs"), ("changes", "new")}
    listed = run(small_store, "job", "list")
    assert listed.exit_code == 0
    assert "left out: job 3, attempts[0].proofs" in listed.stderr
    raw = tmp_path / "raw.jsonl"
    assert run(small_store, "export", "--raw", str(raw)).exit_code == 0
    assert json.loads(raw.read_text().splitlines()[0])["row"]["proofs"] == brackets
    mended = run(small_store, "db", "check", "--repair")
    assert mended.exit_code == 0
    assert jobs_of(small_store) == before
    assert condition_of(small_store).is_sound


YES_NO = [
    (table.name, column.name)
    for table in METADATA.sorted_tables
    for column in table.columns
    if isinstance(column.type, Boolean)
]


def test_every_yes_or_no_is_read_strictly() -> None:
    assert YES_NO
    for table, column in YES_NO:
        assert isinstance(METADATA.tables[table].c[column].type, YesNo), (table, column)


@pytest.mark.parametrize("held", ["'perhaps'", "7", "-1", "0.5", "x'01'", "'yes'", "''"])
def test_what_is_neither_yes_nor_no_is_told_of_no_fix(small_store: str, held: str) -> None:
    with UnitOfWork(open_store(small_store)) as work:
        tried = replace(CLEANED, cured=False)
        work.jobs.replace(replace(work.jobs.get(3), attempts=(tried,), reproduced=False))
        work.commit()
    before = jobs_of(small_store)
    spoil(
        small_store,
        f"UPDATE attempts SET cured = {held} WHERE job_number = 3",
        f"UPDATE jobs SET reproduced = {held} WHERE number = 3",
    )
    told = {(each.field, each.reason) for each in condition_of(small_store).cells}
    assert told == {
        ("attempts[0].cured", "is neither yes nor no"),
        ("reproduced", "is neither yes nor no"),
    }
    shown = run(small_store, "job", "show", "3")
    assert "left out: job 3" in shown.stderr
    done = mend(small_store)
    assert {each.field for each in done.restored} == {"attempts[0].cured", "reproduced"}
    assert jobs_of(small_store) == before
    assert condition_of(small_store).is_sound


@pytest.mark.parametrize("held", ['[1,{"a":2}]', '"driven"', "{}", '["driven",[]]', "7"])
def test_a_list_of_anything_but_texts_is_named_and_mended(small_store: str, held: str) -> None:
    item = DiagnosticTest(
        name="wiggle test", seen="lamp on", points_to=("plug",), clears=("splice",)
    )
    with UnitOfWork(open_store(small_store)) as work:
        work.jobs.replace(replace(work.jobs.get(3), tests=(item,)))
        work.commit()
    before = jobs_of(small_store)
    spoil(small_store, f"UPDATE tests SET clears = '{held}' WHERE job_number = 3")
    (cell,) = condition_of(small_store).cells
    assert (cell.field, cell.reason) == ("tests[0].clears", "is no list of texts")
    assert mend(small_store).restored == (cell,)
    assert jobs_of(small_store) == before


@pytest.mark.parametrize("also", ["", ", make = x'ff'"])
def test_the_words_that_a_car_is_found_by_are_made_again(small_store: str, also: str) -> None:
    spoil(small_store, f"UPDATE vehicles SET search = '' {also} WHERE id = 1")
    assert not condition_of(small_store).is_sound
    mend(small_store)
    assert condition_of(small_store).is_sound
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        car = work.jobs.get(1).vehicle
    with closing(sqlite3.connect(small_store)) as connection:
        (held,) = connection.execute("SELECT search FROM vehicles WHERE id = 1").fetchone()
    assert held == vehicle_row(car)["search"]


def test_a_text_that_is_none_is_taken_out_where_it_is_the_key(small_store: str) -> None:
    with UnitOfWork(open_store(small_store)) as work:
        work.words.add("zzz", ["seat plug"])
        work.words.add("yyy", ["seat"])
        work.commit()
    spoil(small_store, "UPDATE words SET short = CAST(x'ff' AS TEXT) WHERE short = 'zzz'")
    assert len(unreadable_rows(small_store)) == 1
    assert len(mend(small_store).taken_out) == 1
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        assert [*work.words.all()] == ["yyy"]


def test_a_digest_of_a_cause_is_made_again(small_store: str) -> None:
    def digests() -> list[Any]:
        with closing(sqlite3.connect(small_store)) as connection:
            return connection.execute("SELECT number, cause_digest FROM jobs").fetchall()

    before = digests()
    spoil(small_store, "UPDATE jobs SET cause_digest = NULL WHERE number = 2")
    (cell,) = mend(small_store).guessed
    assert (cell.job, cell.field) == (2, "cause_digest")
    assert digests() == before


def test_a_complaint_is_mended_from_what_was_typed_or_changed_last(small_store: str) -> None:
    typed = JobEntry(kind=EntryKind.COMPLAINT, text="lamp on, seat moved")
    with UnitOfWork(open_store(small_store)) as work:
        for number in (1, 2):
            work.jobs.replace(replace(work.jobs.get(number), entries=(typed,)))
        work.jobs.replace(replace(work.jobs.get(2), complaint="lamp on after a bump"))
        work.commit()
    before = {job.number: job for job in jobs_of(small_store)}
    spoil(small_store, "UPDATE jobs SET complaint = x'ff00fe41' WHERE number IN (1, 2, 3)")
    done = mend(small_store)
    assert [each.job for each in done.restored] == [1, 2]
    assert [each.job for each in done.guessed] == [3]
    assert done.now == {
        "job 1, complaint": typed.text,
        "job 2, complaint": "lamp on after a bump",
        "job 3, complaint": UNREADABLE,
    }
    assert {job.number: job for job in jobs_of(small_store)} == before | {
        1: replace(before[1], complaint=typed.text),
        3: replace(before[3], complaint=UNREADABLE),
    }


@pytest.mark.parametrize(
    ("edit", "statement", "field"),
    [
        ({"notes": "aux lead in the tunnel"}, "UPDATE jobs SET notes = x'ff'", "notes"),
        ({"odometer_km": 91_235}, "UPDATE jobs SET odometer_km = 'far'", "odometer_km"),
        ({"opened": date(2024, 1, 3)}, "UPDATE jobs SET opened = 'x'", "opened"),
        ({"system": System.BRAKES_WHEEL_SPEED}, "UPDATE jobs SET system = 'x'", "system"),
        ({"cause": SPLICE}, "UPDATE jobs SET cause_component = x'ff'", "cause_component"),
        ({"cause": SPLICE}, "UPDATE jobs SET cause_failure_mode = 'x'", "cause_failure_mode"),
        (
            {"attempts": (CLEANED,)},
            "UPDATE attempts SET action = 'exploded'",
            "attempts[0].action",
        ),
        (
            {"attempts": (replace(CLEANED, supposed=SPLICE),)},
            "UPDATE attempts SET supposed_component = x'ff'",
            "attempts[0].supposed_component",
        ),
        ({"entries": (TOLD,)}, "UPDATE entries SET text = x'ff'", "entries[0].text"),
        ({"entries": (TOLD,)}, "UPDATE entries SET at = 'x'", "entries[0].at"),
        (
            {"attempts": (replace(CLEANED, proofs=(Proof.DRIVEN,)),)},
            "UPDATE attempts SET proofs = '[no json'",
            "attempts[0].proofs",
        ),
    ],
)
def test_what_history_tells_is_made_what_it_was(
    small_store: str, edit: dict[str, Any], statement: str, field: str
) -> None:
    with UnitOfWork(open_store(small_store)) as work:
        work.jobs.replace(replace(work.jobs.get(3), **edit))
        work.commit()
    before = jobs_of(small_store)
    of_job = "number" if "UPDATE jobs" in statement else "job_number"
    spoil(small_store, f"{statement} WHERE {of_job} = 3")
    done = mend(small_store)
    assert [each.field for each in done.restored] == [field]
    assert (done.emptied, done.taken_out, done.guessed) == ((), (), ())
    assert jobs_of(small_store) == before
    assert condition_of(small_store).is_sound


def test_history_that_tells_what_cannot_stand_there_is_not_believed(small_store: str) -> None:
    with UnitOfWork(open_store(small_store)) as work:
        work.jobs.replace(replace(work.jobs.get(3), odometer_km=91_234))
        work.commit()
    for told in ("-5", '"far"', "{}", "[no json", None):
        spoil(
            small_store,
            "UPDATE changes SET new = " + ("NULL" if told is None else f"'{told}'") + " WHERE field"
            " = 'odometer_km'",
            "UPDATE jobs SET odometer_km = 'far' WHERE number = 3",
        )
        done = mend(small_store)
        assert done.restored == ()
        assert "odometer_km" in {each.field for each in done.emptied}
        assert condition_of(small_store).is_sound


def test_what_else_is_wrong_with_a_job_is_noted_under_its_new_number(small_store: str) -> None:
    spoil(
        small_store,
        "UPDATE jobs SET number = -5, notes = x'ff' WHERE number = 2",
        "UPDATE changes SET job = -5 WHERE job = 2",
    )
    with closing(sqlite3.connect(small_store)) as connection:
        for table in ("codes", "readings", "tests", "attempts", "contacts", "links", "entries"):
            connection.execute(f"UPDATE {table} SET job_number = -5 WHERE job_number = 2")
        connection.commit()
    assert mend(small_store).left == ()
    assert condition_of(small_store).is_sound
    new = max(job.number or 0 for job in jobs_of(small_store))
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        assert {"notes", "number"} <= {each.field for each in work.changes.of(new)}


def test_the_repair_and_the_page_say_what_a_job_counts_with_now(small_store: str) -> None:
    spoil(
        small_store,
        "UPDATE jobs SET complaint = x'ff' WHERE number = 2",
        "UPDATE jobs SET opened = 'x' WHERE number = 3",
    )
    told = run(small_store, "db", "check", "--repair").stdout
    closed = next(job.closed for job in jobs_of(small_store) if job.number == 3)
    assert "counts without words, as (unreadable)" in told
    assert f"counts with {closed}" in told
    page = " ".join(run(small_store, "job", "show", "2").stdout.split())
    assert "the job counts without those words" in page
    assert "kb job edit 2 --set complaint=" in page
    found = run(small_store, "similar", "label unreadable").stdout
    assert "unreadable" not in found.replace("label unreadable", "").replace("(unreadable)", "")
    (lost,) = (job for job in jobs_of(small_store) if job.number == 2)
    assert Complaint.of(lost).text == ""
    assert "unreadable" not in written_on(lost)


def test_a_store_in_a_server_is_mended(
    server: Server, postgresql_template: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    address = server.address(server.create(postgresql_template))
    with UnitOfWork(open_store(address)) as work:
        for number in (1, 2, 3):
            work.jobs.add(replace(CASES[number - 1], number=number, attempts=(CLEANED,)))
        work.commit()
    before = {job.number: job for job in jobs_of(address)}
    engine = open_store(address).execution_options(kb_read_only=False)
    with engine.begin() as connection:
        for statement in (
            "ALTER TABLE jobs DROP CONSTRAINT ck_jobs_system, DROP CONSTRAINT ck_jobs_opened,"
            " DROP CONSTRAINT ck_jobs_closed, DROP CONSTRAINT ck_jobs_closed_after_opened,"
            " DROP CONSTRAINT fk_jobs_vehicle_id_vehicles",
            "ALTER TABLE attempts DROP CONSTRAINT fk_attempts_job_number_jobs",
            "UPDATE jobs SET system = 'engime' WHERE number = 1",
            "UPDATE jobs SET opened = '20000-01-01' WHERE number = 2",
            "UPDATE jobs SET vehicle_id = 777 WHERE number = 3",
            "UPDATE attempts SET job_number = 888 WHERE job_number = 3",
        ):
            connection.execute(text(statement))
    named = {(each.job, each.field) for each in condition_of(address).cells}
    assert named == {
        *((1, "system"), (2, "opened"), (3, "vehicle_id")),
        (888, "attempts[0].job_number"),
    }
    refused = run(address, "job", "show", "3")
    assert (refused.exit_code, "job 1, system" in refused.stderr) == (1, True)
    raw = [json.loads(line) for line in run(address, "export", "--raw").stdout.splitlines()]
    assert "20000-01-01" in {each["row"].get("opened") for each in raw}
    said = run(address, "db", "check", "--repair")
    assert said.exit_code == 0, said.output
    assert condition_of(address).is_sound
    assert [*tmp_path.rglob("*.backup.dump")] != []
    (kept,) = tmp_path.rglob("*.unreadable.jsonl")
    assert len(kept.read_text().splitlines()) == 4
    after = {job.number: job for job in jobs_of(address)}
    assert after == {
        1: replace(before[1], system=None),
        2: replace(before[2], opened=before[2].closed or before[2].opened),
        3: replace(before[3], vehicle=Vehicle(), attempts=()),
    }
