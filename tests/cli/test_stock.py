"""`kb stock` at the terminal."""

import json
from dataclasses import replace
from datetime import date

from click.testing import CliRunner, Result

from kb.case import Action, Attempt, Job, Vehicle
from kb.cli.main import kb
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "stock", "--until", "2026-10-31", *words])


def test_the_page_fits_and_detail_tells_all(demo_store: str) -> None:
    page = run(demo_store)
    assert page.exit_code == 0
    assert max(map(len, page.output.splitlines())) <= 80
    assert "more: --detail" in page.output
    detail = run(demo_store, "--detail").output
    assert "more: --detail" not in detail
    assert "Corvane Lido" in detail


def test_machines_get_the_counts(demo_store: str) -> None:
    told = json.loads(run(demo_store, "--json").output)
    assert {len(each["counts"]) for each in told["parts"]} == {len(told["parts"][0]["counts"])}


def test_what_went_in_vain_and_what_nobody_wrote_down_are_told(empty_store: str) -> None:
    attempts = [
        Attempt(action=Action.REPLACED, component="mat", cured=cured)
        for cured in (False, False, True, None)
    ]
    with UnitOfWork(open_store(empty_store)) as work:
        for number, closed in enumerate([date(2026, 1, 9), date(2026, 10, 9)], start=1):
            car = Vehicle(ref=f"K{number}")
            told = Job(number=number, vehicle=car, opened=closed, closed=closed, complaint="light")
            work.jobs.add(replace(told, attempts=tuple(attempts if number == 2 else ())))
        work.commit()
    page = " ".join(run(empty_store).output.split())
    assert "last quarters in vain" in page
    assert "mat 0 0 2 2 " in page
    assert "Of 1 of the 2 in these quarters nobody wrote down whether it cured" in page
    (mat,) = json.loads(run(empty_store, "--json").output)["parts"]
    assert (mat["counts"][-1], mat["in_vain"][-1], mat["untold"][-1]) == (2, 2, 1)


def test_an_empty_store_is_no_error(empty_store: str) -> None:
    assert "no closed job" in run(empty_store).output


def test_without_a_day_it_is_today(demo_store: str) -> None:
    told = CliRunner().invoke(kb, ["--store", demo_store, "stock", "--json"]).output
    assert json.loads(told)["until"] == str(date.today())
