"""Copies of a store: taken while others may be using it, read back, and an SQLite one put back."""

import os
import sqlite3
import time
from collections.abc import Iterable, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from glob import escape
from pathlib import Path

from kb.errors import Conflict, StoreMissing, StoreUnusable
from kb.files import clear_abandoned, replacing
from kb.local_time import local_now
from kb.patterns import compiled
from kb.store.address import BACKUP, DUMP, dumps, file_of, name_for_copies, shown
from kb.store.beside import check_place
from kb.store.dump import dump
from kb.store.sqlite_file import DETAIL, SIDES, connect, why_refused
from kb.store.tables import METADATA, REVISIONS

PATIENCE_SECONDS = 10
"""How long to wait for another program that writes."""
_WAITED_FOR = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_NO_DAMAGE = _WAITED_FOR | {
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_FULL,
}
"""What SQLite answers where a file is not to blame: https://www.sqlite.org/rescode.html"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A store that was put back: where, from which copy, and where what was there before went.

    `undone` counts the changes that the store had and the copy has not.
    """

    address: str
    source: Path
    before: Path | None
    undone: int


class NewerStore(Conflict):
    """The store has changes that the copy to be put back has not."""


def back_up(address: str, target: Path | None = None) -> Path:
    """Copy a store to a file of its own, and read the copy back.

    By default beside an SQLite store, or in the user's data folder, with the moment in its name.
    The copy appears under its name only when it is whole.

    Raises
    ------
    StoreMissing
        If there is no store.
    StoreUnusable
        If the store cannot be read, is damaged or no case store, or the copy cannot be written;
        of one in a database server, if that cannot be copied.
    Conflict
        If the target exists already, or belongs to a store.

    References
    ----------
    The online backup of SQLite, https://www.sqlite.org/backup.html
    """
    source, ending = file_of(address), BACKUP
    if source is None:
        source, ending = dumps(address), DUMP
        source.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    elif not source.exists():
        raise StoreMissing(f"store: there is none at {source}, so nothing to copy")
    given, target = target, target or dated(source, ending)
    clear_parts(address)
    if os.path.lexists(target):
        raise Conflict(f"backup: {target} exists already; choose another name")
    if given:
        check_place(given)
    try:
        with replacing(target, anew=True) as part:
            if ending == DUMP:
                dump(address, part)
            else:
                with closing(connect(source, PATIENCE_SECONDS)) as store:
                    _copy(store, part)
                _check_whole(part, source)
    except (sqlite3.Error, OSError) as error:
        raise StoreUnusable(
            f"backup: {shown(address)} cannot be copied to {target}: {_told(error, source, target)}"
        ) from error
    return target


def clear_parts(address: str) -> list[Path]:
    """Remove what programs that were stopped left half written of copies; says which.

    Only under names given by default, see `kb.files.clear_abandoned`.
    """
    source, ending = file_of(address), BACKUP
    if source is None:
        source, ending = dumps(address), DUMP
    return clear_abandoned(source.parent, f"{escape(name_for_copies(source))}.*{ending}")


def restore(address: str, copy: Path, *, undo: bool = False) -> Restored:
    """Put a copy in the place of an SQLite store; what was there is copied first.

    Others may have the store open: they see it as it was or as it is then. A store that cannot be
    read any more is put aside under another name. Where there is no room, all stays as it was.

    Parameters
    ----------
    undo : bool
        Also where the store has changes that the copy has not.

    Raises
    ------
    NewerStore
        If it has, and `undo` is not said.
    Conflict
        If the copy is the store itself, or the place where none is yet belongs to another.
    StoreUnusable
        If the store is in a database server, the copy is damaged or no case store, or something
        cannot be written.
    """
    store = file_of(address)
    if store is None:
        raise StoreUnusable(
            f"store: {shown(address)} is in a database server; put a copy back with its own "
            "pg_restore: pg_restore --clean --if-exists --single-transaction --dbname=URL COPY"
        )
    if not copy.is_file():
        raise StoreUnusable(f"restore: there is no copy at {copy}; name the file of one")
    if store.exists() and store.samefile(copy):
        raise Conflict(f"restore: {copy} is the store itself; name a copy of it")
    if not store.exists():
        check_place(store)
    try:
        _check_whole(copy, copy)
        _check_own(copy)
        undone, last = _changes_since(store, copy) if store.exists() else (0, "")
        if undone and not undo:
            raise NewerStore(
                f"restore: {store} has {_changes(undone)} that the copy has not, the last of "
                f"{last[:10]}; name a newer copy, or give --force (it is copied first)"
            )
        store.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not store.exists() or _is_damaged(store):
            before = _put_in_place(copy, store)
        else:
            before = back_up(address)
            with closing(connect(copy, PATIENCE_SECONDS)) as source:
                _copy(source, store)
    except (sqlite3.Error, OSError) as error:
        raise StoreUnusable(
            f"restore: {copy} cannot be put back to {store}: {_told(error, copy, store)}"
        ) from error
    return Restored(address=shown(address), source=copy, before=before, undone=undone)


def _changes(count: int) -> str:
    return f"{count:,} change{'' if count == 1 else 's'}"


def _told(error: sqlite3.Error | OSError, source: Path, target: Path) -> str:
    """Say why something could not be copied, and what helps."""
    code = getattr(error, "sqlite_errorcode", 0) & DETAIL
    if code in {sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT}:
        return f"{source} is cut off, damaged or no store ({error}); take another one"
    why = why_refused(target, error) or why_refused(source, error)
    return why or f"{error}; check both folders and the room on the disk"


