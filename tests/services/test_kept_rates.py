"""Fix rates that are kept are those that would be reckoned from the store as it is."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from kb.case import Contact, FailureMode, Outcome, Vehicle
from kb.services import kept_rates
from kb.services.kept_rates import CauseRepairs
from kb.services.knowledge import repairs_of
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.repairs import Repairs
from kb.store.unit_of_work import UnitOfWork
from tests.store.test_repairs import DAY, PLUG, SPRING, job

SETTINGS = Settings()
Change = Callable[[UnitOfWork], object]


@pytest.fixture(autouse=True)
def keep_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_rates, "LEAST_KEPT", 1)


@pytest.fixture
def store(empty_store: str) -> str:
    """Jobs 1 to 4 had the plug, the cars of 1 and 5 are one; 5 and 6 had the clock spring."""
    change(
        empty_store,
        *(lambda work, car=car: work.jobs.add(job(car, 0)) for car in ("K1", "K2", "K3", None)),
        lambda work: work.jobs.add(job("K1", 100, SPRING)),
        lambda work: work.jobs.add(job("K9", 5, SPRING, proved_by="no continuity")),
    )
    return empty_store


def change(address: str, *changes: Change) -> None:
    with UnitOfWork(open_store(address)) as work:
        for each in changes:
            each(work)
        work.commit()


def asked(address: str) -> CauseRepairs:
    with UnitOfWork(open_store(address), read_only=True) as work:
        return repairs_of(work, address, [PLUG.key], SETTINGS)[PLUG.key]


def correct(number: int, **values: object) -> Change:
    return lambda work: work.jobs.replace(replace(work.jobs.get(number), **values))  # type: ignore[arg-type]


def folder(address: str) -> Path:
    return index_folder(address) / kept_rates.FOLDER


def reads(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Note from now on what causes are read from the store."""
    seen: list[object] = []
    read = Repairs.of_causes

    def noted(self: Repairs, keys: list[tuple[str, str, str]]) -> object:
        seen.extend(keys)
        return read(self, keys)

    monkeypatch.setattr(Repairs, "of_causes", noted)
    return seen


def test_a_cause_is_read_once(store: str, monkeypatch: pytest.MonkeyPatch) -> None:
    first = asked(store)
    seen = reads(monkeypatch)
    assert asked(store) == first
    assert first.cases == 4
    assert seen == []


def test_what_is_recorded_on_other_cars_leaves_it(
    store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = asked(store)
    change(store, correct(6, notes="paid"), lambda work: work.jobs.add(job("K8", 7, SPRING)))
    seen = reads(monkeypatch)
    assert asked(store) == first
    assert seen == []


@pytest.mark.parametrize(
    "made",
    [
        correct(2, cause=SPRING),
        correct(6, cause=PLUG),
        correct(3, void="opened twice"),
        correct(3, closed=None),
        correct(3, vehicle=Vehicle(ref="K1")),
        correct(5, vehicle=Vehicle(ref="K9")),
        correct(5, void="never came"),
        correct(1, proved_by="no continuity at the plug"),
        correct(1, attempts=()),
        correct(2, contacts=(Contact(on=DAY + timedelta(30), outcome=Outcome.COMEBACK),)),
        correct(2, cause=replace(PLUG, failure_mode=FailureMode.WORN)),
        lambda work: work.jobs.add(job("K2", 60, None)),
        lambda work: work.jobs.add(job("K7", 60)),
    ],
)
def test_any_change_that_counts_is_seen(store: str, made: Change) -> None:
    before = asked(store)
    change(store, made)
    told = asked(store)
    shutil.rmtree(folder(store))
    assert told == asked(store)
    assert told != before


def test_another_horizon_is_not_taken_for_it(store: str) -> None:
    asked(store)
    longer = replace(SETTINGS, rates=replace(SETTINGS.rates, least_known=4))
    with UnitOfWork(open_store(store), read_only=True) as work:
        told = repairs_of(work, store, [PLUG.key], longer)[PLUG.key]
        shutil.rmtree(folder(store))
        assert told == repairs_of(work, store, [PLUG.key], longer)[PLUG.key]


def test_another_program_judges_anew(store: str, monkeypatch: pytest.MonkeyPatch) -> None:
    asked(store)
    monkeypatch.setattr(kept_rates, "_program", lambda: b"of another day")
    seen = reads(monkeypatch)
    asked(store)
    assert seen == [PLUG.key]


@pytest.mark.parametrize("content", [b"", b"{}", b"garbage", bytes(200)])
def test_what_cannot_be_read_is_reckoned_again(store: str, content: bytes) -> None:
    first = asked(store)
    (file,) = folder(store).iterdir()
    whole = file.read_bytes()
    file.write_bytes(content)
    assert asked(store) == first
    assert file.read_bytes() == whole


def test_a_folder_that_cannot_be_written_is_no_error(store: str) -> None:
    index_folder(store).mkdir(exist_ok=True)
    folder(store).write_text("in the way")
    assert asked(store).cases == 4


def test_few_cases_are_not_kept(store: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_rates, "LEAST_KEPT", 5)
    asked(store)
    assert not folder(store).exists()


def test_what_was_not_committed_is_not_kept_for_others(store: str) -> None:
    with UnitOfWork(open_store(store)) as work:
        work.jobs.add(job("K7", 60))
        assert repairs_of(work, store, [PLUG.key], SETTINGS)[PLUG.key].cases == 5
    change(store, correct(6, notes="paid"))
    assert asked(store).cases == 4
