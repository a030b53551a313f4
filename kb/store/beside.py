"""What belongs to a store by its name: places where nobody else's file may be put."""

import os
from collections.abc import Iterator
from pathlib import Path

from kb.errors import Conflict
from kb.files import LONGEST_NAME
from kb.store.address import INDEX, caches, desks, is_demo
from kb.store.sqlite_file import SIDES, is_database

LONGEST_STORE = LONGEST_NAME - max(map(len, SIDES))
"""Bytes that a store's name may have, so that what SQLite keeps beside it can be named, too."""


def database_beside(path: Path) -> Path | None:
    """Return the database that a path belongs to by its name, as its side file or in its index.

    None where there is none. Whether anything is at the path now does not matter.
    """
    return next((each for each in _may_belong_to(path) if is_database(each)), None)


def check_place(path: Path) -> None:
    """See that a new store, or a copy of one, may be put at a path.

    Names that SQLite gives to its own files are refused, whether there is such a store or not: what
    it finds under them is taken for its own, and thrown away.

    Raises
    ------
    Conflict
        If the place belongs to a store, to the demonstration shop or to what this program keeps.
    """
    store = database_beside(path)
    if store is not None:
        reason = f"belongs to the store {store}"
    elif path.name.casefold().endswith(SIDES):
        reason = "has a name that SQLite gives to its own files, and what is there may be lost"
    elif len(os.fsencode(path.name)) > LONGEST_STORE:
        reason = f"has a name of more than {LONGEST_STORE} bytes: SQLite has no room beside it"
    elif is_demo(path):
        reason = "is the place of the demonstration shop, which is made anew there"
    elif path.suffix == ".json" and path.absolute().parent == desks().absolute():
        reason = "is a place of what is typed and not stored"
    elif any(_is_index_of_server(each) for each in path.absolute().parents):
        reason = "is in an index, which is made again and cleared"
    else:
        return
    raise Conflict(f"file: {path} {reason}; name another place")


def _may_belong_to(path: Path) -> Iterator[Path]:
    """Yield what would be the database, were a name on the way to the path made from it."""
    for way in {path.absolute(), path.parent.resolve() / path.name}:
        for part in (way, *way.parents):
            for end in (*SIDES, INDEX):
                if part.name.casefold().endswith(end) and part.name != end:
                    yield part.with_name(part.name[: -len(end)])


def _is_index_of_server(folder: Path) -> bool:
    return folder.name.endswith(INDEX) and folder.parent == caches().absolute()
