"""How a store with values that cannot be read back is mended, or asked without them."""

from collections import defaultdict
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory
from typing import Any
from uuid import uuid4

import msgspec
from sqlalchemy import Connection, func, insert, select

from kb.bounds import LARGEST_INTEGER
from kb.case import UNREADABLE, EntryKind, Vehicle
from kb.errors import StoreUnusable
from kb.files import is_plain, write_whole
from kb.store.address import READABLE, dumps, file_of, index_folder, shown
from kb.store.backup import back_up, dated
from kb.store.changes import Changes
from kb.store.condition import (
    LIST_OF_TABLE,
    BadCell,
    as_it_lies,
    at_key,
    bad_cells,
    raw_column,
    raw_rows,
)
from kb.store.database import explained, open_store
from kb.store.kept_values import kept_value
from kb.store.mapping import CAUSE_COLUMNS, INNER_COLUMNS, VEHICLE_FIELDS, vehicle_row
from kb.store.names import ShopNames
from kb.store.tables import (
    CHANGES,
    JOBS,
    LISTS,
    METADATA,
    NAMES,
    VEHICLE_MODELS,
    VEHICLES,
    WATCHED,
    WORDS,
)
from kb.store.transaction import Transaction

ENDING = ".unreadable.jsonl"
"""Of the name of a file with what could not be read."""
_DISPENSABLE = (CHANGES, NAMES, VEHICLE_MODELS, WATCHED, WORDS)
"""Tables whose rows stand for themselves alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """What was mended: the store as it was, what stood there word for word, and what is left.

    `restored` are fields that the store told elsewhere: its history, or what was typed. `emptied`
    and `taken_out` are fields that may be empty and list items that are gone; `guessed` are values
    that a job or car cannot be without, and what stands there now was taken from the rest of the
    store, or says only that nothing is known. `now` is what stands where something was restored or
    guessed, by `BadCell.place`.
    """

    backup: Path
    kept: Path
    restored: tuple[BadCell, ...]
    emptied: tuple[BadCell, ...]
    taken_out: tuple[BadCell, ...]
    guessed: tuple[BadCell, ...]
    left: tuple[BadCell, ...]
    now: Mapping[str, str]


_CELLS = ("restored", "emptied", "taken_out", "guessed", "left")
_FINAL = {"taken_out", "guessed", "left"}


def mend(address: str, who: str | None = None) -> Mended:
    """Mend what can be mended, after a copy; what stood there is kept word for word in a file.

    A field that the store tells elsewhere, too (`kept_value`), is made what it was. Otherwise one
    that may be empty is emptied, an item of a list whose value it cannot be without, or whose job
    is not there, is taken out. An opening day that cannot be read becomes the closing day or,
    without one, the day of the job's first change; a job whose number cannot be one is given back
    what rows with its complaint tell, else the next, and a job whose car is not there one of which
    nothing is known. Everything is noted in the history of the job.

    Raises
    ------
    StoreUnusable
        If the store cannot be copied or written.
    """
    store = file_of(address)
    backup = back_up(address)
    kept = dated(store or dumps(address), ENDING)
    engine = open_store(address)
    with explained(engine.url), engine.connect() as reading:
        connection = reading.execution_options(kb_read_only=False)
        with connection.begin():
            if connection.dialect.name == "sqlite":  # a job's number is changed where it stands
                connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
            cells = list(bad_cells(connection))
            write_whole(kept, b"".join(raw_rows(connection, cells)), anew=True)
            transaction = Transaction(connection)
            done = _all_mended(transaction, Changes(transaction, who), cells)
            ShopNames(transaction, Changes(transaction, who)).count_again()
    told = {how: tuple(e.cell for e in done if e.how == how) for how in _CELLS}
    now = {e.cell.place: e.told for e in done if e.how in {"restored", "guessed"} and e.told}
    return Mended(backup=backup, kept=kept, **told, now=now)


@dataclass(slots=True)
class _Done:
    """What became of a cell, at first and in the end; `told` is what stands there now, as text."""

    cell: BadCell
    how: str = ""
    told: str | None = None


def _all_mended(
    transaction: Transaction, changes: Changes, cells: Iterable[BadCell]
) -> Iterable[_Done]:
    """Mend cells until no more are found, and note what was done."""
    connection = transaction.flushed()
    done: dict[tuple[Any, ...], _Done] = {}
    tried: dict[tuple[Any, ...], set[str]] = defaultdict(set)
    cells = list(cells)
    if given_back := _given_back(connection, cells):  # before what hangs on it is taken out
        for cell, number in given_back:
            here = at_key(JOBS, cell.key)
            connection.execute(JOBS.update().where(here).values(number=number))
            done[cell.table, cell.key, cell.column] = _Done(cell, "restored", str(number))
            changes.note(number, cell.field, cell.raw, number)
        transaction.flushed()
        cells = list(bad_cells(connection))
    while cells:
        for cell in sorted(cells, key=_is_made_of_others):
            at = (cell.table, cell.key, cell.column)
            if _is_number(cell):
                transaction.flushed()  # what was noted of the job goes along with its number
            how, new = _mended(connection, cell, tried[at])
            tried[at].add(how)
            each = done.setdefault(at, _Done(cell))
            each.how, each.told = how, None if new is None else str(new)
            if how != "left":
                job = int(str(new)) if _is_number(cell) else _job_of(connection, cell)
                changes.note(job, cell.field, cell.raw, msgspec.to_builtins(new))
        transaction.flushed()
        # what was emptied where other fields need it, and the next that is wrong in a row
        found = bad_cells(connection)
        cells = [c for c in found if not tried[c.table, c.key, c.column] & _FINAL]
    return done.values()


@contextmanager
def readable_part(address: str) -> Iterator[str]:
    """Copy an SQLite store with its index, mend the copy, and give its address; gone afterwards.

    So a store with values that cannot be read is asked without them, and stays as it is.

    Raises
    ------
    StoreUnusable
        If it cannot be copied, or is in a database server.
    """
    if file_of(address) is None:
        raise StoreUnusable(f"store: {shown(address)} is in a database server, not in a file")
    with TemporaryDirectory(prefix="kb-") as folder:
        copy = str(back_up(address, Path(folder) / READABLE))
        if (index := index_folder(address)).is_dir():
            with suppress(OSError):  # what cannot be copied is made again
                copytree(index, index_folder(copy), ignore=_strange)
        mend(copy)
        yield copy


def _strange(folder: str, names: list[str]) -> list[str]:
    """Return which names in a folder are neither plain files nor folders: some have no end."""
    inside = (Path(folder) / name for name in names)
    return [
        each.name
        for each in inside
        if not is_plain(each) and (each.is_symlink() or not each.is_dir())
    ]


def _is_number(cell: BadCell) -> bool:
    return cell.table == JOBS.name and cell.column == JOBS.c.number.name


def _is_made_of_others(cell: BadCell) -> tuple[bool, bool]:
    """Tell what is mended last: a car's words are those of its mended fields."""
    return _is_number(cell), cell.field == "vehicles.search"


