"""What a disk or another program has spoilt is named by job and field, and mended."""

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from kb.case import Action, Attempt, Job
from kb.errors import StoreUnusable
from kb.store.cell_repair import mend
from kb.store.condition import BadCell, condition_of, unreadable_rows
from kb.store.database import open_store
from kb.store.tables import METADATA
from kb.store.unit_of_work import UnitOfWork
from tests import strategies
from tests.recall.shop import CASES, pretensioner
from tests.store_copies import copied

CLEANED = Attempt(action=Action.CLEANED, component="plug", minutes=20, cured=True)


def jobs_of(address: str) -> list[Job]:
    with UnitOfWork(open_store(address), read_only=True) as work:
        return list(work.jobs.all())


def spoil(address: str, *statements: str) -> None:
    """Write what neither the program nor the database would let in, and follow no keys."""
    with closing(sqlite3.connect(address)) as connection:
        connection.execute("PRAGMA ignore_check_constraints=ON")
        for statement in statements:
            assert connection.execute(statement).rowcount, statement
        connection.commit()


def test_nothing_is_wrong_with_a_store_as_it_was_written(small_store: str) -> None:
    assert condition_of(small_store).is_sound


def test_a_store_in_a_server_is_looked_through(address: str) -> None:
    with UnitOfWork(open_store(address)) as work:
        work.jobs.add(replace(CASES[2], attempts=(CLEANED,), readings=(pretensioner(2.1),)))
        work.commit()
    assert condition_of(address).is_sound
    if address.endswith(".sqlite"):
        return
    engine = open_store(address).execution_options(kb_read_only=False)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE jobs DROP CONSTRAINT ck_jobs_system"))
        connection.execute(text("UPDATE jobs SET system = 'engime'"))
    (cell,) = condition_of(address).cells
    assert (cell.job, cell.field) == (3, "system")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(job=strategies.jobs())
def test_whatever_job_is_stored_its_store_is_sound(address: str, job: Job) -> None:
    of_no_known_car = replace(job.vehicle, ref=None, vin=None)
    with UnitOfWork(open_store(address)) as work:
        work.jobs.add(replace(job, number=None, uid=None, vehicle=of_no_known_car))
        work.commit()
    assert condition_of(address).cells == ()


@pytest.mark.parametrize(
    ("statement", "field", "how"),
    [
        ("UPDATE jobs SET opened = '0000-00-00' WHERE number = 2", "opened", "guessed"),
        ("UPDATE jobs SET technician = CAST(x'fffe41' AS TEXT) WHERE number = 2", "technician", ""),
        ("UPDATE jobs SET closed = 'junk' WHERE number = 2", "closed", "emptied"),
        ("UPDATE jobs SET odometer_km = 'far' WHERE number = 2", "odometer_km", "emptied"),
        ("UPDATE jobs SET complaint = '' WHERE number = 2", "complaint", "guessed"),
        ("UPDATE jobs SET system = 'engime' WHERE number = 2", "system", "emptied"),
        (
            "UPDATE attempts SET action = 'exploded' WHERE job_number = 7 AND place = 0",
            "attempts[0].action",
            "taken_out",
        ),
        (
            "UPDATE attempts SET minutes = 'long' WHERE job_number = 7 AND place = 0",
            "attempts[0].minutes",
            "emptied",
        ),
        (
            "UPDATE attempts SET proofs = '[no json' WHERE job_number = 7 AND place = 0",
            "attempts[0].proofs",
            "taken_out",
        ),
    ],
)
def test_one_bad_cell_is_named_and_mended_and_nothing_else_is_touched(
    small_store: str, statement: str, field: str, how: str
) -> None:
    with UnitOfWork(open_store(small_store)) as work:
        added = replace(CASES[2], number=7, attempts=(CLEANED,))  # history tells nothing of it
        work.jobs.add(added)
        work.commit()
    before = {job.number: job for job in jobs_of(small_store)}
    spoil(small_store, statement)
    (cell,) = condition_of(small_store).cells
    job = 7 if "attempts" in field else 2
    assert (cell.job, cell.field) == (job, field)
    done = mend(small_store, "AB")
    assert getattr(done, how or "emptied") == (cell,)
    raw = [json.loads(line) for line in done.kept.read_text().splitlines()]
    assert [each["table"] for each in raw] == [cell.table]
    assert done.backup.is_file()
    assert condition_of(small_store).is_sound
    after = {job.number: job for job in jobs_of(small_store)}
    assert {n for n in before if before[n] != after[n]} <= {job}
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        noted = work.changes.of(job)[-1]
    assert (noted.field, noted.old, noted.who) == (field, cell.raw, "AB")


