"""No command opens its store more often than it has to."""

import json
import shlex
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import Engine, create_engine

from kb.cli.main import kb
from kb.store import database
from kb.store.unit_of_work import UnitOfWork
from tests.cli.test_job import ok, type_at
from tests.cli.test_next_test import NUMBER, OPENING
from tests.store_copies import copied

READS = """causes airbag lamp
similar airbag lamp
fixes --job 1
reading RF pretensioner 2.3 ohm
recurring
comebacks
stock
lesson restraints
weights
code B1234
vehicle list
vehicle show corvane lido
words list
next-test 7
job show 1
job list
job history 1
job follow-up --list
export FILE"""
WRITES = """words add mulch filter
words remove mulch
vehicle add Corvane Lido
vehicle remove Corvane Lido"""
DRAFTS = """job open lamp
job add 7 wiggle test: jumps
job add code 7 P0171
job add reading 7 RF pretensioner 2.3 ohm
job circuit 7 ECU, harness, plug
job edit 7 --set odometer_km=81500
job follow-up 1 held
job close 7 seat connector high resistance --fix 'cleaned seat connector'"""

DONE = """--confirm substitute
--did substitute --saw a --words "2.2 ohm with the load" --minutes 20"""
"""What `kb next-test` stores, and then shows where the job stands now."""
TALKS = [
    ("job show 7", "", 1, 0),
    ("job history 7", "", 1, 0),
    ("next-test 7", "", 1, 0),
    ("job add 7 wiggle test: jumps", "y\n", 1, 1),
    ("job add reading 7 RF pretensioner 2.3 ohm", "y\n", 1, 1),
    ("job circuit 7 ECU, harness, plug", "y\n", 1, 1),
    ("job edit 7 --set odometer_km=81500", "y\n", 1, 1),
    # a look before the question, and one for what was answered
    ("job add 7", "wiggle test: jumps\ny\n", 2, 1),
    ("job add reading 7", "RF pretensioner 2.3 ohm\ny\n", 2, 1),
    ("job edit 7", "odometer_km=81500\ny\n", 2, 1),
    # the page, the suspects, and the end of the job as it will be stored
    ("job close 7", "seat plug, open\nn\n\n\n\n\ny\n", 3, 1),
]
"""Commands at a terminal with the keys typed, and how often they read and write."""


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often a unit of work was begun for reading and for writing, and on how many engines."""
    counted: Counter[str] = Counter()
    enter = UnitOfWork.__enter__

    def counting(work: UnitOfWork) -> UnitOfWork:
        counted["reading" if work._read_only else "writing"] += 1
        return enter(work)

    def making(*args: object, **options: object) -> Engine:
        counted["engines"] += 1
        return create_engine(*args, **options)  # type: ignore[call-overload, no-any-return]

    database._engine_of.cache_clear()
    monkeypatch.setattr(UnitOfWork, "__enter__", counting)
    monkeypatch.setattr(database, "create_engine", making)
    return counted


def run(store: str, line: str, folder: Path) -> None:
    arguments = shlex.split(line.replace("FILE", str(folder / "jobs.jsonl")))
    done = CliRunner().invoke(kb, ["--store", store, "--who", "BT", *arguments])
    assert done.exit_code == 0, done.output


def test_a_command_that_only_looks_reads_once(
    small_store: str, opened: Counter[str], tmp_path: Path
) -> None:
    run(small_store, "job open lamp", tmp_path)
    for line in READS.splitlines():
        opened.clear()
        run(small_store, line, tmp_path)
        assert opened == {"reading": 1}, line


def test_a_command_that_stores_writes_once_and_reads_once_if_it_shows_what_it_will_store(
    small_store: str, opened: Counter[str], tmp_path: Path
) -> None:
    run(small_store, "job open lamp", tmp_path)
    for line in f"{WRITES}\n{DRAFTS}".splitlines():
        opened.clear()
        run(small_store, line, tmp_path)
        shown = {} if line in WRITES.splitlines() else {"reading": 1}
        assert opened == shown | {"writing": 1}, line


def test_a_command_that_shows_what_became_of_what_it_stored_reads_once_more(
    demo_store: str, opened: Counter[str], tmp_path: Path
) -> None:
    shop = copied(demo_store, tmp_path)
    run(shop, OPENING, tmp_path)
    for line in DONE.splitlines():
        opened.clear()
        run(shop, f"next-test {NUMBER} {line}", tmp_path)
        assert opened == {"reading": 2, "writing": 1}, line


@pytest.mark.parametrize(("line", "keys", "reading", "writing"), TALKS)
def test_at_a_terminal_a_command_reads_once_for_each_thing_it_shows(
    small_store: str,
    opened: Counter[str],
    tmp_path: Path,
    line: str,
    keys: str,
    reading: int,
    writing: int,
) -> None:
    run(small_store, "job open lamp", tmp_path)
    opened.clear()
    ok(type_at(small_store, *shlex.split(line), keys=keys))
    assert opened == Counter(reading=reading, writing=writing), line


def test_an_import_writes_once_and_then_prepares_recall(
    small_store: str, opened: Counter[str], tmp_path: Path
) -> None:
    record = {"opened": "2026-01-01", "complaint": "no crank"}
    (tmp_path / "jobs.jsonl").write_text(json.dumps(record))
    run(small_store, "import FILE", tmp_path)
    assert opened == {"engines": 1, "writing": 1, "reading": 1}
