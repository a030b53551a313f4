"""A clock behind the store's last change is told before anything is stored, and nothing else."""

import json
import os
import sqlite3
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from kb.cli.main import kb
from kb.store.address import backups_of
from kb.store.clock import MOST_AHEAD
from tests import everywhere
from tests.cli.terminal import Terminal
from tests.everywhere import questions
from tests.store.test_clock import in_store, last_change

TOLD = "The clock of this machine says"
LINE = ("job", "add", "6", "--yes", "replaced door latch, cured")


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "--who", "BT", *words])


def ok(done: Result) -> Result:
    assert done.exit_code == 0, done.output
    return done


def behind(address: str, by: timedelta = timedelta(days=2)) -> None:
    """Have this machine's clock behind the store's last change, or ahead of it."""
    last_change(address, in_store(datetime.now(UTC) + by))


def changes(address: str) -> int:
    with closing(sqlite3.connect(address)) as store:
        return int(store.execute("SELECT count(*) FROM changes").fetchone()[0])


@pytest.mark.parametrize("by", [timedelta(days=2), timedelta(hours=1), -2 * MOST_AHEAD])
def test_a_script_is_told_and_goes_on_and_is_told_no_more(small_store: str, by: timedelta) -> None:
    behind(small_store, by)
    first, again = ok(run(small_store, *LINE)), ok(run(small_store, *LINE))
    assert first.stderr.count(TOLD) == 1
    assert TOLD not in first.stdout
    assert TOLD not in again.output


def test_whatever_stores_something_tells_it_once_and_what_only_reads_does_not(
    small_store: str, tmp_path: Path
) -> None:
    (tmp_path / "given.jsonl").write_text('{"opened": "2026-01-01", "complaint": "no crank"}')
    reads = [("job", "show", "6"), ("job", "list"), ("causes", "relay"), ("export",)]
    calls = everywhere.changes("relay", 6, 1, tmp_path)
    stored = set()
    for call in (*reads, *(each for each in calls if each[0] != "weights")):
        behind(small_store)
        before = changes(small_store)
        said = run(small_store, *call).stderr.count(TOLD)
        if changes(small_store) > before or call == ("db", "backup"):
            assert said == 1, call
            stored.add(everywhere.named(call))
        elif call in reads:
            assert said == 0, call
    assert len(stored) > 15, stored


@pytest.mark.parametrize("command", ["check", "status"])
def test_it_is_told_of_the_store_and_is_no_fault_of_it(small_store: str, command: str) -> None:
    assert TOLD not in ok(run(small_store, "db", command)).output
    behind(small_store)
    assert TOLD in ok(run(small_store, "db", command)).output
    told = json.loads(ok(run(small_store, "db", command, "--json")).output)["clock"]
    assert told["now"] < told["last"]


def test_at_a_terminal_it_stands_before_the_first_question(small_store: str) -> None:
    behind(small_store)
    with Terminal("job", "add", "6", store=small_store) as screen:
        shown = screen.expect("What to add")
        assert "set the clock" in " ".join(shown.split())
        screen.answer("horn relay clicks")
        screen.expect("Store it")
        screen.answer("y")
    assert screen.code == 0, screen.shown
    assert screen.shown.count(TOLD) == 1


def test_an_import_at_a_terminal_is_asked_about(small_store: str, tmp_path: Path) -> None:
    file = tmp_path / "jobs.jsonl"
    file.write_text('{"opened": "2026-01-01", "complaint": "no crank"}')
    behind(small_store)
    before = changes(small_store)
    with Terminal("import", str(file), store=small_store) as screen:
        screen.expect("Go on with this clock?")
        screen.answer("")
    assert screen.code == 1, screen.shown
    assert changes(small_store) == before


def test_the_copy_just_made_is_kept_whatever_the_clock_says(small_store: str) -> None:
    later = Path(small_store).with_name("small.2999-01-01_000000_000000.backup.sqlite")
    ok(run(small_store, "db", "backup", str(later)))
    for keep in ("1", "2"):
        made = ok(run(small_store, "db", "backup", "--keep", keep)).stdout
        kept = backups_of(Path(small_store))
        assert later in kept  # nobody knows when it was made
        assert len(kept) == int(keep) + 1
        assert any(str(each) in made for each in kept if each != later)


@pytest.mark.parametrize("zone", ["UTC-24", "XXX+24", "UTC-99", "UTC+167:59"])
def test_a_zone_that_no_calendar_has_stops_no_command(
    small_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, zone: str
) -> None:
    """Moments are told in UTC then."""
    before = os.environ["TZ"]
    told = []
    try:
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        for call in questions("seat", 6, 1, tmp_path):
            if call[0] in {"evaluate", "demo"}:
                continue
            told.append(CliRunner().invoke(kb, ["--store", small_store, *call]))
        for words in (
            ["job", "add", "6", "seat plug 2.2 V", "--yes"],
            ["job", "close", "6", "seat plug, open", "--yes"],
            ["job", "void", "6", "--why", "twice", "--yes"],
            ["db", "backup"],
        ):
            told += [CliRunner().invoke(kb, ["--store", small_store, *words])]
    finally:
        os.environ["TZ"] = before
        time.tzset()
    failed = [each.exception for each in told]
    assert [each for each in failed if not isinstance(each, SystemExit | None)] == []
