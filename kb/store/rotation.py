"""Copies of a store that make room for newer ones, as long as the newer ones are as good."""

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from kb.errors import StoreOutdated, StoreUnusable
from kb.files import is_plain
from kb.store.address import BACKUP, DUMP, backups_of, dumps, file_of
from kb.store.backup import back_up, dated
from kb.store.condition import condition_of
from kb.store.sqlite_file import is_store


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotated:
    """A copy of a store, and the older ones removed for it; none where the store is `unsound`.

    `unsound` says what is wrong with the store, None where nothing is; `cleared` are half-written
    copies of programs that were stopped. `ahead` are copies whose names tell a moment to come: a
    clock was wrong, so they are neither removed nor counted.
    """

    copy: Path
    removed: tuple[Path, ...] = ()
    ahead: tuple[Path, ...] = ()
    unsound: str | None = None
    cleared: tuple[Path, ...] = ()


def rotate(address: str, target: Path | None = None, *, keep: int) -> Rotated:
    """Copy a store as `back_up` does, and remove older copies but for the newest so many.

    Only those under names given by default that are copies of a store, and only where all of it
    can be read: of one that cannot, an older copy may be the last good one.

    Parameters
    ----------
    keep : int
        At least 1; the new copy is one of them, unless it has a name of one's own.

    Raises
    ------
    StoreMissing, StoreUnusable, Conflict
        As for `kb.store.backup.back_up`.
    """
    source = file_of(address)
    store, ending = (source, BACKUP) if source else (dumps(address), DUMP)
    before, now = backups_of(store, ending), dated(store, ending)
    copy = back_up(address, target)
    if unsound := _unsound(address):
        return Rotated(copy=copy, unsound=unsound)
    copies = [each for each in before if _is_copy(each)]  # not what others copied meanwhile
    older = [each for each in copies if each.name < now.name]
    left = keep if target else keep - 1
    removed = older[: max(len(older) - left, 0)]
    for old in removed:
        old.unlink(missing_ok=True)
    return Rotated(copy=copy, removed=tuple(removed), ahead=tuple(copies[len(older) :]))


def _is_copy(path: Path) -> bool:
    """Whether a file with the name of a copy is one, and no file of somebody else's."""
    if not is_plain(path) or not path.is_file():
        return False
    if path.name.endswith(BACKUP):
        return is_store(path)
    with suppress(OSError), path.open("rb") as file:
        return file.read(len(_DUMPED)) == _DUMPED
    return False


_DUMPED = b"PGDMP"
"""What an archive of pg_dump in its custom format begins with (from memory)."""


def _unsound(address: str) -> str | None:
    """Say what is wrong with a store; one of an older revision is not looked through."""
    try:
        found = condition_of(address)
    except StoreOutdated:
        return None
    except StoreUnusable as error:  # a copy of it is made all the same, and must be told
        return str(error).rstrip(".")
    if found.is_sound:
        return None
    bad = len(found.cells)
    wrong = found.database or tuple(f"{each} is not there" for each in found.missing)
    return wrong[0] if wrong else f"{bad:,} value{'' if bad == 1 else 's'} cannot be read"
