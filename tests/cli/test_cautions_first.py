"""Every command that prints anything of a job says its cautions before the job's first word.

The commands are those of click's own tree, so that a new one has to be tried here, too.
"""

import re
import shutil
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import click
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
from kb.store.database import create_store
from kb.store.unit_of_work import UnitOfWork
from tests.cli.test_job import type_at
from tests.recall.shop import LIDO

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
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("shop") / "shop.sqlite"
    with UnitOfWork(create_store(str(path)), who="BT") as work:
        for job in (*map(_case, range(1, 8)), OPEN):
            work.jobs.add(job)
        work.commit()
    return path


@pytest.fixture
def shop(kept: Path, tmp_path: Path) -> str:
    return str(shutil.copy(kept, tmp_path / "shop.sqlite"))


COMMANDS: Mapping[str, Sequence[str]] = {
    "causes": ["causes", "--job", "20"],
    "fixes": ["fixes", PART.component],
    "similar": ["similar", "--job", "20"],
    "search": ["search", MARK],
    "reading": ["reading", "LF pretensioner 6.1 ohm", "--job", "20"],
    "next-test": ["next-test", "20"],
    "job add attempt": ["job", "add", "attempt", "20", f"repaired {MARK} plug", "--yes"],
    "job add code": ["job", "add", "code", "20", "B1310", "--yes"],
    "job add contact": ["job", "add", "contact", "1", "no fault", "--yes"],
    "job add line": ["job", "add", "line", "20", "plug cleaned", "--yes"],
    "job add reading": ["job", "add", "reading", "20", "battery 12.4 V", "--yes"],
    "job add test": ["job", "add", "test", "20", "visual check: nothing", "--yes"],
    "job circuit": ["job", "circuit", "20", "airbag ECU, seat plug, pretensioner", "--yes"],
    "job close": ["job", "close", "20", "seat connector, open", "--yes"],
    "job edit": ["job", "edit", "20", "--set", "odometer_km=80000", "--yes"],
    "job follow-up": ["job", "follow-up", "--list"],
    "job history": ["job", "history", "20"],
    "job list": ["job", "list"],
    "job open": ["job", "open", f"{MARK} airbag lamp on", "--yes"],
    "job remove": ["--who", "BT", "job", "remove", "20", "1", "--yes"],
    "job reopen": ["job", "reopen", "1", "--yes"],
    "job show": ["job", "show", "20"],
    "job use": ["job", "use", "20"],
    "job void": ["job", "void", "20", "--why", "told twice", "--yes"],
    "job work": ["job", "work", "20"],
    "undo": ["undo", "1", "--yes"],
    "code": ["code", "B1234"],
    "vehicle add": ["vehicle", "add", "Corvane", "Lido"],
    "vehicle list": ["vehicle", "list"],
    "vehicle remove": ["vehicle", "remove", "Corvane", "Lido"],
    "vehicle show": ["vehicle", "show", "K001"],
    "recurring": ["recurring"],
    "review": ["review", "--health"],
    "watch": ["watch"],
    "comebacks": ["comebacks", "--detail"],
    "stock": ["stock"],
    "report": ["report", "page.html"],
    "lesson": ["lesson", "restraints"],
    "evaluate": ["evaluate"],
    "weights": ["weights"],
    "import": ["import", "jobs.jsonl", "--dry-run"],
    "export": ["export", "jobs.csv"],
    "schema": ["schema"],
    "words add": ["words", "add", "bdw", MARK],
    "words list": ["words", "list"],
    "words remove": ["words", "remove", "bdw"],
    "names join": ["names", "join", f"{MARK} plug", f"{MARK} connector"],
    "names list": ["names", "list"],
    "names part": ["names", "part", f"{MARK} plug"],
    "names propose": ["names", "propose"],
    "demo copy": ["demo", "copy", "copy.sqlite"],
    "demo reset": ["demo", "reset"],
    "init": ["init"],
    "db backup": ["db", "backup", "copy.sqlite"],
    "db check": ["db", "check"],
    "db erase": ["db", "erase", "Corvane"],
    "db reindex": ["db", "reindex"],
    "db roles": ["db", "roles"],
    "db restore": ["db", "restore", "copy.sqlite"],
    "db status": ["db", "status"],
    "db upgrade": ["db", "upgrade"],
}


TELLING = frozenset(
    {
        *("causes", "fixes", "similar", "search", "next-test", "code", "lesson", "comebacks"),
        *("job add attempt", "job follow-up", "job list", "job open", "job reopen", "job show"),
        *("undo", "vehicle show", "review"),
    }
)
"""What prints words of jobs; the others print none of the jobs tried here."""
NAMING = frozenset({"words add", "names join", "names part", "names list", "names propose"})
"""What says again the names that it was given, or lists names; it tells of no job."""


def _leaves(command: click.Command, before: tuple[str, ...] = ()) -> Iterator[str]:
    if not isinstance(command, click.Group):
        yield " ".join(before)
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        if (each := command.get_command(context, name)) is not None:
            yield from _leaves(each, (*before, name))


def test_every_command_is_tried() -> None:
    assert set(COMMANDS) == set(_leaves(kb))
    assert set(COMMANDS) >= TELLING | NAMING


def _stands_under_a_caution(output: str) -> bool:
    before, mark, _ = output.partition(MARK)
    return bool(mark) and "CAUTION" in before


@pytest.mark.parametrize("name", sorted(COMMANDS.keys() - NAMING))
def test_the_caution_comes_before_the_first_word_of_a_job(
    shop: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    output = CliRunner().invoke(kb, ["--store", shop, *COMMANDS[name]]).output
    if name in TELLING:
        assert _stands_under_a_caution(output), output
    else:
        assert MARK not in output


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


def test_the_caution_comes_first_of_what_is_exported_to_a_screen(
    shop: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TTY_COMPATIBLE", "1")
    assert _stands_under_a_caution(CliRunner().invoke(kb, ["--store", shop, "export", "-"]).output)