def _job_of(connection: Connection, cell: BadCell) -> int | None:
    """Return the job in whose history it is noted that a cell was mended; None where none is."""
    return connection.scalar(select(JOBS.c.number).where(JOBS.c.number == cell.job))


def _mended(connection: Connection, cell: BadCell, tried: Container[str]) -> tuple[str, Any]:
    """Mend one cell, in a way that was not tried yet; how, and what stands there now."""
    table = METADATA.tables[cell.table]
    column, here = table.c[cell.column], at_key(table, cell.key)
    if column is JOBS.c.cause_digest:
        return "guessed", "made again"  # of the causes as they are in the end
    if "restored" not in tried and (known := kept_value(connection, cell)) is not None:
        connection.execute(table.update().where(here).values({column: known}))
        return "restored", known
    if column.nullable and "emptied" not in tried:
        empty = dict.fromkeys(_together(cell))
        connection.execute(table.update().where(here).values(empty))
        return "emptied", None
    if cell.table in LIST_OF_TABLE or table in _DISPENSABLE:
        connection.execute(table.delete().where(here))
        return "taken_out", None
    new = _stand_in(connection, cell)
    if new is None:
        return "left", None
    connection.execute(table.update().where(here).values({column: new}))
    return "guessed", str(new)


def _stand_in(connection: Connection, cell: BadCell) -> date | str | int | None:
    """Return what stands where a job or car cannot be without a value, None where nothing can."""
    made = _STAND_INS.get(f"{cell.table}.{cell.column}")
    return made and made(connection, cell)


