"""What of a store cannot be read back, named by job and field, and how it is mended.

The database and the program refuse what a case may not hold. What is found here came otherwise: a
bit flipped on a disk, another program, a broken copy.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory
from typing import Any
from uuid import uuid4

import msgspec
from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Double,
    Select,
    Table,
    func,
    inspect,
    select,
    type_coerce,
)
from sqlalchemy.types import NullType

from kb.bounds import check_text, field_types
from kb.case import Cause, Job, SaidAt, Vehicle, VehicleModel
from kb.errors import InvalidField, StoreUnusable
from kb.files import write_whole
from kb.store.address import READABLE, dumps, file_of, index_folder, shown
from kb.store.backup import back_up, complaints, dated
from kb.store.changes import Changes
from kb.store.database import explained, open_store
from kb.store.mapping import (
    CAUSE_COLUMNS,
    INNER_COLUMNS,
    JOB_FIELDS,
    PARTS,
    VEHICLE_FIELDS,
    gathered,
    part_of,
)
from kb.store.tables import (
    CHANGES,
    JOBS,
    METADATA,
    NAMES,
    VEHICLE_MODELS,
    VEHICLES,
    WATCHED,
    WORDS,
)
from kb.store.transaction import Transaction

Row = Mapping[str, Any]
_UNREADABLE = (ValueError, TypeError, LookupError, AttributeError, OverflowError)
_LISTS = {part.table.name: part for part in PARTS}
_DISPENSABLE = (CHANGES, NAMES, VEHICLE_MODELS, WATCHED, WORDS)
"""Tables whose rows stand for themselves alone."""
_LONGEST = 60
ENDING = ".unreadable.jsonl"
"""Of the name of a file with what could not be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BadCell:
    """A value of a store that cannot be read back.

    `key` are the values of the row's primary key; `raw` is what stands there, cut short.
    """

    table: str
    key: tuple[Any, ...]
    column: str
    raw: str
    reason: str

    @property
    def job(self) -> int | None:
        """The job it belongs to."""
        of_job = self.table == JOBS.name or self.table in _LISTS
        return int(self.key[0]) if of_job and isinstance(self.key[0], int) else None

    @property
    def field(self) -> str:
        """The field, as errors and edits name it."""
        if part := _LISTS.get(self.table):
            return f"{part.field}[{self.key[1]}].{self.column}"
        return self.column if self.table == JOBS.name else f"{self.table}.{self.column}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """What is wrong with a store; all empty where nothing is.

    `database` is what the database itself complains of, `missing` the tables and columns that are
    not there.
    """

    address: str
    database: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    cells: tuple[BadCell, ...] = ()

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not (self.database or self.missing or self.cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """What was mended: the store as it was, what stood there word for word, and what is left.

    `emptied` and `taken_out` are fields that may be empty and list items that are gone; `guessed`
    are days that a job cannot be without, and which were taken from its other days.
    """

    backup: Path
    kept: Path
    emptied: tuple[BadCell, ...]
    taken_out: tuple[BadCell, ...]
    guessed: tuple[BadCell, ...]
    left: tuple[BadCell, ...]


def condition_of(address: str) -> Condition:
    """Look through a whole store; changes nothing.

    Raises
    ------
    StoreUnusable
        If it cannot be opened at all.
    """
    with open_store(address).connect() as connection:
        missing = tuple(_missing(connection))
        return Condition(
            address=address,
            database=tuple(_complaints(connection)),
            missing=missing,
            cells=() if missing else tuple(bad_cells(connection)),
        )


def bad_cells(connection: Connection) -> Iterator[BadCell]:
    """Yield every value that cannot be read back; the connection is for nothing else afterwards."""
    if connection.dialect.name == "sqlite":
        connection.connection.driver_connection.text_factory = _text  # type: ignore[union-attr]
        connection.exec_driver_sql("PRAGMA ignore_check_constraints=ON")  # a row may hold two
    for table in METADATA.sorted_tables:
        readers = {column.name: _reader(column, connection) for column in table.columns}
        for row in connection.execute(_raw(table)).mappings():
            yield from _bad_of(table, dict(row), readers)


def mend(address: str, who: str | None = None) -> Mended:
    """Mend what can be mended, after a copy; what stood there is kept word for word in a file.

    A field that may be empty is emptied, an item of a list whose value it cannot be without is
    taken out. An opening day that cannot be read becomes the closing day or, without one, the day
    of the job's first change. Everything is noted in the history of the job.

    Raises
    ------
    StoreUnusable
        If the store cannot be copied or written.
    """
    store = file_of(address)
    backup = back_up(address)
    kept = dated(store or dumps(address), ENDING)
    done: dict[str, list[BadCell]] = {"emptied": [], "taken_out": [], "guessed": [], "left": []}
    engine = open_store(address)
    with explained(engine.url), engine.connect() as reading:
        connection = reading.execution_options(kb_read_only=False)
        with connection.begin():
            cells = list(bad_cells(connection))
            write_whole(kept, b"".join(map(_line, _rows_of(connection, cells))), anew=True)
            transaction = Transaction(connection)
            changes = Changes(transaction, who)
            for may_be_empty in (True, False):
                for cell in cells:
                    how, new = _mended(connection, cell, may_be_empty=may_be_empty)
                    done[how].append(cell)
                    if how != "left":
                        changes.note(cell.job, cell.field, cell.raw, new)
                transaction.flushed()
                # an item that was emptied where its other fields need it is taken out
                cells = [each for each in bad_cells(connection) if each.table in _LISTS]
    told = {name: tuple(each) for name, each in done.items()}
    return Mended(backup=backup, kept=kept, **told)


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
            copytree(index, index_folder(copy))
        mend(copy)
        yield copy


def _text(raw: bytes) -> str | bytes:
    """Read a text of SQLite; bytes that are none stay bytes."""
    try:
        return raw.decode()
    except UnicodeDecodeError:
        return raw


def _complaints(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return
    yield from complaints(line for (line,) in connection.exec_driver_sql("PRAGMA integrity_check"))
    for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        yield f"row {row} of {table} refers to a row of {parent} that is not there"


def _missing(connection: Connection) -> Iterator[str]:
    there = inspect(connection)
    names = set(there.get_table_names())
    for table in METADATA.sorted_tables:
        if table.name not in names:
            yield table.name
            continue
        columns = {each["name"] for each in there.get_columns(table.name)}
        yield from (f"{table.name}.{c.name}" for c in table.columns if c.name not in columns)


def _reader(column: Column[Any], connection: Connection) -> Callable[[Any], Any]:
    """Return what turns a raw value of a column into the program's; a number is one already."""
    if isinstance(column.type, Double):
        return lambda raw: raw
    kind = column.type.dialect_impl(connection.dialect)
    return kind.result_processor(connection.dialect, None) or (lambda raw: raw)


