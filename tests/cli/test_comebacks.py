"""`kb comebacks` at the terminal."""

import json
from dataclasses import replace
from datetime import date, timedelta

import pytest
from click.testing import CliRunner, Result

from kb.case import Action, Attempt, Cause, FailureMode, Job, Vehicle
from kb.cli.main import kb
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


def run(address: str, *words: str, who: str | None = None) -> Result:
    person = ["--who", who] if who else []
    command = ["--store", address, *person, "comebacks", *words]
    return CliRunner().invoke(kb, command, env={"KB_WHO": ""})


@pytest.mark.parametrize("kind", ["fix", "action", "cause", "model", "maker"])
def test_the_page_fits_and_its_caution_comes_first(demo_store: str, kind: str) -> None:
    result = run(demo_store, "--by", kind)
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    assert result.output.startswith("CAUTION")
    assert "all of it" in result.output
    every_row = kind in {"model", "maker"}  # of each something was lost
    assert ("Without a row: " in result.output) is not every_row


def test_no_figure_and_no_heading_is_cut_where_there_is_little_room(
    demo_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    page = run(demo_store).output
    assert "…" not in page
    assert "cured    back  vain  unheard    min  parts" in page
    assert max(map(len, page.splitlines())) <= 60


def test_detail_names_the_jobs(demo_store: str) -> None:
    result = run(demo_store, "--by", "action", "--detail")
    assert " more: --detail" not in result.output
    assert "#" in result.output


def four_relays() -> list[Job]:
    """Return four relays renewed, all back after ten days with another proved cause; and tyres."""
    jobs = []
    for number in range(4):
        for days, part in ((0, "starter relay"), (10, "battery terminal")):
            day = date(2025, 1, 1) + timedelta(days=days)
            jobs.append(
                Job(
                    vehicle=Vehicle(ref=f"K{number}", make="Corvane", model="Lido"),
                    opened=day,
                    closed=day,
                    complaint="no crank, clicks once",
                    cause=Cause(component=part, failure_mode=FailureMode.OPEN),
                    attempts=(Attempt(action=Action.REPLACED, component=part, cured=True),),
                )
            )
    return jobs


@pytest.mark.parametrize(
    ("kind", "what"), [("fix", "replaced starter relay"), ("cause", "starter relay: open")]
)
def test_a_fix_with_nothing_but_returns_to_judge_has_its_row(
    empty_store: str, kind: str, what: str
) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        for job in four_relays():
            work.jobs.add(job)
        work.commit()
    page = run(empty_store, "--by", kind, "--detail").output
    assert "0+4?" in page
    assert "to be judged: #1 #3 #5 #7" in page
    told = json.loads(run(empty_store, "--by", kind, "--json").output)
    (row,) = told["rows"]
    assert (row["what"], row["not_judged"], row["to_judge"]) == (what, 4, [1, 3, 5, 7])
    assert told["whole"]["not_judged"] == 4
    assert "After 4 more jobs the car was back" in " ".join(page.split())
    assert "4 of these visits proved another cause" in " ".join(page.split())
    assert "on one car" not in page


def test_a_row_that_one_car_alone_tells_is_told_to_be_so(empty_store: str) -> None:
    vain = Attempt(action=Action.CLEANED, component="starter relay", cured=False)
    with UnitOfWork(open_store(empty_store)) as work:
        for job in four_relays()[::2]:
            car = replace(job.vehicle, ref="K7")
            work.jobs.add(replace(job, vehicle=car, attempts=(vain, *job.attempts)))
        work.commit()
    (row, *_) = json.loads(run(empty_store, "--json").output)["rows"]
    assert (row["what"], row["in_vain"], row["cars"]) == ("cleaned starter relay", 4, 1)
    lines = run(empty_store).output.splitlines()
    assert "Back and vain are of one car alone: cleaned starter relay." in lines
    assert sum("one car" in line for line in lines) == 1  # no row of the table tells it


def test_jobs_on_which_the_same_cured_when_tried_again_are_told(demo_store: str) -> None:
    whole = json.loads(run(demo_store, "--json").output)["whole"]
    assert whole["at_last"] == 3
    page = " ".join(run(demo_store).output.split())
    assert "Of those in vain 3 cured when the same was tried again on the job: these are" in page


def test_ones_own_needs_to_know_who(demo_store: str) -> None:
    refused = run(demo_store, "--mine")
    assert refused.exit_code == 2
    assert "Whose?" in refused.output
    mine = json.loads(run(demo_store, "--mine", "--json", who="BT").output)
    assert mine["by"] == "BT"
    assert 0 < mine["cases"] < json.loads(run(demo_store, "--json").output)["cases"]


def test_an_empty_store_is_no_error(empty_store: str) -> None:
    result = run(empty_store)
    assert result.exit_code == 0
    assert "no closed job" in result.output


def test_parts_are_counted_by_who_made_them(empty_store: str) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        for job, maker in zip(four_relays(), 2 * ["Norvik", None, " norvik", "Zelto"], strict=True):
            (fix,) = job.attempts
            fix = replace(fix, part_maker=maker, cured=maker is None, minutes=30)
            work.jobs.add(replace(job, attempts=(fix,)))
        work.commit()
    page = run(empty_store, "--by", "maker").output
    assert "Counted are parts that were fitted, 8 in all; of 6 of them" in page
    told = json.loads(run(empty_store, "--by", "maker", "--json").output)
    assert (told["parts"], told["maker_not_told"]) == (8, 2)
    rows = {each["what"]: (each["in_vain"], each["minutes"]) for each in told["rows"]}
    assert {what: counts for what, counts in rows.items() if counts[0]} == {
        "Norvik": (4, 120),
        "Zelto": (2, 60),
    }
    assert json.loads(run(empty_store, "--json").output)["maker_not_told"] is None


def test_where_nobody_told_a_maker_the_page_says_so(demo_store: str) -> None:
    told = json.loads(run(demo_store, "--by", "maker", "--json").output)
    assert told["parts"] == told["maker_not_told"] > 0
    assert [each["what"] for each in told["rows"]] == ["maker not told"]


def test_a_return_of_a_fix_never_told_to_have_cured_is_said_to_be_beside_the_cured(
    empty_store: str,
) -> None:
    told, back = four_relays()[:2]
    (fix,) = told.attempts
    told = replace(told, attempts=(replace(fix, cured=None),))
    with UnitOfWork(open_store(empty_store)) as work:
        work.jobs.add(told)
        work.jobs.add(back)
        work.commit()
    page = " ".join(run(empty_store).output.split())
    assert "replaced starter relay 0 0+1?" in page
    assert "+N?: N jobs more, told to be cured or not told, were back" in page
