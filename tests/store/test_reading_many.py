"""What is read of all jobs must not grow with their square: a shop has a hundred thousand.

Counted are the steps of SQLite's virtual machine, which are the same on every computer.
"""

import shutil
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    FailureMode,
    Job,
    Outcome,
    System,
    TroubleCode,
    Vehicle,
)
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

FEW, TIMES, MOST = 150, 4, 6
"""Jobs of the smaller store; how many times as many the larger has, and how many times as many
steps it may take: sorting and looking up cost a little more than the jobs."""
STEPS = 100
DAY = date(2020, 1, 6)
CAUSES = [Cause(component=f"part {n}", failure_mode=FailureMode.WORN) for n in range(5)]

Query = Callable[[UnitOfWork], object]
QUERIES: dict[str, Query] = {
    "all": lambda work: work.repairs.all(),
    "of some causes": lambda work: work.repairs.of_causes([CAUSES[0].key, CAUSES[1].key]),
    "of one job": lambda work: work.repairs.of_jobs([1]),
    "of cars with a cause": lambda work: work.repairs.of_cars_with(CAUSES[0].key),
    "came back": lambda work: work.repairs.came_back(),
    "causes": lambda work: work.repairs.causes(),
    "final fixes only": lambda work: work.repairs.only_final_fixes(),
}


def job(number: int, car: int, day: int) -> Job:
    opened = DAY + timedelta(days=day)
    heard = Contact(on=opened + timedelta(days=9), outcome=Outcome.COMEBACK, job=max(number - 1, 1))
    return Job(
        number=number,
        vehicle=Vehicle(ref=f"K{car}"),
        opened=opened,
        closed=opened,
        complaint="warning lamp lit",
        system=System.COOLING,
        codes=(TroubleCode(code=f"P0{number % 90:02}1"),),
        cause=CAUSES[number % 5],
        attempts=(
            Attempt(action=Action.CLEANED, component="plug", supposed=CAUSES[0], cured=False),
            Attempt(action=Action.REPLACED, component="plug", cured=True),
        ),
        contacts=(heard,),
    )


def many(jobs: int) -> Iterable[Job]:
    """Yield jobs of cars that come twice each."""
    return (job(n + 1, n // 2, 3 * n % 1500) for n in range(jobs))


def one_car(jobs: int) -> Iterable[Job]:
    """Yield jobs of one car, a day apart."""
    return (job(n + 1, 1, n) for n in range(jobs))


def steps(path: Path, template: Path, jobs: Iterable[Job], queries: Iterable[Query]) -> list[int]:
    """Return how many steps each query takes on a store of some jobs."""
    shutil.copy(template, path)
    engine = open_store(str(path))
    count = 0

    def tick() -> None:
        nonlocal count
        count += 1

    @event.listens_for(engine, "checkout")
    def _watch(connection: Any, *_: object) -> None:
        connection.set_progress_handler(tick, STEPS)

    with UnitOfWork(engine) as work:
        for each in jobs:
            work.jobs.add(each)
        work.commit()
    found = []
    for query in queries:
        with UnitOfWork(engine, read_only=True) as work:
            before = count
            query(work)
            found.append(STEPS * (count - before))
    engine.dispose()
    return found


def test_what_is_read_of_all_jobs_grows_with_them(tmp_path: Path, sqlite_template: Path) -> None:
    few, lots = (
        steps(tmp_path / f"{n}.sqlite", sqlite_template, many(n), QUERIES.values())
        for n in (FEW, TIMES * FEW)
    )
    assert max(few) > 1000  # the steps are counted at all
    for name, before, after in zip(QUERIES, few, lots, strict=True):
        assert after <= MOST * before + 5 * STEPS, name


@pytest.mark.parametrize("query", ["all", "of some causes"])
def test_what_is_read_of_one_car_grows_with_its_pairs(
    tmp_path: Path, sqlite_template: Path, query: str
) -> None:
    """Every visit after a case may be its return: a taxi has many."""
    few, lots = (
        steps(tmp_path / f"{n}.sqlite", sqlite_template, one_car(n), [QUERIES[query]])[0]
        for n in (40, 160)
    )
    pairs = (160 * 159) / (40 * 39)
    assert lots <= 1.5 * pairs * few