def dated(store: Path, ending: str) -> Path:
    """Return the name of a file beside a store that is made of it now."""
    moment = local_now()
    return store.with_name(f"{name_for_copies(store)}.{moment:%Y-%m-%d_%H%M%S_%f}{ending}")


def _copy(source: sqlite3.Connection, target: Path) -> None:
    until = time.monotonic() + PATIENCE_SECONDS

    def wait(code: int, _left: int, _all: int) -> None:
        if code in _WAITED_FOR and time.monotonic() > until:
            raise sqlite3.OperationalError("another program is writing to it")

    with closing(sqlite3.connect(target, PATIENCE_SECONDS)) as copy:
        source.backup(copy, progress=wait)


def complaints(lines: Iterable[str]) -> Iterator[str]:
    """Return of what ``PRAGMA integrity_check`` says what is more than a value that does not fit.

    A copy of such a value is as good as the store; `kb.store.condition` names it.
    """
    return (line for line in lines if line != "ok" and not _MISFIT.match(line))


_MISFIT = compiled(r"CHECK constraint failed|(?:NULL|NUMERIC|TEXT|non-\S+) value in")


def _check_whole(path: Path, named: Path) -> None:
    """Read a copy through, so that nobody relies on one that cannot be put back."""
    with closing(connect(path, PATIENCE_SECONDS)) as copy:
        tables = {name for (name,) in copy.execute("SELECT name FROM sqlite_schema")}
        if not {"jobs", "changes", "alembic_version"} <= tables:
            raise StoreUnusable(f"store: {named} is no case store")
        revision = _revision_of(copy)
        lost = next(_lost(copy), None) if revision == REVISIONS[-1] else None
        if lost is not None:
            raise StoreUnusable(
                f"store: {named} lacks {lost}; put back a copy that has it with 'kb db restore'"
            )
        found = list(complaints(line for (line,) in copy.execute("PRAGMA integrity_check")))
    if found:
        raise StoreUnusable(
            f"store: {named} is damaged: {'; '.join(found[:3])}; put a sound copy in its place: "
            "'kb db restore COPY'"
        )


def _revision_of(store: sqlite3.Connection) -> object:
    """Return the revision that a store tells, None where it tells none."""
    columns = {name for _, name, *_ in store.execute("PRAGMA table_info(alembic_version)")}
    if "version_num" not in columns:
        return None
    return next(store.execute("SELECT version_num FROM alembic_version"), (None,))[0]


def _lost(store: sqlite3.Connection) -> Iterator[str]:
    """Yield which tables and columns of this program's revision a store lacks."""
    for name, table in sorted(METADATA.tables.items()):
        there = {column for _, column, *_ in store.execute(f"PRAGMA table_info({name})")}
        if not there:
            yield f"the table {name}"
        elif lost := sorted({column.name for column in table.columns} - there):
            yield f"the column {name}.{lost[0]}"


def _check_own(copy: Path) -> None:
    """See that a copy is of a program no newer than this one, and that nothing acts in it."""
    with closing(connect(copy, PATIENCE_SECONDS)) as store:
        revision = _revision_of(store)
        acting = "SELECT type, name FROM sqlite_schema WHERE type IN ('trigger', 'view')"
        strange = next(store.execute(acting), None)
    if revision is None:
        raise StoreUnusable(f"restore: {copy} does not tell its revision; take another copy")
    if revision not in REVISIONS:
        raise StoreUnusable(
            f"restore: {copy} has revision {revision!r}, which this program does not know; put it "
            "back with the program that made it, or a newer one"
        )
    if strange is not None:
        raise StoreUnusable(
            f"restore: {copy} holds the {' '.join(strange)}, which is none of this program's and "
            "may change what is stored; take another copy"
        )


def _changes_since(store: Path, copy: Path) -> tuple[int, str]:
    """Count the changes of a store that a copy has not; 0 where it cannot be read any more."""
    with closing(connect(copy, PATIENCE_SECONDS)) as source:
        (last,) = source.execute("SELECT max(sequence) FROM changes").fetchone()
    try:
        with closing(connect(store, PATIENCE_SECONDS)) as now:
            query = "SELECT count(*), max(at) FROM changes WHERE sequence > ?"
            count, at = now.execute(query, (last or 0,)).fetchone()
    except sqlite3.Error:
        return 0, ""
    return count, str(at)


def _is_damaged(store: Path) -> bool:
    """Whether a store cannot be read any more, and not for want of room or leave."""
    try:
        _check_whole(store, store)
    except StoreUnusable:
        return True
    except sqlite3.Error as error:
        if error.sqlite_errorcode & DETAIL in _NO_DAMAGE:
            raise
        return True
    return False


def _put_in_place(copy: Path, store: Path) -> Path | None:
    """Put a copy where no store is, or a damaged one, and that aside as soon as there is another.

    What SQLite keeps beside a store goes with it, for it would be taken into the new one.
    """
    with replacing(store) as part:
        with closing(connect(copy, PATIENCE_SECONDS)) as source:
            _copy(source, part)
        aside, was_there = dated(store, ".damaged.sqlite"), store.exists()
        if was_there:
            _put_aside(store, aside)
        for end in SIDES:
            with suppress(FileNotFoundError):
                store.with_name(store.name + end).rename(aside.with_name(aside.name + end))
    return aside if was_there else None


def _put_aside(store: Path, aside: Path) -> None:
    """Give a store another name, and leave it the old one meanwhile where that can be."""
    try:
        aside.hardlink_to(store)
    except OSError:
        store.rename(aside)
