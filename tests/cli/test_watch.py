"""`kb watch` from a weekly run: its lines, its exit codes, and what it never tells twice."""

import json
import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from click.testing import CliRunner, Result

from kb.cli.main import kb
from kb.reports.watch import look_lines
from kb.services.watch import EVERYTHING, WatchAlert, WatchReason, acknowledge, look
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recurrence.test_watch import shop
from tests.store_copies import copied

SOMETHING_NEW = 3


def watch(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "--who", "FM", "watch", *words])


@pytest.fixture(scope="session")
def shop_with_a_fault(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> str:
    """Two years of a shop, in the second of which Lidos have a fault six times as often."""
    from kb.store.database import open_store  # noqa: PLC0415
    from kb.store.unit_of_work import UnitOfWork  # noqa: PLC0415

    folder = tmp_path_factory.mktemp("watch")
    address = str(shutil.copy(sqlite_template, folder / "shop.sqlite"))
    with UnitOfWork(open_store(address)) as work:
        for job in shop(9, times=6):
            work.jobs.add(job)
        work.commit()
    return address


def test_what_is_new_is_a_line_each_and_an_exit_code_of_its_own(demo_store: str) -> None:
    told = watch(demo_store)
    assert told.exit_code == SOMETHING_NEW
    lines = told.output.splitlines()
    assert all("jobs #" in line for line in lines)
    assert any("Corvane Lido: seat connector, under seat" in line for line in lines)
    machine = watch(demo_store, "--json")
    assert machine.exit_code == SOMETHING_NEW
    alerts = json.loads(machine.output)["alerts"]
    assert [line.split()[0] for line in lines] == [each["id"] for each in alerts]


def test_what_was_acknowledged_is_never_told_again(demo_store: str, tmp_path: Path) -> None:
    store = copied(demo_store, tmp_path)
    first, *others = json.loads(watch(store, "--json").output)["alerts"]
    assert watch(store, "--ack", first["id"]).exit_code == 0
    left = json.loads(watch(store, "--json").output)["alerts"]
    assert left == others
    assert watch(store, "--ack", EVERYTHING).exit_code == 0
    quiet = watch(store)
    assert (quiet.exit_code, quiet.output) == (0, "Nothing new.\n")
    assert "seen" in watch(store, "--list").output
    assert "(FM)" in watch(store, "--list").output
    assert watch(store, "--ack", first["id"]).exit_code == 1


def test_a_chosen_fact_is_told_once_it_is_sure(shop_with_a_fault: str, tmp_path: Path) -> None:
    store = copied(shop_with_a_fault, tmp_path)
    watch(store, "--ack", EVERYTHING)
    chosen = watch(
        store, "--follow", "Seat connector, under seat", "--model", "lido", "--since", "2024-01-01"
    )
    assert chosen.exit_code == 0
    told = watch(store, "--json")
    assert told.exit_code == SOMETHING_NEW
    (alert,) = json.loads(told.output)["alerts"]
    assert (alert["reason"], alert["group"]) == ("chosen", "Corvane Lido")
    assert date(2024, 1, 1) <= date.fromisoformat(alert["told"])
    assert alert["hits"] > alert["expected"]
    assert alert["hits"] + alert["later"] == len(alert["jobs"])
    assert (f" and {alert['later']} more since" in watch(store).output) is bool(alert["later"])
    assert watch(store, "--ack", alert["id"]).exit_code == 0
    assert watch(store).exit_code == 0
    assert watch(store, "--stop", alert["id"]).exit_code == 0
    assert "Nothing is watched yet" in watch(store, "--list").output
    assert watch(store, "--stop", alert["id"]).exit_code == 1


def test_a_code_and_a_model_can_be_chosen(shop_with_a_fault: str, tmp_path: Path) -> None:
    store = copied(shop_with_a_fault, tmp_path)
    assert "B1201" in watch(store, "--follow", "b1201").output
    assert "any cause" in watch(store, "--model", "Corvane Lido").output
    chosen = json.loads(watch(store, "--list", "--json").output)["chosen"]
    assert [each["fault"] for each in chosen] == ["B1201", "any cause"]
    assert {each["since"] for each in chosen} == {date.today().isoformat()}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--follow", "seat conector"), "did you mean seat connector"),
        (("--follow", "seat connector", "--model", "Lidoo"), "did you mean lido"),
        (("--follow", ""), "names nothing"),
        (("--follow", "seat connector", "--since", "2099-01-01"), "is yet to come"),
        (("--ack", "abc"), "nothing new"),
        (("--ack", "all", "--list"), "One thing at a time"),
        (("--false-alarms", "2"), "not in the range"),
    ],
)
def test_slips_are_errors_and_nothing_new(
    shop_with_a_fault: str, words: tuple[str, ...], told: str
) -> None:
    slip = watch(shop_with_a_fault, *words)
    assert slip.exit_code in {1, 2}
    assert told in slip.output
    assert json.loads(watch(shop_with_a_fault, "--list", "--json").output)["history"] == []


