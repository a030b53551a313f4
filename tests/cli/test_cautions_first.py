"""Every command that prints anything of a job says its cautions before the job's first word."""

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.case import (
    Action,
    Attempt,
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    System,
    TroubleCode,
)
from kb.cli.main import kb
from kb.services.proposed import prepare_recall
from kb.settings import Settings
from kb.store.database import create_store
from kb.store.unit_of_work import UnitOfWork
from tests.cli.test_job import type_at
from tests.everywhere import commands, every_call
from tests.recall.shop import LIDO
from tests.store_copies import copied

MARK = "brindlewick"
"""Stands in every word of every job, and nowhere else."""
PART = Cause(
    component=f"{MARK} plug", location=f"{MARK} tray", failure_mode=FailureMode.HIGH_RESISTANCE
)


def _case(number: int) -> Job:
    """One of some cars, repaired lately, so that somebody has to ask whether the fix has held."""
    closed = date.today() - timedelta(days=40 + number)
    return Job(
        number=number,
        vehicle=replace(LIDO, ref=f"K00{number}"),
        opened=closed - timedelta(days=1),
        closed=closed,
        complaint=f"{MARK} airbag lamp on after seat moved",
        codes=(TroubleCode(code="B1234"),),
        system=System.RESTRAINTS,
        cause=PART,
        attempts=(Attempt(action=Action.CLEANED, component=PART.component, cured=number != 7),),
        notes=f"{MARK} noted",
    )


OPEN = Job(
    number=20,
    vehicle=replace(LIDO, ref="K001"),
    opened=date.today(),
    complaint=f"{MARK} airbag lamp on, pretensioner plug green",
    tests=(DiagnosticTest(name="visual check", seen=f"{MARK} in the way"),),
    system=System.RESTRAINTS,
)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("shop") / "shop.sqlite"
    with UnitOfWork(create_store(str(path)), who="BT") as work:
        for job in (*map(_case, range(1, 8)), OPEN):
            work.jobs.add(job)
        work.commit()
    prepare_recall(str(path), Settings(), today=date.today())
    return str(path)


@pytest.fixture
def shop(kept: str, tmp_path: Path) -> str:
    return copied(kept, tmp_path)


TYPED = "quillmoor airbag plug"
"""Stands in what is typed, and in no job before."""
TELLING = frozenset(
    {
        *("causes", "fixes", "similar", "search", "next-test", "code", "lesson", "comebacks"),
        *("job add attempt", "job add contact", "job add test", "job circuit", "job close"),
        *("job follow-up", "job list", "job open"),
        *("job reopen", "job show", "undo", "vehicle show", "review"),
    }
)
"""What prints words of jobs; the others print none of the jobs tried here."""
NAMING = frozenset({"names join", "names part", "names list", "names propose"})
"""What says again the names that it was given, or lists names; it tells of no job."""
STORING = {("job", each) for each in ("add", "circuit", "close", "edit", "open", "remove", "void")}
"""Shows what was typed as part of a job."""
FOR_MACHINES = frozenset({"export"})
"""Has its cautions on a screen, as is tried below."""


SILENT = frozenset(
    {
        *("db backup", "db check", "db erase", "db reindex", "db restore", "db roles"),
        *("db status", "db upgrade", "demo copy", "demo reset", "import", "init", "schema"),
        *("evaluate", "recurring", "report", "stock", "watch", "weights"),
        *("job add code", "job add line", "job add reading", "job edit", "job history"),
        *("job remove", "job use", "job void", "job work", "reading"),
        *("vehicle add", "vehicle list", "vehicle remove"),
        *("words add", "words list", "words remove"),
    }
)
"""Print no word of a job as they are called here; some do at a terminal or when asked otherwise."""


def test_every_command_is_said_to_tell_of_jobs_or_not() -> None:
    groups = (TELLING, NAMING, FOR_MACHINES, SILENT)
    assert set().union(*groups) == set(map(" ".join, commands()))
    assert sum(map(len, groups)) == len(commands())


def _stands_under_a_caution(output: str, marks: Iterable[str] = (MARK,)) -> bool:
    before, caution, after = output.partition("CAUTION")
    return bool(caution) and all(mark in after and mark not in before for mark in marks)


@pytest.mark.usefixtures("small_demo")
def test_the_caution_comes_before_the_first_word_of_a_job(shop: str, tmp_path: Path) -> None:
    telling, bare = set(), []
    for parts, call in every_call(TYPED, OPEN.number or 0, 1, tmp_path):
        name = " ".join(parts)
        done = CliRunner().invoke(kb, ["--store", shop, "--who", "BT", *call])
        marks = [MARK, TYPED] if done.exit_code == 0 and parts[:2] in STORING else [MARK]
        told = [mark for mark in marks if mark in done.output]
        if told and name not in NAMING | FOR_MACHINES:
            telling.add(name)
            bare += [(call, done.output)] * (not _stands_under_a_caution(done.output, told))
    assert bare == []
    assert telling == TELLING


def test_a_page_for_the_wall_has_its_cautions_on_top(demo_store: str, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    done = CliRunner().invoke(kb, ["--store", demo_store, "report", str(page)])
    assert done.exit_code == 0, done.output
    told = page.read_text(encoding="utf-8")
    assert 0 < told.index("Airbags and pretensioners can fire") < told.index("seat connector")


@pytest.mark.parametrize("command", ["recurring", "comebacks"])
def test_what_all_jobs_tell_has_its_cautions_on_top(demo_store: str, command: str) -> None:
    told = CliRunner().invoke(kb, ["--store", demo_store, command]).output
    assert re.match(r"CAUTION +Airbags and pretensioners can fire", told)
    assert len(told.partition("\n\n")[0].splitlines()) <= MOST_LINES


MOST_LINES = 9
"""Of cautions above a list: little enough to be read, and nothing of a screen's end."""


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (["job", "work", "20"], "BT\nq\n"),
        (["job", "work"], "20\nBT\nq\n"),
        (["job", "edit", "20"], "\n"),
        (["job", "close", "20"], "\nn\n"),
        (["job", "follow-up"], "\n"),
        (["job", "show"], "20\n"),
        (["next-test"], "20\n"),
        (["undo", "1"], "n\n"),
    ],
)
def test_the_caution_comes_first_at_a_terminal(shop: str, words: list[str], keys: str) -> None:
    assert _stands_under_a_caution(type_at(shop, *words, keys=keys).output)


def test_the_caution_comes_before_the_first_question_of_a_closing(shop: str) -> None:
    words = ("job", "close", "20", "zarbed flange, under tray: open")
    asked = type_at(shop, *words, keys="\nn\nn\n").output
    assert 0 <= asked.index("CAUTION") < asked.index("Last fix")


def test_the_caution_comes_first_of_what_is_exported_to_a_screen(
    shop: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TTY_COMPATIBLE", "1")
    assert _stands_under_a_caution(CliRunner().invoke(kb, ["--store", shop, "export", "-"]).output)
