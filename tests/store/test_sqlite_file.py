"""A store that cannot be written can still be read."""

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from kb.store.sqlite_file import SIDES, connect, why_refused


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Path]:
    """Of one row, in a folder that nobody may write."""
    path = tmp_path / "folder" / "odd name?#%.sqlite"
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(
            "PRAGMA journal_mode=WAL; CREATE TABLE t (a); INSERT INTO t VALUES (7)"
        )
    path.chmod(0o444)
    path.parent.chmod(0o555)
    yield path
    path.parent.chmod(0o755)


READ = """
import sys
from pathlib import Path
from kb.store.sqlite_file import connect, why_refused
connection = connect(Path(sys.argv[1]), 1)
print(connection.execute("SELECT a FROM t").fetchall())
connection.execute("INSERT INTO t VALUES (8)")
"""


def unprivileged(*words: str) -> list[str]:
    """Run as somebody whom permissions hold, also where the tests are run by root."""
    if os.geteuid():
        return [sys.executable, *words]
    if shutil.which("setpriv") is None:
        pytest.skip("root may write everywhere, and nothing here takes that away")
    drop = ["setpriv", "--bounding-set=-dac_override,-dac_read_search", "--inh-caps=-all"]
    return [*drop, sys.executable, *words]


def test_a_store_in_a_folder_that_cannot_be_written_is_read_and_not_changed(store: Path) -> None:
    done = subprocess.run(
        unprivileged("-c", READ, str(store)), capture_output=True, text=True, check=False
    )
    assert done.stdout == "[(7,)]\n", done.stderr
    assert "readonly database" in done.stderr
    assert [each.name for each in store.parent.iterdir()] == [store.name]


def test_changes_that_wait_beside_it_are_never_overlooked(store: Path) -> None:
    store.parent.chmod(0o755)
    store.with_name(f"{store.name}-wal").write_bytes(b"something")
    store.parent.chmod(0o555)
    done = subprocess.run(
        unprivileged("-c", READ, str(store)), capture_output=True, text=True, check=False
    )
    assert done.returncode
    assert done.stdout == ""


def test_what_is_not_there_or_no_store_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "words").write_text("no store" * 1000)
    with pytest.raises(sqlite3.DatabaseError):
        connect(tmp_path / "words", 1)
    with pytest.raises(sqlite3.OperationalError):
        connect(tmp_path / "none" / "store", 1)


def test_what_is_not_there_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(sqlite3.OperationalError):
        connect(tmp_path / "none.sqlite", 1)
    assert not list(tmp_path.iterdir())


TOLD = """
import sys
from datetime import date
from kb.case import Job, Vehicle
from kb.errors import StoreUnusable
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
try:
    with UnitOfWork(open_store(sys.argv[1])) as work:
        work.jobs.add(Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank " * 900))
        work.commit()
except StoreUnusable as error:
    print(error)
"""


def told_of(store: Path) -> str:
    """What is said to whoever stores a job there."""
    done = subprocess.run(
        unprivileged("-c", TOLD, str(store)), capture_output=True, text=True, check=False
    )
    assert done.stdout, done.stderr
    return done.stdout


def test_a_file_and_a_folder_that_may_not_be_written_are_told_apart(empty_store: str) -> None:
    path = Path(empty_store)
    path.chmod(0o444)
    assert "you may read the file and not write it" in told_of(path)
    path.chmod(0o000)
    assert "you may not read the file" in told_of(path)
    path.chmod(0o600)
    path.parent.chmod(0o555)
    try:
        assert "you may not write in its folder" in told_of(path)
    finally:
        path.parent.chmod(0o755)


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Path]:
    """A disk of one megabyte, where one may be made."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "none", str(folder)]
    if shutil.which("mount") is None or subprocess.run(mount, check=False).returncode:
        pytest.skip("no disk may be mounted here")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_full_disk_and_one_that_may_only_be_read_are_told_apart(
    empty_store: str, mounted: Path
) -> None:
    path = Path(shutil.copy(empty_store, mounted / "shop.sqlite"))
    with suppress(OSError), (mounted / "filler").open("wb", buffering=0) as filler:
        while True:
            filler.write(bytes(4096))
    assert "no room is left on its disk" in told_of(path)
    subprocess.run(["mount", "-o", "remount,ro", str(mounted)], check=True)
    assert "the drive it lies on may only be read" in told_of(path)


def test_a_full_disk_is_told_by_what_the_system_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    full = sqlite3.OperationalError("attempt to write a readonly database")
    full.sqlite_errorcode = sqlite3.SQLITE_READONLY
    assert why_refused(tmp_path / "shop.sqlite", full) is None

    def refuse(**_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("kb.store.sqlite_file.TemporaryFile", refuse)
    told = why_refused(tmp_path / "shop.sqlite", full)
    assert told == "no room is left on its disk: make room"
    gone = why_refused(tmp_path / "no folder" / "shop.sqlite", full)
    assert gone is not None
    assert "connect that first" in gone
    full.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
    assert why_refused(tmp_path / "shop.sqlite", full) is None


@pytest.mark.parametrize("side", SIDES)
def test_what_stands_where_the_database_keeps_its_own_files_is_named(
    empty_store: str, side: str
) -> None:
    full = sqlite3.OperationalError("unable to open database file")
    full.sqlite_errorcode = sqlite3.SQLITE_CANTOPEN
    os.mkfifo(empty_store + side)
    told = why_refused(Path(empty_store), full)
    assert told is not None
    assert told.startswith(f"{empty_store}{side} is no plain file")
