"""A copy of an SQLite store, taken while others may be using it."""

import os
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from kb.errors import Conflict, StoreMissing, StoreUnusable
from kb.files import replacing
from kb.store.address import BACKUP, file_of, shown


def back_up(address: str, target: Path | None = None) -> Path:
    """Copy an SQLite store to a file of its own.

    By default beside the store, with the moment in its name. The copy appears under its name only
    when it is whole.

    Raises
    ------
    StoreMissing
        If there is no store.
    StoreUnusable
        If the store is in a database server, or cannot be read, or the copy cannot be written.
    Conflict
        If the target exists already.

    References
    ----------
    The online backup of SQLite, https://www.sqlite.org/backup.html
    """
    source = file_of(address)
    if source is None:
        raise StoreUnusable(
            f"store: {shown(address)} is in a database server; use the server's own backup, "
            "such as pg_dump"
        )
    if not source.exists():
        raise StoreMissing(f"store: there is none at {source}, so nothing to copy")
    moment = datetime.now().astimezone()
    target = target or source.with_name(f"{source.stem}.{moment:%Y-%m-%d_%H%M%S_%f}{BACKUP}")
    if os.path.lexists(target):
        raise Conflict(f"backup: {target} exists already; choose another name")
    try:
        with (
            replacing(target, anew=True) as part,
            closing(sqlite3.connect(source)) as store,
            closing(sqlite3.connect(part)) as copy,
        ):
            store.backup(copy)
    except (sqlite3.Error, OSError) as error:
        raise StoreUnusable(
            f"backup: {source} cannot be copied to {target}: {error}; "
            "check both folders and the room on the disk"
        ) from error
    return target