def _raw(table: Table) -> Select[Any]:
    """Ask for the rows of a table as they lie there."""
    return select(*map(_as_is, table.columns))


def _as_is(column: Column[Any]) -> ColumnElement[Any]:
    return type_coerce(column, NullType()).label(column.name)


def _bad_of(table: Table, row: Row, readers: Mapping[str, Callable[[Any], Any]]) -> list[BadCell]:
    """Return the bad cells of a row: those that cannot be read, else the one that does not fit."""
    values, bad = {}, []
    for name, read in readers.items():
        try:
            values[name] = read(row[name])
            _check_kind(table.c[name], values[name])
        except _UNREADABLE as error:
            bad.append(_bad(table, row, name, str(error)))
    if bad := bad or [_bad(table, row, name, "is empty") for name in _lacking(values)]:
        return bad
    try:
        _build(table, values)
    except InvalidField as error:
        name = error.field.partition("[")[0].rpartition(".")[2]
        meant = (name, *(f"{prefix}_{name}" for prefix in INNER_COLUMNS))
        column = next((each for each in meant if each in row), next(iter(row)))
        return [_bad(table, row, column, error.cure)]
    except _UNREADABLE as error:
        return [_bad(table, row, next(iter(row)), str(error))]
    return []


def _lacking(values: Row) -> Iterator[str]:
    """Yield the columns that a value of several columns cannot be without, where one is empty."""
    for prefix, columns in INNER_COLUMNS.items():
        told = {column: values[column] for column in columns if column in values}
        if any(each is not None for each in told.values()):
            kinds = field_types(SaidAt if prefix == "said" else Cause)
            needed = (column for column, name in columns.items() if not kinds[name].optional)
            yield from (column for column in needed if told[column] is None)


def _check_kind(column: Column[Any], value: Any) -> None:
    """See that a value is of its column's kind, for SQLite keeps what it is given."""
    if value is None:
        if not column.nullable:
            raise ValueError("is empty")
        return
    kind = column.type.python_type
    if kind not in {dict, list} and not isinstance(value, (kind, int) if kind is float else kind):
        raise ValueError(f"is no {_KINDS.get(kind, kind.__name__)}")


_KINDS = {str: "text", int: "whole number", float: "number", bool: "yes or no", date: "day"}


