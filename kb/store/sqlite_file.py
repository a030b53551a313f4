"""Opening an SQLite store, also where nothing can be written beside it."""

import sqlite3
from contextlib import suppress
from pathlib import Path

_NO_ROOM = {
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
}
"""What SQLite answers, without its details, where it cannot make the files that it keeps beside a
store: https://www.sqlite.org/rescode.html"""
DETAIL = 0xFF
"""Masks out of SQLite's answer what it says more closely."""
_HEADER = b"SQLite format 3\0"
"""What every such database begins with: https://www.sqlite.org/fileformat.html"""


def connect(path: Path, seconds: float) -> sqlite3.Connection:
    """Open a store for reading and writing, or for reading alone where it cannot be written.

    A store in a folder that cannot be written, or on a full disk, is read as it lies there. That is
    whole as long as no change waits beside it to be taken in. One that is not there is not made: an
    empty file would be taken for a store, or keep one from its place.

    Parameters
    ----------
    seconds : float
        How long to wait for another program that writes.

    Raises
    ------
    sqlite3.Error
        If it cannot be read either.

    References
    ----------
    Read-only databases in WAL mode, https://www.sqlite.org/wal.html#readonly
    """
    file = path.absolute().as_uri()
    try:
        return _tried(sqlite3.connect(f"{file}?mode=rw", seconds, uri=True))
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & DETAIL not in _NO_ROOM or not path.is_file():
            raise
        for how in ("mode=ro", *(() if _changes_wait(path) else ("mode=ro&immutable=1",))):
            with suppress(sqlite3.OperationalError):
                return _tried(sqlite3.connect(f"{file}?{how}", seconds, uri=True))
        raise


def is_database(path: Path) -> bool:
    """Whether a file that can be read is an SQLite database with something in it."""
    if not path.is_file():
        return False
    try:
        with path.open("rb") as file:
            return file.read(len(_HEADER)) == _HEADER
    except OSError:
        return False


def _tried(connection: sqlite3.Connection) -> sqlite3.Connection:
    """Read something, so that what cannot be opened is known now."""
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _changes_wait(path: Path) -> bool:
    """Whether committed changes may lie beside the store that are not yet in it."""
    waiting = (path.with_name(f"{path.name}{end}") for end in ("-wal", "-journal"))
    return any(each.exists() and each.stat().st_size for each in waiting)
