"""Erasing a text that names a person or a car: in the store, and in what is kept beside it."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec

from kb.files import read_whole, write_whole
from kb.services.indexing import forget_computed
from kb.store import cell_repair
from kb.store.address import DUMP, backups_of, desks, dumps, file_of, name_for_copies, shown
from kb.store.erasing import Eraser, HeldAt, erase, places_of, scrub
from kb.store.sqlite_file import SIDES


@dataclass(frozen=True, slots=True, kw_only=True)
class Erased:
    """What was erased, in how many places; never the text.

    `scrubbed` is false where others kept the freed room from being overwritten, and `beside` has
    the copies of the store that may hold the text still, and the files beside it that do. Of a
    store `in_server` the server keeps a log of changes, too.
    """

    address: str
    places: int
    scrubbed: bool
    beside: tuple[str, ...]
    in_server: bool


def places_to_erase(address: str, texts: Sequence[str]) -> list[HeldAt]:
    """List where texts stand in a store, and in what was typed and not stored; changes nothing.

    Raises
    ------
    InvalidField
        If there is no text, or one is too short to be told from others.
    KbError
        If the store cannot be read.
    """
    eraser = Eraser(texts)
    kept = [HeldAt(job=None, table="drafts", field="answers") for _ in _drafts_with(eraser)]
    return [*places_of(address, eraser), *kept]


def erase_for_good(address: str, texts: Sequence[str], *, who: str | None) -> Erased:
    """Erase texts in a store, its index and this user's drafts, and overwrite what is freed.

    Also where nothing is found the freed room is overwritten, so that it can be done again when
    others are done with the store. The index is made again at the next question.

    Raises
    ------
    KbError
        As for `places_to_erase`, or if the store cannot be written.
    """
    eraser = Eraser(texts)
    places = erase(address, eraser, who=who)
    forget_computed(address)
    drafts = _drafts_with(eraser)
    for path, masked in drafts:
        with suppress(OSError):
            write_whole(path, msgspec.json.encode(masked))
    return Erased(
        address=shown(address),
        places=len(places) + len(drafts),
        scrubbed=scrub(address),
        beside=tuple(map(str, _beside(address, eraser))),
        in_server=file_of(address) is None,
    )


def _drafts_with(eraser: Eraser) -> list[tuple[Path, Any]]:
    """List this user's drafts that hold a text, and each as it is masked."""
    found = []
    for path in desks().glob("*.json"):
        with suppress(OSError, msgspec.DecodeError):
            content: Any = msgspec.json.decode(read_whole(path))
            if (masked := eraser.masked(content)) != content:
                found.append((path, masked))
    return found


def _beside(address: str, eraser: Eraser) -> list[Path]:
    """List the copies of a store, and whatever else in its folder holds what was erased."""
    store = file_of(address) or dumps(address)
    begin = name_for_copies(store)
    endings = (cell_repair.ENDING, ".damaged.sqlite", DUMP)
    aside = (
        each
        for ending in endings
        for each in store.parent.glob(f"*{ending}")
        if each.name.startswith(f"{begin}.")
    )
    own = {store, *(store.with_name(f"{store.name}{end}") for end in SIDES)}
    others = (
        each
        for each in store.parent.glob("*")
        if each not in own and each.is_file() and eraser.is_in(each)
    )
    return list(dict.fromkeys([*backups_of(store), *sorted(aside), *sorted(others)]))
