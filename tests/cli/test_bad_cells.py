"""One bad cell is one bad cell: every command answers without it, and names it by job and field."""

import random
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date
from itertools import cycle
from pathlib import Path
from shutil import copy
from typing import Any

import pytest
from click.testing import CliRunner

from kb.case import Vehicle, VehicleModel
from kb.cli.main import kb
from kb.store.condition import condition_of
from kb.store.database import create_store
from kb.store.names import Thing
from kb.store.tables import METADATA
from kb.store.unit_of_work import UnitOfWork
from kb.store.watched import WatchAct
from tests.cli.test_hostile_text import filled
from tests.everywhere import questions
from tests.recall.shop import CASES

WRONG: tuple[Any, ...] = (
    *(None, "", "junk", "0000-00-00", "[1, {", b"\xff\xfe", -(2**63), 1e308),
    777,
)
"""Wrong types, impossible days, bad JSON, bytes that are no text, and nothing at all."""
CELLS = [(table.name, column.name) for table in METADATA.sorted_tables for column in table.columns]
OPEN, CLOSED = 50, 43
NOT_HERE = {("job", "work"), ("demo", "copy"), ("db", "check")}
"""What needs a terminal, where something is already, and what tells of it by its code."""


@pytest.fixture(scope="module")
def whole_shop(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Every table has rows, and every column of a job's a value."""
    path = tmp_path_factory.mktemp("whole") / "shop.sqlite"
    with UnitOfWork(create_store(str(path)), who="BT") as work:
        for case in CASES:
            work.jobs.add(case)
        job = filled(cycle(["seat plug"]), CLOSED, date(2026, 2, 1))
        work.jobs.add(job)
        work.jobs.add(replace(job, number=OPEN, closed=None, vehicle=Vehicle(make="Corvane")))
        work.words.add("zzz", ["seat plug"])
        work.names.join(Thing.COMPONENT, "plug of the seat", "seat plug")
        work.models.add(VehicleModel(make="Corvane", model="Lido", engines=("1.2",)))
        fact = dict.fromkeys(("location", "code", "make", "model")) | {"component": "seat plug"}
        work.watched.add(WatchAct.FOLLOW, fact, date(2026, 2, 1))
        work.commit()
    asked = ["--store", str(path), "causes", "airbag lamp on"]
    assert CliRunner().invoke(kb, asked).exit_code == 0
    return str(path)


def spoilt(shop: str, folder: Path, cell: tuple[str, str], raw: Any) -> str | None:
    """Copy a store and write a raw value into the last row of a table; None where refused."""
    table, column = cell
    address = str(copy(shop, folder / "shop.sqlite"))
    with closing(sqlite3.connect(address)) as connection:
        connection.execute("PRAGMA ignore_check_constraints=ON")
        statement = (
            f'UPDATE {table} SET "{column}" = ? WHERE rowid = (SELECT max(rowid) FROM {table})'
        )
        try:
            connection.execute(statement, (raw,))
        except sqlite3.IntegrityError:
            return None
        connection.commit()
    return address


def wrong_with(address: str, call: tuple[str, ...]) -> list[str]:
    """Run a question on a spoilt store; what is wrong with the answer."""
    result = CliRunner().invoke(kb, ["--store", address, *call])
    if result.exception and not isinstance(result.exception, SystemExit):
        return [f"{call[:3]}: {result.exception!r}"]
    if result.exit_code and call[:2] not in NOT_HERE:
        return [f"{call[:3]}: {result.output}"]
    if result.stderr.startswith("Note: left out: "):
        cells = condition_of(address).cells
        told = [f"job {cell.job}, {cell.field}" if cell.job else cell.field for cell in cells]
        return [] if any(each in result.stderr for each in told) else [f"{call[:3]}: unnamed"]
    return []


def calls(folder: Path) -> list[tuple[str, ...]]:
    """Questions that every sound store answers."""
    asked = questions("seat plug", OPEN, CLOSED, folder)
    return [each for each in asked if each.count("seat plug") < 1 and each[:1] != ("demo",)]


@pytest.mark.parametrize("cell", CELLS, ids=".".join)
def test_every_command_answers_without_it(
    whole_shop: str, tmp_path: Path, cell: tuple[str, str]
) -> None:
    """A wrong value and two commands for each column; the fuzzing has all with all."""
    chosen = random.Random(".".join(cell))
    address = spoilt(whole_shop, tmp_path, cell, chosen.choice(WRONG))
    if address is None:
        return
    some = chosen.sample(calls(tmp_path), 2)
    assert [each for call in some for each in wrong_with(address, call)] == []
    before = condition_of(address)
    mended = CliRunner().invoke(kb, ["--store", address, "db", "check", "--repair"])
    assert mended.exit_code == 0, mended.output
    assert condition_of(address).is_sound
    if before.cells:
        assert before.cells[0].field in mended.output


@pytest.mark.parametrize(
    ("cell", "raw", "named"),
    [
        (("readings", "value"), None, "job 50, readings[1].value"),
        (("jobs", "complaint"), b"\xff", "job 50, complaint"),
        (("jobs", "opened"), "0000-00-00", "job 50, opened"),
        (("words", "expansions"), "[1, {", "words.expansions"),
    ],
)
def test_it_is_named_and_nothing_is_recorded_on_it(
    whole_shop: str, tmp_path: Path, cell: tuple[str, str], raw: Any, named: str
) -> None:
    address = spoilt(whole_shop, tmp_path, cell, raw)
    assert address is not None
    shown = CliRunner().invoke(kb, ["--store", address, "job", "show", "50"])
    assert (shown.exit_code, shown.stdout.count("seat plug") > 5) == (0, True)
    asked = ["--store", address, "job", "edit", "50", "--set", "odometer_km=7", "--yes"]
    refused = CliRunner().invoke(kb, asked)
    if cell[0] != "words":
        assert named in shown.stderr
        assert refused.exit_code == 1
        assert named in refused.stderr
    assert named in CliRunner().invoke(kb, ["--store", address, "db", "check"]).output


@pytest.mark.parametrize("raw", ["x", b"\xff", 9999, ""])
@pytest.mark.parametrize("column", ["year", "make", "ref", "vin"])
def test_a_spoilt_car_stops_no_recording_of_others(
    whole_shop: str, tmp_path: Path, column: str, raw: Any
) -> None:
    """A car's cell is shop-wide knowledge only for the jobs of that car."""
    address = spoilt(whole_shop, tmp_path, ("vehicles", column), raw)
    if address is None or condition_of(address).is_sound:
        return
    given = [
        ["job", "open", "zebra lamp dead", "--yes"],
        ["job", "open", "zebra lamp dead", "--vehicle", "sunato kiri 2014", "--yes"],
        ["job", "add", "1", "zebra 12.1 V", "--yes"],
        ["job", "edit", "1", "--set", "notes=zebra", "--yes"],
    ]
    done = [CliRunner().invoke(kb, ["--store", address, *words]) for words in given]
    assert [each.exit_code for each in done] == [0, 0, 0, 0], [each.output for each in done]


@pytest.mark.parametrize("cell", CELLS, ids=".".join)
def test_what_a_spoilt_cell_keeps_from_being_stored_is_kept(
    whole_shop: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, cell: tuple[str, str]
) -> None:
    chosen = random.Random(".".join(cell))
    address = spoilt(whole_shop, tmp_path, cell, chosen.choice(WRONG))
    if address is None:
        return
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    for words in (
        ["open", "zebra lamp dead", "--vehicle", "Corvane"],
        ["add", "50", "zebra 12.1 V"],
        ["close", "50", "zebra plug, open"],
        ["add", "contact", "43", "zebra: fine again"],
        ["edit", "50", "--set", "notes=zebra"],
        ["void", "50", "--why", "zebra"],
    ):
        result = CliRunner().invoke(kb, ["--store", address, "job", *words, "--yes"])
        drafts = [each.read_text() for each in (tmp_path / "state").rglob("*.json")]
        kept = any("zebra" in each for each in drafts)
        if result.exit_code and "cannot be read" in result.stderr:
            assert (kept, "What you typed is kept" in result.stderr) == (True, True), result.output
        assert result.exit_code in {0, 1}, result.output
        for each in (tmp_path / "state").rglob("*.json"):
            each.unlink()