def test_an_empty_store_has_nothing_new(empty_store: str) -> None:
    told = watch(empty_store)
    assert told.exit_code == 0
    assert "Nothing new." in told.output


def with_the_fault(store: str, days: list[date], *, who: str | None = None) -> None:
    """Add Lidos with the fault, one on each of these days."""
    with UnitOfWork(open_store(store)) as work:
        like = next(
            job
            for job in work.jobs.all()
            if job.cause and job.cause.component == "seat connector" and job.vehicle.model == "Lido"
        )
        for day in days:
            car = replace(like.vehicle, ref=f"N{day}")
            new = replace(like, number=None, uid=uuid4().hex, vehicle=car, contacts=())
            work.jobs.add(replace(new, opened=day, closed=day, technician=who))
        work.commit()


def test_what_was_seen_is_told_again_once_it_has_grown(demo_store: str, tmp_path: Path) -> None:
    store, seen, later = copied(demo_store, tmp_path), date(2026, 10, 28), date(2026, 12, 31)

    def alerts(today: date) -> tuple[WatchAlert, ...]:
        return look(store, Settings(), today=today, false_alarms=0.1).alerts

    def seen_on(today: date) -> None:
        acknowledge(store, Settings(), EVERYTHING, who="FM", today=today, false_alarms=0.1)

    seen_on(seen)
    assert alerts(seen) == ()
    with_the_fault(store, [seen + timedelta(days=day) for day in range(3, 60, 3)])
    (alert,) = alerts(later)
    assert (alert.reason, alert.hits, alert.since) == (WatchReason.GROWN, 19, seen)
    assert len(alert.jobs) == 19
    (line,) = look_lines(look(store, Settings(), today=later, false_alarms=0.1))
    assert "19 cars since it was seen on 2026-10-28" in line
    seen_on(later)
    assert alerts(later) == ()


def test_what_one_person_alone_records_is_told_to_be_so(
    shop_with_a_fault: str, tmp_path: Path
) -> None:
    store = copied(shop_with_a_fault, tmp_path)
    with UnitOfWork(open_store(store)) as work:
        every = [job for job in work.jobs.all() if job.cause and "battery" in job.cause.component]
        for job in every[:200]:
            on = date(2025, 1, 1) + timedelta(days=(job.number or 0) % 60)
            new = replace(job, number=None, uid=uuid4().hex)
            work.jobs.add(replace(new, opened=on, closed=on, technician="AA"))
        work.commit()
    days = [date(2025, 1, 1) + timedelta(days=day) for day in range(3, 60, 3)]
    with_the_fault(store, days, who="ZZ")
    part = "Seat connector, under seat"
    watch(store, "--ack", EVERYTHING)
    watch(store, "--follow", part, "--model", "lido", "--since", "2025-01-01")
    (alert,) = [
        e for e in json.loads(watch(store, "--json").output)["alerts"] if e["reason"] == "chosen"
    ]
    assert alert["by_one"]
    assert "mostly recorded by one person" in watch(store).output