def _build(table: Table, values: dict[str, Any]) -> None:
    """Make of a row what the program makes of it, as far as one row goes."""
    if part := _LISTS.get(table.name):
        part_of(part, {column.name: values[column.name] for column in part.columns})
    elif table is JOBS:
        told = gathered(
            {k: v for k, v in values.items() if k not in {"vehicle_id", "cause_digest"}}
        )
        Job(vehicle=Vehicle(), **{name: told[name] for name in JOB_FIELDS})
    elif table is VEHICLES:
        Vehicle(**{name: values[name] for name in VEHICLE_FIELDS})
    elif table is VEHICLE_MODELS:
        values["engines"] = tuple(values["engines"])
        VehicleModel(**{name: values[name] for name in field_types(VehicleModel)})
    elif table is WORDS and not _all_texts(values["expansions"]):
        raise InvalidField("expansions", values["expansions"], "is no list of texts")
    for name, value in values.items():
        if isinstance(value, str):
            check_text(name, value)


def _all_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, str) for each in value)


def _bad(table: Table, row: Row, column: str, reason: str) -> BadCell:
    raw = repr(row[column])
    return BadCell(
        table=str(table.name),
        key=tuple(row[each.name] for each in table.primary_key),
        column=column,
        raw=raw if len(raw) <= _LONGEST else raw[: _LONGEST - 1] + "…",
        reason=reason,
    )


def _mended(connection: Connection, cell: BadCell, *, may_be_empty: bool) -> tuple[str, str | None]:
    """Mend one cell; how, and what stands there now."""
    table = METADATA.tables[cell.table]
    column = table.c[cell.column]
    if column.nullable and may_be_empty:
        empty = dict.fromkeys(_together(table, cell.column))
        connection.execute(table.update().where(_at(table, cell)).values(empty))
        return "emptied", None
    if cell.table in _LISTS or table in _DISPENSABLE:
        connection.execute(table.delete().where(_at(table, cell)))
        return "taken_out", None
    if new := _stand_in(connection, cell):
        connection.execute(table.update().where(_at(table, cell)).values({column: new}))
        return "guessed", str(new)
    return "left", None


def _stand_in(connection: Connection, cell: BadCell) -> date | str | None:
    """Return what stands where a job or car cannot be without a value, None where nothing can."""
    match cell.table, cell.column:
        case JOBS.name, "opened":
            return _other_day(connection, cell)
        case JOBS.name, "complaint":
            return "(unreadable)"
        case JOBS.name, "uid":
            return uuid4().hex
        case VEHICLES.name, "search":
            query = _raw(VEHICLES).where(_at(VEHICLES, cell))
            known = connection.execute(query).mappings().one()
            return " ".join(str(known[each]).casefold() for each in VEHICLE_FIELDS if known[each])
    return None


def _together(table: Table, column: str) -> list[str]:
    """Return the columns that are empty together with one: a cause is whole or not there."""
    inner = next((each for each in INNER_COLUMNS.values() if column in each), {column: column})
    digest = [JOBS.c.cause_digest.name] if table is JOBS and CAUSE_COLUMNS[0] in inner else []
    return [*inner, *digest]


def _at(table: Table, cell: BadCell) -> Any:
    told = zip(table.primary_key, cell.key, strict=True)
    wanted = [column.is_not_distinct_from(key) for column, key in told]
    return wanted[0] if len(wanted) == 1 else wanted[0] & wanted[1]


def _other_day(connection: Connection, cell: BadCell) -> date | None:
    closed = _raw(JOBS).with_only_columns(_as_is(JOBS.c.closed)).where(JOBS.c.number == cell.job)
    first = select(func.min(_as_is(CHANGES.c.at))).where(CHANGES.c.job == cell.job)
    for query in (closed, first):
        with suppress(ValueError):
            return date.fromisoformat(str(connection.execute(query).scalar())[:10])
    return None


def _rows_of(connection: Connection, cells: Iterable[BadCell]) -> Iterator[tuple[str, Row]]:
    """Yield, as they lie there, the rows with bad cells."""
    for name, key in dict.fromkeys((cell.table, cell.key) for cell in cells):
        table = METADATA.tables[name]
        wanted = zip(table.primary_key, key, strict=True)
        query = _raw(table).where(*(c.is_not_distinct_from(value) for c, value in wanted))
        yield from ((name, dict(row)) for row in connection.execute(query).mappings())


def _line(told: tuple[str, Row]) -> bytes:
    name, row = told
    raw = {key: repr(value) if isinstance(value, bytes) else value for key, value in row.items()}
    return msgspec.json.encode({"table": name, "row": raw}, enc_hook=repr) + b"\n"
