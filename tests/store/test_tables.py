"""The database refuses by itself what a case may not hold."""

from dataclasses import replace
from datetime import UTC, date, datetime

from sqlalchemy import Engine, text
from sqlalchemy.exc import IntegrityError

from kb.case import (
    Action,
    Attempt,
    Cause,
    Confirmation,
    Contact,
    DiagnosticTest,
    FailureMode,
    Job,
    Link,
    LinkKind,
    Outcome,
    Precondition,
    Quantity,
    Reading,
    TroubleCode,
    Vehicle,
)
from kb.store.unit_of_work import UnitOfWork

FULL = Job(
    vehicle=Vehicle(ref="K001", vin="AAAAAAAAAAAAAAAA1", year=2015),
    opened=date(2026, 3, 2),
    closed=date(2026, 3, 3),
    complaint="airbag lamp on",
    codes=(TroubleCode(code="B1234", failure_type="1B"),),
    readings=(Reading(item="squib", quantity=Quantity.RESISTANCE, typed="2.7", value=2.7),),
    tests=(DiagnosticTest(name="wiggle", seen="reading moves"),),
    cause=Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE),
    attempts=(Attempt(action=Action.CLEANED, component="seat connector"),),
    contacts=(Contact(on=date(2026, 5, 1), outcome=Outcome.HELD),),
    circuit=(Link(name="seat connector", kind=LinkKind.CONNECTOR),),
    confirmations=(
        Confirmation(
            what=Precondition.SUPPLY_OFF,
            step="terminal drag test",
            by="BT",
            at=datetime(2026, 3, 2, 9, 30, tzinfo=UTC),
        ),
    ),
)
WRONG = (
    "UPDATE vehicles SET year = 1899",
    "UPDATE vehicles SET vin = 'short'",
    "UPDATE vehicles SET ref = ''",
    "UPDATE vehicles SET search = NULL",
    "UPDATE jobs SET number = 0 WHERE number = 2",
    "UPDATE jobs SET number = 1 WHERE number = 2",
    "UPDATE jobs SET uid = 'same'",
    "UPDATE jobs SET uid = ''",
    "UPDATE jobs SET vehicle_id = 99",
    "UPDATE jobs SET complaint = ''",
    "UPDATE jobs SET complaint = NULL",
    "UPDATE jobs SET opened = '1899-12-31'",
    "UPDATE jobs SET closed = '2101-01-01'",
    "UPDATE jobs SET closed = '2026-03-01'",
    "UPDATE jobs SET system = 'plumbing'",
    "UPDATE jobs SET odometer_km = -1",
    "UPDATE jobs SET cause_component = NULL WHERE number = 1",
    "UPDATE jobs SET cause_component = '' WHERE number = 1",
    "UPDATE jobs SET cause_failure_mode = NULL WHERE number = 1",
    "UPDATE jobs SET cause_failure_mode = 'tired' WHERE number = 1",
    "UPDATE jobs SET cause_digest = NULL WHERE number = 1",
    "UPDATE jobs SET cause_words = 'no cause' WHERE number = 2",
    "UPDATE codes SET code = 'X1234'",
    "UPDATE codes SET code = 'B4234'",
    "UPDATE codes SET code = 'B12'",
    "UPDATE codes SET failure_type = '1'",
    "UPDATE codes SET status = 'gone'",
    "UPDATE codes SET job_number = 99",
    "UPDATE readings SET item = ''",
    "UPDATE readings SET typed = ''",
    "UPDATE readings SET quantity = 'charm'",
    "UPDATE readings SET stage = 'never'",
    "UPDATE readings SET relation = 'near'",
    "UPDATE readings SET value = NULL",
    "UPDATE readings SET relation = 'over range'",
    "UPDATE readings SET relation = 'range'",
    "UPDATE readings SET upper = 3",
    "UPDATE readings SET relation = 'range', upper = 2",
    "UPDATE tests SET name = ''",
    "UPDATE tests SET seen = ''",
    "UPDATE tests SET minutes = -1",
    "UPDATE tests SET clears = NULL",
    "UPDATE attempts SET action = 'prayed'",
    "UPDATE attempts SET component = ''",
    "UPDATE attempts SET minutes = -1",
    "UPDATE attempts SET parts_cost = -0.01",
    "UPDATE attempts SET supposed_component = 'mat'",
    "UPDATE attempts SET supposed_words = 'mat'",
    "UPDATE contacts SET outcome = 'unknown'",
    "UPDATE contacts SET odometer_km = -1",
    "UPDATE contacts SET job = 0",
    'UPDATE contacts SET "on" = NULL',
    "UPDATE attempts SET proofs = NULL",
    "UPDATE links SET name = ''",
    "UPDATE links SET kind = 'pipe'",
    "UPDATE links SET shorting_bars = NULL",
    "UPDATE confirmations SET what = 'hoped for'",
    "UPDATE confirmations SET step = ''",
    'UPDATE confirmations SET "by" = NULL',
    "UPDATE confirmations SET \"by\" = ''",
    'UPDATE confirmations SET "at" = NULL',
    "UPDATE changes SET field = ''",
    "UPDATE changes SET job = 99",
    "DELETE FROM jobs WHERE number = 1",
    "DELETE FROM vehicles",
    "INSERT INTO words VALUES ('', '[]')",
)


def accepted(engine: Engine, statement: str) -> bool:
    try:
        with engine.execution_options(kb_read_only=False).begin() as connection:
            connection.execute(text(statement))
    except IntegrityError:
        return False
    return True


def test_the_database_refuses_what_a_case_may_not_hold(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        first = work.jobs.add(FULL)
        work.jobs.add(replace(FULL, vehicle=Vehicle(), cause=None))
        work.commit()
    assert [statement for statement in WRONG if accepted(engine, statement)] == []
    with UnitOfWork(engine, read_only=True) as work:
        assert work.jobs.get(1) == first


def test_a_ref_and_a_vin_belong_to_one_car(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        work.jobs.add(FULL)
        work.jobs.add(replace(FULL, vehicle=Vehicle(ref="K002", vin="AAAAAAAAAAAAAAAA2")))
        work.commit()
    assert not accepted(engine, "UPDATE vehicles SET ref = 'K003'")
    assert not accepted(engine, "UPDATE vehicles SET vin = 'AAAAAAAAAAAAAAAA3'")


def test_what_the_database_would_accept_is_told_apart(engine: Engine) -> None:
    assert accepted(engine, "UPDATE jobs SET odometer_km = 1")


def test_lookups_use_their_index(engine: Engine) -> None:
    plan = "EXPLAIN QUERY PLAN " if engine.dialect.name == "sqlite" else "EXPLAIN "
    lookups = {
        "ix_jobs_cause_digest": "SELECT number FROM jobs WHERE cause_digest = 'x'",
        "ix_jobs_vehicle_id": "SELECT number FROM jobs WHERE vehicle_id = 1",
        "ix_jobs_opened": "SELECT number FROM jobs WHERE opened = '2026-03-02'",
        "ix_codes_code": "SELECT job_number FROM codes WHERE code = 'B1234'",
        "ix_changes_job_sequence": "SELECT field FROM changes WHERE job = 1",
    }
    with engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SET LOCAL enable_seqscan = off"))
        for index, lookup in lookups.items():
            assert index in str(connection.execute(text(plan + lookup)).all())
