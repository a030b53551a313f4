"""Joined names: every answer is that of a shop that had one name from the start."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.case import Job
from kb.cli.main import kb
from kb.errors import Dangerous, InvalidField
from kb.services.ask import causes
from kb.services.fixes import fixes
from kb.services.inquiry import Question
from kb.services.names import join_names, list_names, part_names, propose_names
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES

SETTINGS = Settings()
LAMP = Question(text="airbag lamp on after seat moved")


def shop(address: str, jobs: list[Job]) -> str:
    with UnitOfWork(open_store(address)) as work:
        for job in jobs:
            work.jobs.add(job)
        work.commit()
    return address


@pytest.fixture
def two_names(empty_store: str) -> str:
    """The shop of six cases, in which one of two calls the seat connector a seat plug."""
    first = CASES[0].cause
    assert first is not None
    other = replace(CASES[0], cause=replace(first, component="seat plug"))
    return shop(empty_store, [other, *CASES[1:]])


def answers(address: str) -> object:
    answer = causes(address, LAMP, SETTINGS)
    return [(each.cause, each.chance, each.all_jobs, each.jobs) for each in answer.causes]


def test_joined_names_are_answered_as_one(two_names: str, small_store: str) -> None:
    apart, one = answers(two_names), answers(small_store)
    assert apart != one
    join_names(two_names, "seat plug", "seat connector")
    assert answers(two_names) == one
    asked = fixes(two_names, "seat plug", SETTINGS, today=date(2025, 1, 1))
    assert asked == fixes(small_store, "seat connector", SETTINGS, today=date(2025, 1, 1))
    part_names(two_names, "seat plug")
    assert answers(two_names) == apart


def test_a_list_tells_other_names_and_their_jobs(two_names: str) -> None:
    assert list_names(two_names) == []
    joined = join_names(two_names, "Seat  Plug", "seat connector", who="MK")
    assert list_names(two_names) == [joined]
    assert (joined.name, joined.meant, joined.jobs) == ("seat plug", "seat connector", 1)


def test_names_of_no_job_and_dangerous_ones_are_refused(two_names: str) -> None:
    with pytest.raises(InvalidField, match="of no job"):
        join_names(two_names, "seat plug", "seat conector")
    with pytest.raises(InvalidField, match="of no job"):
        join_names(two_names, "wing", "seat connector")
    with pytest.raises(Dangerous):
        join_names(two_names, "put an ohmmeter on the airbag squib", "seat connector")


def test_names_are_joined_and_parted_by_one_command_each(two_names: str) -> None:
    def run(*words: str) -> str:
        done = CliRunner().invoke(kb, ["--store", two_names, "--who", "MK", "names", *words])
        assert done.exit_code == 0, done.output
        return done.output

    assert "No names are joined" in run("list")
    assert "seat plug  = seat connector (1 job)" in run("join", "seat plug", "seat connector")
    (told,) = json.loads(run("list", "--json"))
    assert (told["kind"], told["name"]) == ("component", "seat plug")
    run("part", "seat plug")
    assert json.loads(run("list", "--json")) == []


def test_an_export_tells_what_was_typed(two_names: str, tmp_path: Path) -> None:
    join_names(two_names, "seat plug", "seat connector")
    out = tmp_path / "jobs.jsonl"
    done = CliRunner().invoke(kb, ["--store", two_names, "export", str(out)])
    assert done.exit_code == 0
    assert json.loads(out.read_text().splitlines()[0])["cause"]["component"] == "seat plug"


def test_a_pair_is_proposed_with_both_its_jobs_until_it_is_joined(two_names: str) -> None:
    (pair,) = propose_names(two_names)
    assert {pair.name, pair.meant} == {"seat plug", "seat connector"}
    page = CliRunner().invoke(kb, ["--store", two_names, "names", "propose"]).output
    assert f'kb names join "{pair.name}" "{pair.meant}"' in page
    assert "#1" in page
    assert "#2" in page
    join_names(two_names, pair.name, pair.meant)
    assert propose_names(two_names) == []