def test_an_opening_day_comes_from_the_other_days_of_the_job(small_store: str) -> None:
    closed = next(job for job in jobs_of(small_store) if job.number == 2).closed
    spoil(small_store, "UPDATE jobs SET opened = 'x' WHERE number = 2")
    mend(small_store)
    assert next(job for job in jobs_of(small_store) if job.number == 2).opened == closed
    spoil(small_store, "UPDATE jobs SET opened = 'x', closed = NULL WHERE number = 2")
    mend(small_store)
    opened = next(job for job in jobs_of(small_store) if job.number == 2).opened
    assert opened <= date.today()


def test_two_bad_cells_of_one_row_are_mended_together(small_store: str) -> None:
    spoil(small_store, "UPDATE jobs SET opened = 'x', system = 'y', closed = 'z' WHERE number = 2")
    assert len(condition_of(small_store).cells) == 3
    mend(small_store)
    assert condition_of(small_store).is_sound


def test_a_missing_table_is_told(small_store: str) -> None:
    with closing(sqlite3.connect(small_store)) as connection:
        connection.execute("DROP TABLE contacts")
        connection.execute("ALTER TABLE jobs DROP COLUMN notes")
    assert condition_of(small_store).missing == ("jobs.notes", "contacts")


COLUMNS = [
    (table.name, column.name) for table in METADATA.sorted_tables for column in table.columns
]
RAW: st.SearchStrategy[Any] = st.one_of(
    st.none(), st.integers(-(2**63), 2**63 - 1), st.floats(), st.text(max_size=20), st.binary()
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.sampled_from(COLUMNS), RAW)
def test_whatever_stands_in_a_cell_all_jobs_can_be_read_or_it_is_named(
    small_store: str, tmp_path_factory: pytest.TempPathFactory, where: tuple[str, str], raw: Any
) -> None:
    table, column = where
    address = copied(small_store, tmp_path_factory.mktemp("spoilt"))
    with closing(sqlite3.connect(address)) as connection:
        connection.execute("PRAGMA ignore_check_constraints=ON")
        try:
            last = f"rowid = (SELECT max(rowid) FROM {table})"
            connection.execute(f'UPDATE {table} SET "{column}" = ? WHERE {last}', (raw,))
        except sqlite3.IntegrityError:
            return
        connection.commit()
    if condition_of(address).is_sound:
        assert jobs_of(address)
    elif not mend(address).left:
        assert condition_of(address).is_sound
        jobs_of(address)


def test_what_is_no_store_is_refused(tmp_path: Path) -> None:
    (tmp_path / "words.sqlite").write_text("no store" * 100)
    with pytest.raises(StoreUnusable):
        condition_of(str(tmp_path / "words.sqlite"))


def test_a_trigger_of_another_program_is_named_and_what_it_refuses_is_told(
    empty_store: str,
) -> None:
    with closing(sqlite3.connect(empty_store)) as store:
        store.execute(
            "CREATE TRIGGER meddler BEFORE INSERT ON jobs BEGIN SELECT RAISE(ABORT, 'no'); END"
        )
        store.commit()
    (said,) = condition_of(empty_store).database
    assert "trigger meddler" in said
    with UnitOfWork(open_store(empty_store)) as work:
        work.jobs.add(CASES[0])
        with pytest.raises(StoreUnusable, match=r"trigger .* refuses the change \(no\)"):
            work.commit()


def test_a_file_too_spoilt_to_be_looked_through_is_told_in_words(empty_store: str) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        for case in CASES:
            work.jobs.add(case)
        work.commit()
    with closing(sqlite3.connect(empty_store)) as store:
        (page,) = store.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'jobs'").fetchone()
        (size,) = store.execute("PRAGMA page_size").fetchone()
        store.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = bytearray(Path(empty_store).read_bytes())
    content[(page - 1) * size] ^= 0xFF
    Path(empty_store).write_bytes(content)
    assert not condition_of(empty_store).is_sound
    with pytest.raises(StoreUnusable):
        unreadable_rows(empty_store)


def test_a_cell_of_no_job_is_told_with_its_row() -> None:
    """Of two cars the same field is two places."""
    cells = [
        BadCell(table="vehicles", key=(car,), column="year", raw="'MMXII'", reason="no number")
        for car in (5, 6)
    ]
    assert [each.place for each in cells] == ["row 5, vehicles.year", "row 6, vehicles.year"]
