"""What a reader, a technician and a foreman may do in a real server, and what it refuses them."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from itertools import count
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import text
from sqlalchemy.exc import ProgrammingError

from kb.case import Contact, Job, Outcome, TroubleCode, Vehicle, VehicleModel
from kb.cli.main import kb
from kb.errors import StoreUnusable
from kb.store.address import url_of
from kb.store.backup import back_up
from kb.store.database import create_store, let_in, open_store, store_status, upgrade_store
from kb.store.erasing import Eraser, erase, scrub
from kb.store.names import Thing
from kb.store.roles import MAINTAIN_SINCE, StoreRole
from kb.store.tables import METADATA
from kb.store.unit_of_work import UnitOfWork
from kb.store.watched import FACT, WatchAct
from tests.store.conftest import Server
from tests.store.test_migrations import add_revision, at_revision

JOB = Job(
    vehicle=Vehicle(ref="K001"),
    opened=date(2026, 3, 2),
    complaint="call Berit Talle, door lock dead after rain",
    codes=(TroubleCode(code="B1234"),),
)
TABLES = sorted(METADATA.tables)
PEOPLE = count(1)
As = Callable[[StoreRole], str]


@pytest.fixture
def owned(server: Server, postgresql_template: str) -> str:
    """Address of a store with a job, as its owner asks it."""
    address = server.address(server.create(postgresql_template))
    with UnitOfWork(open_store(address), who="BT") as work:
        work.jobs.add(JOB)
        work.commit()
    return address


@contextmanager
def connected(address: str) -> Iterator[Callable[[str], object]]:
    """Give what runs a statement on a connection that may write, as far as the role may."""
    engine = open_store(address).execution_options(kb_read_only=False)
    with engine.begin() as connection:
        yield lambda statement: connection.execute(text(statement))


def person(owned: str, *groups: str) -> str:
    """Make somebody who may sign in, a member of a role as `kb db roles` says."""
    name = f"person{next(PEOPLE)}"
    with connected(owned) as run:
        run(f"CREATE ROLE {name} LOGIN" + "".join(f' IN ROLE "{group}"' for group in groups))
    return url_of(owned).set(username=name).render_as_string(hide_password=False)


@pytest.fixture
def signed_in(owned: str) -> As:
    """Give the address of the store as a person of a role asks it."""
    made = let_in(owned)
    return lambda role: person(owned, getattr(made, role))


def refused(address: str, *statements: str) -> None:
    for statement in statements:
        with (
            pytest.raises(ProgrammingError, match=r"permission denied|must be owner"),
            connected(address) as run,
        ):
            run(statement)


def every_table(statement: str) -> list[str]:
    return [statement.format(name) for name in (*TABLES, "alembic_version")]


def record(address: str) -> Job:
    """Record a job, edit it, and hear of it later."""
    contact = Contact(on=date(2026, 6, 1), outcome=Outcome.HELD)
    with UnitOfWork(open_store(address), who="BT") as work:
        added = work.jobs.add(replace(JOB, vehicle=Vehicle(ref="K002")))
        work.jobs.replace(replace(added, closed=date(2026, 3, 3), contacts=(contact,), codes=()))
        work.commit()
        return added


def test_the_reader_reads_all_and_writes_nothing(signed_in: As) -> None:
    reader = signed_in(StoreRole.READER)
    with UnitOfWork(open_store(reader), read_only=True) as work:
        assert [job.complaint for job in work.jobs.all()] == [JOB.complaint]
        assert work.words.all() == {}
    assert store_status(reader).jobs == 1
    assert back_up(reader).is_file()
    with pytest.raises(StoreUnusable, match="your role in the database may not do that"):
        record(reader)
    refused(
        reader,
        *every_table("DELETE FROM {}"),
        *every_table("TRUNCATE {}"),
        *(f"INSERT INTO {name} DEFAULT VALUES" for name in TABLES),
        "UPDATE jobs SET notes = 'x'",
        "UPDATE alembic_version SET version_num = '0001'",
        "SELECT nextval(pg_get_serial_sequence('changes', 'sequence'))",
    )


@pytest.mark.parametrize("role", StoreRole)
def test_nobody_changes_the_tables_or_gives_anything_away(signed_in: As, role: StoreRole) -> None:
    refused(
        signed_in(role),
        *every_table("DROP TABLE {}"),
        *every_table("TRUNCATE {}"),
        "ALTER TABLE jobs ADD COLUMN x integer",
        "CREATE TABLE mine (x integer)",
        "CREATE TEMP TABLE mine (x integer)",
        "CREATE SCHEMA mine",
        "DROP INDEX ix_codes_code",
        "DELETE FROM jobs",
        "DELETE FROM changes",
        "DELETE FROM watched",
        "UPDATE alembic_version SET version_num = '0001'",
        "CREATE ROLE another",
    )


def test_the_technician_records_and_does_not_erase(signed_in: As) -> None:
    technician = signed_in(StoreRole.TECHNICIAN)
    added = record(technician)
    with UnitOfWork(open_store(technician), read_only=True) as work:
        assert work.jobs.get(added.number or 0).closed == date(2026, 3, 3)
        assert work.changes.of(added.number or 0)
    with pytest.raises(StoreUnusable, match="permission denied for table changes"):
        erase(technician, Eraser(["Berit Talle"]))
    refused(
        technician,
        "UPDATE changes SET who = 'XX'",
        "UPDATE codes SET code = 'P0000'",
        "INSERT INTO words (short, expansions) VALUES ('lh', '[]')",
        "INSERT INTO watched (at, act, day) VALUES (now(), 'stop', now())",
        "DELETE FROM vehicle_models",
        "DELETE FROM names",
    )


def test_the_foreman_keeps_the_lists_and_erases(signed_in: As, owned: str) -> None:
    foreman = signed_in(StoreRole.FOREMAN)
    record(foreman)
    model = VehicleModel(make="Corvane", model="Lido")
    with UnitOfWork(open_store(foreman), who="FO") as work:
        work.words.add("lh", ["left"])
        work.words.add("lh", ["left hand"])
        work.models.add(model)
        work.models.remove(model)
        work.names.join(Thing.COMPONENT, "seat plug", "seat connector")
        work.watched.add(WatchAct.FOLLOW, dict.fromkeys(FACT, "seat"), date(2026, 3, 2))
        work.commit()
    assert erase(foreman, Eraser(["Berit Talle", "K001", "left hand"]), who="FO")
    with UnitOfWork(open_store(owned), read_only=True) as work:
        assert not any("Talle" in job.complaint for job in work.jobs.all())
    version = open_store(owned).dialect.server_version_info or ()
    assert scrub(foreman) == (version >= MAINTAIN_SINCE)
    assert not scrub(signed_in(StoreRole.READER))
    assert scrub(owned)


def test_who_has_no_role_does_not_even_connect(signed_in: As, owned: str) -> None:
    assert store_status(signed_in(StoreRole.READER)).jobs == 1
    with pytest.raises(StoreUnusable, match="permission denied for database"):
        open_store(person(owned))


def test_asked_again_it_takes_away_what_was_given_besides(signed_in: As, owned: str) -> None:
    reader, reader_group = signed_in(StoreRole.READER), let_in(owned).reader
    with connected(owned) as run:
        run(f'GRANT DELETE ON jobs TO "{reader_group}"')
    assert let_in(owned) == let_in(owned)
    refused(reader, "DELETE FROM jobs")


def test_after_an_upgrade_the_roles_know_the_new_tables(
    signed_in: As, owned: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    technician, foreman = signed_in(StoreRole.TECHNICIAN), signed_in(StoreRole.FOREMAN)
    at_revision(owned, "0001")
    add_revision(monkeypatch, tmp_path / "migrations")
    with pytest.raises(StoreUnusable, match=r"must be owner|permission denied"):
        upgrade_store(foreman)
    upgrade_store(owned)
    record(technician)
    refused(technician, "DELETE FROM watched")


def test_a_file_and_a_role_without_the_right_are_told_so(
    sqlite_address: str, signed_in: As
) -> None:
    with pytest.raises(StoreUnusable, match="has an owner and no roles"):
        let_in(sqlite_address)
    with pytest.raises(StoreUnusable, match="permission denied"):
        let_in(signed_in(StoreRole.FOREMAN))


def test_the_roles_of_any_database_name_are_made(server: Server, owned: str) -> None:
    for name, refusal in (('Shop "1" 100%', None), ("x" * 60, "too long")):
        with connected_alone(owned) as run:
            run('CREATE DATABASE "{}"'.format(name.replace('"', '""')))
        address = url_of(owned).set(database=name).render_as_string(hide_password=False)
        create_store(address)
        if refusal:
            with pytest.raises(StoreUnusable, match=refusal):
                let_in(address)
        else:
            assert let_in(address).reader == f"{name}_reader"


@contextmanager
def connected_alone(address: str) -> Iterator[Callable[[str], object]]:
    """As `connected`, outside a transaction."""
    engine = open_store(address).execution_options(isolation_level="AUTOCOMMIT")
    raw = engine.raw_connection()
    raw.driver_connection.autocommit = True  # type: ignore[union-attr]
    yield raw.driver_connection.execute  # type: ignore[union-attr]
    raw.close()


def test_the_command_says_how_a_person_gets_a_role(owned: str) -> None:
    told = CliRunner().invoke(kb, ["--store", owned, "db", "roles"])
    assert told.exit_code == 0
    (line,) = (each for each in told.output.splitlines() if "CREATE ROLE bt" in each)
    with connected(owned) as run:
        run(line.replace(" bt ", f" person{next(PEOPLE)} "))
