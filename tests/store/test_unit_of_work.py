"""Several people at one store."""

from datetime import date
from threading import Thread

import pytest

from kb.case import Job, Vehicle
from kb.errors import StoreUnusable
from kb.store import database
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

JOB = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="door lock dead after rain")


def test_two_programs_record_at_once_and_both_succeed(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(database, "PATIENCE_SECONDS", 300)  # a busy machine is no failure
    failures: list[BaseException] = []

    def record(who: str) -> None:
        try:
            for _ in range(10):
                with UnitOfWork(open_store(address), who=who) as work:
                    work.jobs.count()
                    work.jobs.add(JOB)
                    work.commit()
        except BaseException as error:
            failures.append(error)

    threads = [Thread(target=record, args=(who,)) for who in ("BT", "MK")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with UnitOfWork(open_store(address), read_only=True) as work:
        assert [job.number for job in work.jobs.all()] == list(range(1, 21))
        whose = [work.changes.of(number)[0].who for number in range(1, 21)]
    assert (whose.count("BT"), whose.count("MK")) == (10, 10)


def test_a_reader_neither_waits_for_a_writer_nor_sees_half_its_work(address: str) -> None:
    with UnitOfWork(open_store(address)) as writer:
        writer.jobs.add(JOB)
        with UnitOfWork(open_store(address), read_only=True) as reader:
            assert reader.jobs.count() == 0
            writer.commit()
            assert reader.jobs.count() == 0
    with UnitOfWork(open_store(address), read_only=True) as reader:
        assert reader.jobs.count() == 1


def test_who_waits_too_long_is_told_why(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with UnitOfWork(open_store(address)):
        monkeypatch.setattr(database, "PATIENCE_SECONDS", 1)
        impatient = open_store(address)
        with pytest.raises(StoreUnusable, match="another program is writing"):
            UnitOfWork(impatient).__enter__()


def test_what_is_stored_is_on_the_disk_whatever_the_build_of_sqlite(
    sqlite_address: str,
) -> None:
    with open_store(sqlite_address).connect() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"


def test_reading_cannot_write(address: str) -> None:
    with (
        pytest.raises(StoreUnusable, match=r"readonly|read-only"),
        UnitOfWork(open_store(address), read_only=True) as work,
    ):
        work.jobs.add(JOB)
