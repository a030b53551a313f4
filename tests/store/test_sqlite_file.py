"""A store that cannot be written can still be read."""

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from kb.store.sqlite_file import connect


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
from kb.store.sqlite_file import connect
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
