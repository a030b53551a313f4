"""Opening an SQLite store, also where nothing can be written beside it."""

import errno
import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryFile

from kb.files import is_plain

_NO_ROOM = {
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
}
"""What SQLite answers, without its details, where it cannot make the files that it keeps beside a
store: https://www.sqlite.org/rescode.html"""
SIDES = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a database's name: https://www.sqlite.org/tempfiles.html"""
DETAIL = 0xFF
"""Masks out of SQLite's answer what it says more closely."""
TABLES = frozenset({"jobs", "changes", "vehicles"})
"""Tables of every revision, by which a store is known."""
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


def why_refused(path: Path, error: BaseException | None) -> str | None:
    """Say why a store cannot be written or opened, with the cure; None where nobody can tell.

    SQLite has the same words for a full disk, a file, a folder and a drive that can only be read,
    so the place is looked at.

    Parameters
    ----------
    error : BaseException or None
        What SQLite answered; nothing is said of one that has other reasons.
    """
    code = getattr(error, "sqlite_errorcode", None)
    if code is None or code & DETAIL not in _NO_ROOM:
        return None
    folder = path.parent
    if not folder.is_dir():
        return f"its folder {folder} is not there: if it is on a drive or share, connect that first"
    return _in_the_way(path) or _no_leave(path, folder) or _no_room(folder)


def _in_the_way(path: Path) -> str | None:
    """Say what stands where SQLite keeps its own files beside a store."""
    for side in SIDES:
        beside = path.with_name(path.name + side)
        if not is_plain(beside):
            return f"{beside} is no plain file, and the database needs one there: move it away"
    return None


def _no_leave(path: Path, folder: Path) -> str | None:
    """Say what of a store may not be read or written."""
    if _only_read(folder):
        return "the drive it lies on may only be read: have it mounted for writing"
    if path.exists() and not os.access(path, os.R_OK):
        return "you may not read the file: have its permissions set"
    if path.exists() and not os.access(path, os.W_OK):
        return "you may read the file and not write it: have its permissions set"
    if not os.access(folder, os.W_OK | os.X_OK):
        return f"you may not write in its folder {folder}, where a journal is kept beside it"
    return None


def _only_read(folder: Path) -> bool:
    """Whether nothing on a drive may be written, where the system tells."""
    if not hasattr(os, "statvfs"):
        return False
    return bool(os.statvfs(folder).f_flag & os.ST_RDONLY)


_TRIED_BYTES = 65_536
"""Somewhat more than the smallest of what SQLite keeps beside a store."""


def _no_room(folder: Path) -> str | None:
    """Say that a disk is full, by writing to it what is gone again at once."""
    try:
        with TemporaryFile(dir=folder) as file:
            file.write(bytes(_TRIED_BYTES))
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            return "no room is left on its disk: make room"
        return f"nothing can be written in its folder {folder}: {error.strerror}"
    return None


def is_database(path: Path) -> bool:
    """Whether a file that can be read is an SQLite database with something in it."""
    if not path.is_file():
        return False
    try:
        with path.open("rb") as file:
            return file.read(len(_HEADER)) == _HEADER
    except OSError:
        return False


def is_store(path: Path) -> bool:
    """Whether a file is a case store, of whatever revision; nothing is made beside it."""
    if not is_database(path):
        return False
    try:
        with closing(
            sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
        ) as found:
            tables = {name for (name,) in found.execute("SELECT name FROM sqlite_schema")}
    except sqlite3.Error:
        return False
    return tables >= TABLES


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
