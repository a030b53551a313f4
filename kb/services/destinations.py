"""Where a user may have something written: never over a store or what belongs to one."""

from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from kb.errors import Conflict, FileThere, UnreadableFile
from kb.files import is_plain
from kb.store.address import (
    BACKUP,
    DUMP,
    backups_of,
    desks,
    file_of,
    index_folder,
    shown,
)
from kb.store.beside import database_beside
from kb.store.sqlite_file import SIDES, is_database


def check_destination(
    path: Path, address: str, *, sources: Iterable[Path] = (), replace: bool = False
) -> None:
    """See that a file may be written at a path.

    Parameters
    ----------
    address : str
        Of the store in use: it, its index and its copies are never written over.
    sources : iterable of Path
        Files that are read meanwhile.
    replace : bool
        A file that is there is to be replaced.

    Raises
    ------
    Conflict
        If what stands there must not be replaced.
    FileThere
        If there is a file, and nobody said that it is to be replaced.
    UnreadableFile
        If there is no folder for it.
    """
    if not path.parent.is_dir():
        raise UnreadableFile(f"file: there is no folder {path.parent}; make it first")
    if not is_plain(path):
        what = "a link" if path.is_symlink() else "a folder" if path.is_dir() else "no plain file"
        raise Conflict(f"file: {path} is {what}, which is never written over; name another place")
    if _is_of_store(path, address):
        raise Conflict(
            f"file: {path} belongs to the store {shown(address)}, which is never written over; "
            "name another place"
        )
    if _is_of_any_store(path):
        raise Conflict(
            f"file: {path} is a store, a copy of one, or belongs to one, which is never written "
            "over; name another place"
        )
    if any(_same(path, source) for source in sources):
        raise Conflict(f"file: {path} is read at the same time; name another place to write to")
    if path.exists() and not replace:
        raise FileThere(f"file: {path} is there already; name another place, or give --force")


def free_name(path: Path) -> Path:
    """Return a path, or the first one that is free of it with a number before its last ending."""
    names = (path.with_name(f"{path.stem}.{count}{path.suffix}") for count in range(2, 10_000))
    return path if not path.exists() else next((each for each in names if not each.exists()), path)


def _is_of_store(path: Path, address: str) -> bool:
    store, folder = file_of(address), index_folder(address)
    if any(_same(parent, folder) for parent in path.absolute().parents):
        return True
    if store is None:
        return False
    beside = (store.with_name(store.name + end) for end in ("", *SIDES))
    return any(_same(path, each) for each in (*beside, *backups_of(store)))


def _is_of_any_store(path: Path) -> bool:
    """Whether it is a store that is not in use now, a copy, or a place of what is kept for one."""
    kept = path.name.endswith((BACKUP, DUMP)) or _same(path.parent, desks())
    return kept or is_database(path) or database_beside(path) is not None


def _same(one: Path, other: Path) -> bool:
    """Whether two paths lead to one file, under whatever name, or to one that is not there yet."""
    with suppress(OSError):
        return one.samefile(other)
    return one.absolute() == other.absolute()