def _together(cell: BadCell) -> list[str]:
    """Return the columns that are empty together with one: a cause is whole or not there."""
    one = {cell.column: cell.column}
    inner = next((each for each in INNER_COLUMNS.values() if cell.column in each), one)
    of_cause = cell.table == JOBS.name and CAUSE_COLUMNS[0] in inner
    return [*inner, *([JOBS.c.cause_digest.name] if of_cause else [])]


def _raw(connection: Connection, cell: BadCell) -> Any:
    table = METADATA.tables[cell.table]
    query = as_it_lies(table, connection).where(at_key(table, cell.key))
    return connection.execute(query).mappings().one()


def _given_back(connection: Connection, cells: Iterable[BadCell]) -> list[tuple[BadCell, int]]:
    """Return the lost numbers that rows without a job tell, which have its very complaint."""
    if connection.dialect.name != "sqlite":  # a server would not let them go astray
        return []
    lost = [cell for cell in cells if _is_number(cell)]
    entries, numbers = LISTS["entries"], select(JOBS.c.number)
    found: dict[tuple[Any, ...], set[int]] = {}
    for cell in lost:
        complaint = select(JOBS.c.complaint).where(at_key(JOBS, cell.key)).scalar_subquery()
        told = select(entries.c.job_number).where(
            entries.c.kind == EntryKind.COMPLAINT,
            entries.c.text == complaint,
            entries.c.job_number.between(1, LARGEST_INTEGER - 1),
            entries.c.job_number.not_in(numbers),
        )
        found[cell.key] = set(connection.scalars(told))
    every = [number for told in found.values() for number in told]
    return [
        (cell, number)
        for cell in lost
        for number in found[cell.key]
        if len(found[cell.key]) == 1 and every.count(number) == 1
    ]


def _renumbered(connection: Connection, cell: BadCell) -> int | None:
    """Give what belongs to a job the next free number; a server would not let it go astray."""
    if connection.dialect.name != "sqlite":
        return None
    last = connection.scalar(select(func.max(JOBS.c.number)).where(_CAN_BE_ONE)) or 0
    for column in (*(each.c.job_number for each in LISTS.values()), CHANGES.c.job):
        own = column == cell.key[0]
        connection.execute(column.table.update().where(own).values({column: last + 1}))
    return int(last + 1)


_CAN_BE_ONE = JOBS.c.number.between(1, LARGEST_INTEGER - 1)


def _unknown_car(connection: Connection, cell: BadCell) -> int | None:
    """Return the key of a car of which nothing is known; jobs of one lost car share it."""
    told = _raw(connection, cell)[cell.column]
    row = vehicle_row(Vehicle())
    if not isinstance(told, int):
        made = connection.execute(insert(VEHICLES).values(row)).inserted_primary_key
        return int(made[0]) if made else None
    if connection.scalar(select(VEHICLES.c.id).where(VEHICLES.c.id == told)) is None:
        connection.execute(insert(VEHICLES).values(row | {"id": told}))
    return told


def _other_day(connection: Connection, cell: BadCell) -> date | None:
    closed = raw_column(JOBS.c.closed, connection)
    first = func.min(raw_column(CHANGES.c.at, connection))
    for query in (
        select(closed).where(JOBS.c.number == cell.job),
        select(first).where(CHANGES.c.job == cell.job),
    ):
        with suppress(ValueError):
            return date.fromisoformat(str(connection.execute(query).scalar())[:10])
    return None


def _search_text(connection: Connection, cell: BadCell) -> str:
    known = _raw(connection, cell)
    return " ".join(str(known[each]).casefold() for each in VEHICLE_FIELDS if known[each])


_STAND_INS: dict[str, Callable[[Connection, BadCell], date | str | int | None]] = {
    "jobs.number": _renumbered,
    "jobs.opened": _other_day,
    "jobs.complaint": lambda *_: UNREADABLE,
    "jobs.uid": lambda *_: uuid4().hex,
    "jobs.vehicle_id": _unknown_car,
    "vehicles.search": _search_text,
}
