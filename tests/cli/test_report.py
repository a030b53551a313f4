"""`kb report` at the terminal."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

from click.testing import CliRunner, Result

from kb.case import Action, Attempt, Cause, FailureMode, Job, Vehicle
from kb.cli.main import kb
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

DAY = date(2026, 3, 2)


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "report", *words])


def test_a_page_is_written_and_none_is_written_over(tmp_path: Path, small_store: str) -> None:
    path = tmp_path / "friday.html"
    assert run(small_store, str(path)).exit_code == 0
    first = path.read_text(encoding="utf-8")
    assert first.startswith("<!DOCTYPE html>")
    refused = run(small_store, str(path))
    assert refused.exit_code == 1
    assert "--force" in refused.output
    assert run(small_store, str(path), "--force").exit_code == 0


def test_it_is_asked_where_to(small_store: str) -> None:
    result = run(small_store)
    assert result.exit_code == 2
    assert "Where to?" in result.output


def test_machines_get_the_same(small_store: str) -> None:
    told = json.loads(run(small_store, "--json").output)
    assert set(told) == {
        "on",
        "scan",
        "fixes",
        "by_fix",
        "by_cause",
        "by_maker",
        "health",
        "evaluation",
        "readings",
        "cautions",
        "stock",
    }


def test_parts_are_counted_by_maker_where_somebody_wrote_one_down(
    tmp_path: Path, empty_store: str
) -> None:
    def page(name: str) -> str:
        assert run(empty_store, str(tmp_path / name)).exit_code == 0
        return (tmp_path / name).read_text(encoding="utf-8")

    fix = Attempt(action=Action.REPLACED, component="relay", cured=False)
    job = Job(
        vehicle=Vehicle(ref="K1"),
        opened=DAY,
        closed=DAY,
        complaint="no crank",
        cause=Cause(component="relay", failure_mode=FailureMode.OPEN),
        attempts=(fix,),
    )
    with UnitOfWork(open_store(empty_store)) as work:
        work.jobs.add(job)
        work.commit()
    heading = "What came back or was in vain, by who made the part"
    assert heading not in page("none.html")
    made = replace(fix, part_maker="Norvik <b>")
    with UnitOfWork(open_store(empty_store)) as work:
        work.jobs.add(replace(job, vehicle=Vehicle(ref="K2"), attempts=(made,)))
        work.commit()
    told = page("one.html")
    assert heading in told
    assert "Norvik &lt;b&gt;" in told
    assert "fitted, 2 in all; of 1 of them it was written down" in told
